"""Colour as the file says it (ISO 32000-1 8.6): its family, whether it prints nothing, and how much ink it asks for."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

import pikepdf

from worker.measure.content import numbers
from worker.measure.models import PageColour
from worker.measure.pdfobjects import array, get, integer, name, number

_PROCESS = {"Cyan", "Magenta", "Yellow", "Black"}
_DEPTH = 6
_BARELY = 0.001
_MOST_PAINTS = 10_000
"""Colours of one space that are remembered."""


class Paint(NamedTuple):
    """A colour that marks are made with. ``ink`` is the sum of its inks in percent; None where the space is RGB or
    Lab, whose inks the printer's conversion decides."""

    family: PageColour
    white: bool
    ink: float | None
    pattern: Any = None


BLACK = Paint("gray", False, 100.0)


@dataclass(frozen=True)
class Space:
    """A colour space: its family, how many numbers a colour has, and its inks' names."""

    family: str
    components: int
    inks: tuple[str, ...] = ()
    base: Space | None = None
    _paints: dict[bytes, Paint] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def first(self) -> Paint:
        """A space's first colour (ISO 32000-1 8.6.8): black, or full tint."""
        if self.family == "cmyk":
            return self.paint([0.0, 0.0, 0.0, 1.0])
        return self.paint(([1.0] if self.family == "spot" else [0.0]) * self.components)

    def painted(self, operands: bytes, pattern: Any = None) -> Paint:
        """The colour that a colour operator asks for, by its operands as they stand in the file."""
        if pattern is not None:
            return self.paint(numbers(operands.split(b"/", 1)[0]), pattern)
        known = self._paints.get(operands)
        if known is None:
            if len(self._paints) >= _MOST_PAINTS:
                self._paints.clear()
            known = self._paints[operands] = self.paint(numbers(operands.split(b"/", 1)[0]))
        return known

    def paint(self, values: list[float], pattern: Any = None) -> Paint:
        """The colour with these components; missing ones count as 0."""
        if self.family == "pattern":
            under = self.base.paint(values) if self.base and values else BLACK
            return Paint(under.family, False, under.ink, pattern)
        values = (values + [0.0] * self.components)[: self.components]
        return _PAINTERS[self.family](values, self)


def _gray(values: list[float], _: Space) -> Paint:
    return Paint("gray", values[0] >= 1 - _BARELY, 100 * (1 - _share(values[0])))


def _rgb(values: list[float], _: Space) -> Paint:
    red = values[0]
    if max(values) - min(values) <= _BARELY:
        return Paint("rgb-gray", red >= 1 - _BARELY, 100 * (1 - _share(red)))
    return Paint("rgb", False, None)


def _cmyk(values: list[float], _: Space) -> Paint:
    ink = 100 * sum(map(_share, values))
    black_alone = all(value <= _BARELY for value in values[:3])
    return Paint("gray" if black_alone else "cmyk", ink <= 100 * _BARELY, ink)


def _lab(values: list[float], _: Space) -> Paint:
    return Paint("lab", values[0] >= 100 - _BARELY and max(map(abs, values[1:])) <= _BARELY, None)


def _spot(values: list[float], space: Space) -> Paint:
    ink = 100 * sum(_share(value) for value, of in zip(values, space.inks, strict=False) if of != "None")
    if "All" in space.inks:
        return Paint("registration", ink <= 100 * _BARELY, 400 * _share(values[0]))
    used = {of for value, of in zip(values, space.inks, strict=False) if value > _BARELY and of != "None"}
    if used <= _PROCESS:
        return Paint("gray" if used <= {"Black"} else "cmyk", ink <= 100 * _BARELY, ink)
    return Paint("spot", ink <= 100 * _BARELY, ink)


def _indexed(values: list[float], space: Space) -> Paint:
    return Paint(page_colour(space.base or GRAY), False, None)


_PAINTERS = {"gray": _gray, "rgb": _rgb, "cmyk": _cmyk, "lab": _lab, "spot": _spot, "indexed": _indexed}


def _share(value: float) -> float:
    return min(1.0, max(0.0, value))


GRAY = Space("gray", 1)
RGB = Space("rgb", 3)
CMYK = Space("cmyk", 4)
_BY_NAME = {
    "DeviceGray": GRAY, "G": GRAY, "CalGray": GRAY,
    "DeviceRGB": RGB, "RGB": RGB, "CalRGB": RGB,
    "DeviceCMYK": CMYK, "CMYK": CMYK,
    "Pattern": Space("pattern", 0),
}  # fmt: skip
_BY_COMPONENTS = {1: GRAY, 3: RGB, 4: CMYK}


def page_colour(space: Space) -> PageColour:
    """The family that a page's list of colours calls this space by."""
    if space.family == "indexed" and space.base:
        return page_colour(space.base)
    if space.family == "spot":
        if "All" in space.inks:
            return "registration"
        if set(space.inks) <= _PROCESS:
            return "gray" if set(space.inks) == {"Black"} else "cmyk"
        return "spot"
    return {"gray": "gray", "rgb": "rgb", "cmyk": "cmyk", "lab": "lab"}.get(space.family, "gray")  # type: ignore[return-value]


def colour_space(value: Any, resources: Any = None, depth: int = 0) -> Space:
    """The space that a name or an array stands for; grey where it cannot be told."""
    if depth > _DEPTH:
        return GRAY
    if isinstance(value, pikepdf.Name):
        known = _BY_NAME.get(name(value) or "")
        if known is not None:
            return known
        named = get(get(resources, "/ColorSpace"), value)
        return colour_space(named, None, depth + 1) if named is not None else GRAY
    parts = array(value)
    return _from_array(name(parts[0]) or "", parts, resources, depth) if parts else GRAY


def _from_array(family: str, parts: list[Any], resources: Any, depth: int) -> Space:
    second = parts[1] if len(parts) > 1 else None
    if family == "ICCBased":
        return _BY_COMPONENTS.get(integer(get(second, "/N")), GRAY)
    if family == "Lab":
        return Space("lab", 3)
    if family in ("Indexed", "I"):
        return Space("indexed", 1, base=colour_space(second, resources, depth + 1))
    if family == "Separation":
        return Space("spot", 1, (name(second) or "",))
    if family == "DeviceN":
        inks = tuple(name(ink) or "" for ink in array(second))
        return Space("spot", max(1, len(inks)), inks)
    if family == "Pattern":
        return Space("pattern", 0, base=colour_space(second, resources, depth + 1) if second is not None else None)
    return _BY_NAME.get(family, GRAY)


def is_transparent(state: Any) -> bool:
    """Whether a graphics state dictionary asks for transparency (ISO 32000-1 11.6.4 and 11.6.5)."""
    alphas = [number(get(state, key)) for key in ("/ca", "/CA")]
    if any(alpha is not None and alpha < 1 for alpha in alphas):
        return True
    blends = get(state, "/BM")
    modes = [name(mode) for mode in array(blends)] or [name(blends)]
    if any(mode not in (None, "Normal", "Compatible") for mode in modes):
        return True
    return isinstance(get(state, "/SMask"), pikepdf.Dictionary)
