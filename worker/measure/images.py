"""Images as they are placed (ISO 32000-1 8.9): effective resolution, colour, line art."""

from __future__ import annotations

import re
from math import inf
from typing import Any

import pikepdf

from worker.measure.colour import GRAY, Space, colour_space
from worker.measure.content import decoded_name
from worker.measure.geometry import Box, Matrix, scales, transform
from worker.measure.marks import Picture
from worker.measure.pdfobjects import array, as_name, get, integer, name

UNIT: Box = (0.0, 0.0, 1.0, 1.0)
RULE_PIXELS = 2
"""A stencil of so few pixels on a side is a rule and no picture."""

_INLINE_NUMBER = r"\s*(\d+)"
_INLINE_KEYS = {"W": "Width", "H": "Height", "BPC": "BitsPerComponent"}


def placed_image(image: Any, ctm: Matrix, resources: Any) -> Picture | None:
    """The picture that an image XObject makes under ``ctm``; None where it has no area."""
    pixels = integer(get(image, "/Width")), integer(get(image, "/Height"))
    stencil = get(image, "/ImageMask") is True
    bits = 1 if stencil else _depth(integer(get(image, "/BitsPerComponent")))
    space = None if stencil else _space(image, resources)
    ppi = effective_ppi(pixels, ctm)
    if ppi is None:
        return None
    mask_ppi = None if stencil else _finer_mask(image, ctm, ppi)
    return Picture(
        box=transform(UNIT, ctm),
        pixels=pixels,
        ppi=mask_ppi or ppi,
        mask_ppi=mask_ppi,
        colour=_colour_name(space),
        bits=bits,
        filter=_filter(get(image, "/Filter")),
        line_art=bits == 1 and min(pixels) > RULE_PIXELS,
        space=space or GRAY,
        masked=isinstance(get(image, "/SMask"), pikepdf.Stream) or integer(get(image, "/SMaskInData")) > 0,
        source=image,
    )


def _depth(bits: int) -> int:
    """Bits of a component (Table 89); what is no number of bits says no more than nothing does, 8 with JPEG."""
    return bits if bits > 0 else 8


def effective_ppi(pixels: tuple[int, int], ctm: Matrix) -> tuple[float, float] | None:
    """Pixels an inch along the picture's own axes: 72 W / |(a, b)| and 72 H / |(c, d)| (ISO 32000-1 8.9.4)."""
    wide, high = scales(ctm)
    if min(pixels) <= 0 or not 0 < wide < inf or not 0 < high < inf:
        return None
    return 72 * pixels[0] / wide, 72 * pixels[1] / high


def _finer_mask(image: Any, ctm: Matrix, ppi: tuple[float, float]) -> tuple[float, float] | None:
    """The resolution of a mask finer than its picture: it carries the detail (a layered scan, say)."""
    for key in ("/SMask", "/Mask"):
        mask = get(image, key)
        if isinstance(mask, pikepdf.Stream):
            masked = effective_ppi((integer(get(mask, "/Width")), integer(get(mask, "/Height"))), ctm)
            if masked and min(masked) > min(ppi):
                return masked
    return None


def _space(image: Any, resources: Any) -> Space | None:
    declared = get(image, "/ColorSpace")
    return colour_space(declared, resources) if declared is not None else GRAY


def _colour_name(space: Space | None) -> str:
    if space is None:
        return "mask"
    if space.family == "indexed" and space.base is not None:
        return f"indexed-{space.base.family}"
    return space.family


def _filter(value: Any) -> str | None:
    filters = [name(member) for member in array(value)] or [name(value)]
    return filters[-1]


def inline_image(raw: bytes, ctm: Matrix, resources: Any) -> Picture | None:
    """The picture that an inline image's dictionary (ISO 32000-1 8.9.7) tells of."""
    head = raw.split(b"ID", 1)[0].decode("latin-1")
    width, height = _inline_integer(head, "W", 0), _inline_integer(head, "H", 0)
    stencil = re.search(r"/(?:IM|ImageMask)\s+true", head) is not None
    bits = 1 if stencil else _depth(_inline_integer(head, "BPC", 8))
    ppi = effective_ppi((width, height), ctm)
    if ppi is None:
        return None
    space = GRAY if stencil else _inline_space(head, resources)
    filters = re.search(r"/(?:F|Filter)\s*\[?\s*(/[^\s/\]>]+)", head)
    return Picture(
        box=transform(UNIT, ctm),
        pixels=(width, height),
        ppi=ppi,
        mask_ppi=None,
        colour="mask" if stencil else _colour_name(space),
        bits=bits,
        filter=filters[1][1:] if filters else None,
        line_art=bits == 1 and min(width, height) > RULE_PIXELS,
        space=space,
        source=raw,
    )


def _inline_integer(head: str, key: str, default: int) -> int:
    found = re.search(rf"/(?:{key}|{_INLINE_KEYS[key]}){_INLINE_NUMBER}", head)
    return int(found[1]) if found else default


def _inline_space(head: str, resources: Any) -> Space:
    found = re.search(r"/(?:CS|ColorSpace)\s*(\[?)\s*(/[^\s/\[\]<>()]+)(?:\s*(/[^\s/\[\]<>()]+))?", head)
    if found is None:
        return GRAY
    space = colour_space(as_name(decoded_name(found[2][1:].encode("latin-1"))), resources)
    if found[1] and found[3]:
        return Space("indexed", 1, base=colour_space(as_name(decoded_name(found[3][1:].encode("latin-1"))), resources))
    return space
