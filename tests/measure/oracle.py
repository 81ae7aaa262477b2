"""A second opinion on ink: a page as PDFium draws it in grey at 600 dpi, with the layers and annotations of print.

``ink`` is everything that is not paper. A picture counts with its whole placement, white pixels and all (it is drawn
black for that): where its samples are light is not what a margin is about.

``text`` is what is seen of the page's text when nothing else is drawn, and what changes when everything but the text
is drawn: the one knows no white text on a dark ground, the other no black rule under a black letter. PDFium's boxes of
text objects and of characters are no such truth: they go to the font's bounding box or to the advance, and know no
clip.

PDFium takes the widths of a font for whole thousandths of an em, so that a line of a hundred letters may end half a
point too far to the left. What poppler draws settles such pages: ``tests.measure.settled``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pypdfium2
import pypdfium2.raw as pdfium
from PIL import Image, ImageChops

DPI = 600
_PAPER = 254
"""As light as this, or lighter, is paper; the anti-aliased edges of ink are darker."""
_CHANGED = 2
_COARSE = 6
"""Where ink ends is first looked for at a sixth of the resolution, and then at the full one close to it."""
_NEAR = 5 * _COARSE
_DEEPEST = 15

Box = tuple[float, float, float, float]
Pixels = tuple[int, int, int, int]
"""Left, top, right and foot, from the upper-left corner."""


@dataclass(frozen=True)
class Drawn:
    """What is drawn on one page: boxes in points, as a reader sees it, from the trimmed page's lower-left corner."""

    page: int
    ink: Box | None
    text: Box | None


def drawn_pages(path: Path, pages: Iterable[int] | None = None) -> Iterator[Drawn]:
    """Each of ``pages`` (counted from 1; all by default)."""
    with pypdfium2.PdfDocument(path) as document, pypdfium2.PdfDocument(path) as solid:
        for number in pages or range(1, len(document) + 1):
            yield _drawn_page(document, solid, number)


def _drawn_page(document: pypdfium2.PdfDocument, solid: pypdfium2.PdfDocument, number: int) -> Drawn:
    whole, without_text, text_alone = (document[number - 1] for _ in range(3))
    _leave_out(without_text, text=True)
    _leave_out(text_alone, text=False)
    inked = whole
    if next(whole.get_objects(filter=[pdfium.FPDF_PAGEOBJ_IMAGE], max_depth=_DEEPEST), None):
        inked = solid[number - 1]
        _blacken_pictures(inked)
    ink = _box(inked, partial(_inked, inked))
    seen, changed = _box(whole, partial(_inked, text_alone)), _box(whole, partial(_differing, whole, without_text))
    return Drawn(number, from_trim(ink, whole), from_trim(_union(seen, changed), whole))


def _union(one: Box | None, other: Box | None) -> Box | None:
    if one is None or other is None:
        return one or other
    return min(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), max(one[3], other[3])


def from_trim(box: Box | None, page: pypdfium2.PdfPage) -> Box | None:
    """A box from the corner of the drawn page (the crop box, turned) as one from the corner of the trimmed page."""
    if box is None:
        return None
    crop, trim = page.get_cropbox(), page.get_trimbox()
    cuts = [abs(inner - outer) for inner, outer in zip(trim, crop, strict=True)]
    left, foot = {0: (0, 1), 90: (1, 2), 180: (2, 3), 270: (3, 0)}[page.get_rotation()]
    return box[0] - cuts[left], box[1] - cuts[foot], box[2] - cuts[left], box[3] - cuts[foot]


def _leave_out(page: pypdfium2.PdfPage, *, text: bool) -> None:
    """Draw all but the text of the page in memory, or the text alone. What text clips stays clipped."""
    for item in page.get_objects(max_depth=_DEEPEST):
        if item.type != pdfium.FPDF_PAGEOBJ_FORM and (item.type == pdfium.FPDF_PAGEOBJ_TEXT) == text:
            pdfium.FPDFPageObj_SetIsActive(item.raw, False)


