"""Colour as the file says it (ISO 32000-1 8.6): its family, whether it prints nothing, and how much ink it asks for."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import pikepdf

from worker.measure.content import numbers
from worker.measure.models import PageColour
from worker.measure.paint import NOTHING, Meeting, Paint
from worker.measure.pdfobjects import array, get, integer, name, stream_bytes
from worker.measure.pdfobjects import numbers as figures

PROCESS = ("Cyan", "Magenta", "Yellow", "Black")
_DEPTH = 6
_BARELY = 0.001
_MOST_PAINTS = 10_000
"""Colours of one space that are remembered."""
_MOST_ENTRIES = 256
_COLOUR_SIGNATURES = {b"GRAY": "gray", b"RGB ": "rgb", b"CMYK": "cmyk", b"Lab ": "lab"}
"""The colour space in bytes 16 to 19 of a profile's header (ICC.1 7.2.6)."""


@dataclass(frozen=True)
class Space:
    """A colour space: its family, how many numbers a colour has, and its inks' names."""

    family: str
    components: int
    inks: tuple[str, ...] = ()
    base: Space | None = None
    table: Any = field(default=b"", compare=False)
    """An Indexed space's colours, as they stand in the file."""
    ranges: tuple[float, ...] = ()
    """Least and most of Lab's second and third number."""
    device: bool = False
    """DeviceCMYK as such, of which overprint mode 1 speaks."""
    _paints: dict[bytes, Paint] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def first(self) -> Paint:
        """A space's first colour (ISO 32000-1 8.6.8): black, or full tint."""
        if self.family == "cmyk":
            return self.paint([0.0, 0.0, 0.0, 1.0])
        return self.paint(([1.0] if self.family == "spot" else [0.0]) * self.components)

    def painted(self, operands: bytes) -> Paint:
        """The colour that a colour operator asks for, by its operands as they stand in the file."""
        known = self._paints.get(operands)
        if known is None:
            if len(self._paints) >= _MOST_PAINTS:
                self._paints.clear()
            known = self._paints[operands] = self.paint(numbers(operands.split(b"/", 1)[0]))
        return known

    def paint(self, values: list[float]) -> Paint:
        """The colour with these components; missing ones count as 0."""
        values = (values + [0.0] * self.components)[: self.components]
        return _PAINTERS[self.family](values, self)

    @cached_property
    def entries(self) -> list[list[float]]:
        """The colours of an Indexed space, in its base (8.6.6.3); what is missing is left out."""
        if self.base is None or not self.base.components:
            return []
        data = stream_bytes(self.table) if isinstance(self.table, pikepdf.Stream) else bytes(self.table)
        step = self.base.components
        whole = min(len(data) // step, _MOST_ENTRIES)
        return [self.base.of_bytes(data[at * step : (at + 1) * step]) for at in range(whole)]

    def of_bytes(self, data: bytes) -> list[float]:
        """Components that are written as a byte each."""
        shares = [byte / 255 for byte in data]
        if self.family != "lab":
            return shares
        low_a, high_a, low_b, high_b = self.ranges
        return [100 * shares[0], low_a + shares[1] * (high_a - low_a), low_b + shares[2] * (high_b - low_b)]


def _gray(values: list[float], _: Space) -> Paint:
    return Paint("gray", values[0] >= 1 - _BARELY, 100 * (1 - _share(values[0])))


def _rgb(values: list[float], _: Space) -> Paint:
    red = values[0]
    if max(values) - min(values) <= _BARELY:
        return Paint("rgb-gray", red >= 1 - _BARELY, 100 * (1 - _share(red)))
    return Paint("rgb", False, None)


def _cmyk(values: list[float], space: Space) -> Paint:
    return _inked(dict(zip(PROCESS, values, strict=True)), "device-cmyk" if space.device else "process")


def _lab(values: list[float], _: Space) -> Paint:
    return Paint("lab", values[0] >= 100 - _BARELY and max(map(abs, values[1:])) <= _BARELY, None)


def _spot(values: list[float], space: Space) -> Paint:
    inks = {of: value for of, value in zip(space.inks, values, strict=False) if of != "None"}
    if not inks:
        return NOTHING
    if "All" in inks:
        share = _share(inks["All"])
        each = tuple((of, 100 * share) for of in PROCESS)
        return Paint("registration", share <= _BARELY, 400 * share, each)
    return _inked(inks, "process" if set(inks) & set(PROCESS) else "spot")


def _inked(shares: dict[str, float], meeting: Meeting) -> Paint:
    """A colour by its inks. Black alone is grey, whichever way it is written."""
    used = {ink: 100 * _share(share) for ink, share in shares.items() if share > _BARELY}
    total = 100 * sum(map(_share, shares.values()))
    family: PageColour = "spot" if not set(used) <= set(PROCESS) else "gray" if set(used) <= {"Black"} else "cmyk"
    return Paint(family, total <= 100 * _BARELY, total, tuple(used.items()), meeting)


def _indexed(values: list[float], space: Space) -> Paint:
    entries = space.entries
    if space.base is None or not entries:
        return Paint(page_colour(space.base or GRAY), False, None)
    return space.base.paint(entries[min(max(0, round(values[0])), len(entries) - 1)])


def _pattern(_: list[float], __: Space) -> Paint:
    """No pattern was named: nothing is painted."""
    return NOTHING


_PAINTERS = {
    "gray": _gray, "rgb": _rgb, "cmyk": _cmyk, "lab": _lab, "spot": _spot, "indexed": _indexed, "pattern": _pattern,
}  # fmt: skip


def _share(value: float) -> float:
    return min(1.0, max(0.0, value))


GRAY = Space("gray", 1)
RGB = Space("rgb", 3)
CMYK = Space("cmyk", 4, device=True)
_BY_NAME = {
    "DeviceGray": GRAY, "G": GRAY, "CalGray": GRAY,
    "DeviceRGB": RGB, "RGB": RGB, "CalRGB": RGB,
    "DeviceCMYK": CMYK, "CMYK": CMYK,
    "Pattern": Space("pattern", 0),
}  # fmt: skip
_BY_COMPONENTS = {1: GRAY, 3: RGB, 4: Space("cmyk", 4)}
_DEFAULTS = {id(GRAY): "/DefaultGray", id(RGB): "/DefaultRGB", id(CMYK): "/DefaultCMYK"}


def page_colour(space: Space) -> PageColour:
    """The family that a page's list of colours calls this space by."""
    if space.family == "indexed" and space.base:
        return page_colour(space.base)
    if space.family == "spot":
        if "All" in space.inks:
            return "registration"
        inks = set(space.inks) - {"None"}
        if inks <= set(PROCESS):
            return "gray" if inks <= {"Black"} else "cmyk"
        return "spot"
    return {"gray": "gray", "rgb": "rgb", "cmyk": "cmyk", "lab": "lab"}.get(space.family, "gray")  # type: ignore[return-value]


def default_space(device: Space, resources: Any) -> Space:
    """The space that the resources put in the place of a device's own (8.6.5.6)."""
    named = get(get(resources, "/ColorSpace"), _DEFAULTS[id(device)])
    if named is None:
        return device
    space = colour_space(named)
    return space if space.components == device.components and space.family != "indexed" else device


def colour_space(value: Any, resources: Any = None, depth: int = 0) -> Space:
    """The space that a name or an array stands for; grey where it cannot be told."""
    if depth > _DEPTH:
        return GRAY
    if isinstance(value, pikepdf.Name):
        known = _BY_NAME.get(name(value) or "")
        if known is not None:
            return default_space(known, resources) if id(known) in _DEFAULTS and resources is not None else known
        named = get(get(resources, "/ColorSpace"), value)
        return colour_space(named, None, depth + 1) if named is not None else GRAY
    parts = array(value)
    return _from_array(name(parts[0]) or "", parts, resources, depth) if parts else GRAY


def _from_array(family: str, parts: list[Any], resources: Any, depth: int) -> Space:
    second = parts[1] if len(parts) > 1 else None
    if family == "ICCBased":
        return _of_profile(second, depth)
    if family == "Lab":
        return _lab_space(figures(get(second, "/Range")))
    if family in ("Indexed", "I"):
        table = parts[3] if len(parts) > 3 and isinstance(parts[3], (pikepdf.Stream, pikepdf.String)) else b""
        return Space("indexed", 1, base=colour_space(second, resources, depth + 1), table=table)
    if family == "Separation":
        return Space("spot", 1, (name(second) or "",))
    if family == "DeviceN":
        return _device_n([name(ink) or "" for ink in array(second)], parts[4] if len(parts) > 4 else None, depth)
    if family == "Pattern":
        return Space("pattern", 0, base=colour_space(second, resources, depth + 1) if second is not None else None)
    return _BY_NAME.get(family, GRAY)


def _lab_space(ranges: list[float]) -> Space:
    return Space("lab", 3, ranges=tuple(ranges) if len(ranges) == 4 else (-100.0, 100.0, -100.0, 100.0))


def _of_profile(profile: Any, depth: int) -> Space:
    """By its components; three may be Lab's. Without them by its alternate, or by what its header says (8.6.5.5)."""
    count, alternate = integer(get(profile, "/N")), get(profile, "/Alternate")
    instead = colour_space(alternate, None, depth + 1) if alternate is not None else None
    if count == 3 and instead is not None and instead.family == "lab":
        return instead
    if count in _BY_COMPONENTS:
        return _BY_COMPONENTS[count]
    return instead if instead is not None and instead.family != "pattern" else _of_header(profile)


def _of_header(profile: Any) -> Space:
    if not isinstance(profile, pikepdf.Stream):
        return GRAY
    family = _COLOUR_SIGNATURES.get(stream_bytes(profile)[16:20], "gray")
    count = {"gray": 1, "rgb": 3, "cmyk": 4}.get(family)
    return _BY_COMPONENTS[count] if count else _lab_space([])


def _device_n(inks: list[str], attributes: Any, depth: int) -> Space:
    """Process inks may bear names of their own, of which the attributes tell (8.6.6.5)."""
    process = get(attributes, "/Process")
    if process is not None and colour_space(get(process, "/ColorSpace"), None, depth + 1).family == "cmyk":
        own = [name(ink) or "" for ink in array(get(process, "/Components"))]
        known = dict(zip(own, PROCESS, strict=False))
        inks = [known.get(ink, ink) for ink in inks]
    return Space("spot", max(1, len(inks)), tuple(inks))