def _blacken_pictures(page: pypdfium2.PdfPage) -> None:
    """Make every picture of the page in memory a single black pixel as large as it is placed."""
    pixel = pypdfium2.PdfBitmap.new_native(1, 1, pdfium.FPDFBitmap_BGR)
    pixel.fill_rect((0, 0, 0, 255), 0, 0, 1, 1)
    for item in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_IMAGE], max_depth=_DEEPEST):
        item.set_bitmap(pixel, pages=[])


Mask = Callable[[int, Pixels | None], Image.Image]
"""From a divisor of the resolution, and the part of the page in pixels of it, to an image whose marks are not 0."""


def _drawn(page: pypdfium2.PdfPage, divisor: int, part: Pixels | None) -> Image.Image:
    scale = DPI / 72 / divisor
    width, height = _pixels(page, divisor)
    left, top, right, foot = part or (0, 0, width, height)
    margins = [(cut - 0.25) / scale if cut else 0 for cut in (left, height - foot, width - right, top)]
    bitmap = page.render(
        scale=scale, crop=tuple(margins), grayscale=True, optimize_mode="print", may_draw_forms=False
    )  # fmt: skip
    picture: Image.Image = bitmap.to_pil()
    return picture


def _inked(page: pypdfium2.PdfPage, divisor: int, part: Pixels | None) -> Image.Image:
    return _drawn(page, divisor, part).point(lambda grey: 255 if grey < _PAPER else 0)


def _differing(page: pypdfium2.PdfPage, other: pypdfium2.PdfPage, divisor: int, part: Pixels | None) -> Image.Image:
    difference = ImageChops.difference(_drawn(page, divisor, part), _drawn(other, divisor, part))
    return difference.point(lambda grey: 255 if grey >= _CHANGED else 0)


def _pixels(page: pypdfium2.PdfPage, divisor: int = 1) -> tuple[int, int]:
    """The width and height that PDFium draws the page in: it is stretched to whole pixels."""
    scale = DPI / 72 / divisor
    return -int(-page.get_width() * scale // 1), -int(-page.get_height() * scale // 1)


def _box(page: pypdfium2.PdfPage, mask: Mask) -> Box | None:
    """The box of what ``mask`` shows, in points from the lower-left corner; None where that is nothing."""
    coarse = mask(_COARSE, None).getbbox()
    if coarse is None:
        return None
    found = _sharpened(coarse, _pixels(page), mask) or mask(1, None).getbbox()
    if found is None:
        return None
    width, height = _pixels(page)
    across, up = page.get_width() / width, page.get_height() / height
    left, top, right, foot = found
    return left * across, (height - foot) * up, right * across, (height - top) * up


def _sharpened(coarse: Pixels, size: tuple[int, int], mask: Mask) -> Pixels | None:
    """The box in pixels of the full resolution, from strips along its edges; None where one of them is elsewhere."""
    width, height = size
    left, top, right, foot = (_COARSE * edge for edge in coarse)
    strips = (
        (max(0, left - _NEAR), 0, min(width, left + _NEAR), height),
        (0, max(0, top - _NEAR), width, min(height, top + _NEAR)),
        (max(0, right - _NEAR), 0, min(width, right + _NEAR), height),
        (0, max(0, foot - _NEAR), width, min(height, foot + _NEAR)),
    )
    edges = []
    for side, strip in enumerate(strips):
        found = mask(1, strip).getbbox()
        if found is None:
            return None
        edge = found[side] + strip[side % 2]
        if edge == strip[side] != (0, 0, width, height)[side]:
            return None
        edges.append(edge)
    return edges[0], edges[1], edges[2], edges[3]


def text_boxes(path: Path, pages: Iterable[int] | None = None) -> Iterator[tuple[int, Box | None]]:
    """For each of ``pages`` (counted from 1; all by default) the box of its text's ink."""
    for drawn in drawn_pages(path, pages):
        yield drawn.page, drawn.text
