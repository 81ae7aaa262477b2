"""The resources that a content stream names (ISO 32000-1 7.8.3), each looked up once."""

from __future__ import annotations

from functools import cached_property
from typing import Any, NamedTuple

import pikepdf

from worker.measure.colour import CMYK, GRAY, RGB, Space, colour_space, default_space
from worker.measure.content import first_name, numbers
from worker.measure.fonts import Font, load_font
from worker.measure.pdfobjects import array, as_name, get, identity, integer, name, number
from worker.measure.pdfobjects import numbers as figures
from worker.measure.strokes import dashes

Selected = tuple[Font | None, float]
"""A font and its size."""
_BLEND_MODES = {
    "Normal", "Compatible", "Multiply", "Screen", "Overlay", "Darken", "Lighten", "ColorDodge", "ColorBurn",
    "HardLight", "SoftLight", "Difference", "Exclusion", "Hue", "Saturation", "Color", "Luminosity",
}  # fmt: skip
"""Tables 136 and 137."""


class ExtendedState(NamedTuple):
    """What a graphics state parameter dictionary asks for; None where it leaves things as they are."""

    fill_alpha: float | None
    stroke_alpha: float | None
    line: dict[str, Any]
    """What it says of lines, by the names of a ``Style``."""
    font: Selected | None
    fill_manner: dict[str, Any]
    stroke_manner: dict[str, Any]
    """What it says of how colours are laid on, by the names of a ``Manner``."""


class ResourceShelf:
    """The resource dictionaries and the fonts of one document, each taken up once."""

    def __init__(self) -> None:
        self._fonts: dict[tuple[int, int], Font | None] = {}
        self._latest: tuple[tuple[int, int], Resources] | None = None

    def take(self, raw: Any) -> Resources:
        """The resources in this dictionary. Pages that share one follow each other."""
        key = identity(raw)
        if self._latest is not None and key == self._latest[0] != (0, 0):
            return self._latest[1]
        taken = Resources(raw, self)
        self._latest = key, taken
        return taken

    def font(self, spec: Any) -> Font | None:
        """The font in this dictionary; None where it is none that can be used."""
        key = identity(spec)
        if key == (0, 0):
            return _loaded(spec)
        if key not in self._fonts:
            self._fonts[key] = _loaded(spec)
        return self._fonts[key]


def _loaded(spec: Any) -> Font | None:
    try:
        return load_font(spec)
    except (ValueError, TypeError, KeyError, pikepdf.PdfError):
        return None


def _line_style(asked: Any) -> dict[str, Any]:
    """What a graphics state parameter dictionary says of how lines are drawn."""
    width, cap, join, limit = (number(get(asked, key)) for key in ("/LW", "/LC", "/LJ", "/ML"))
    told: dict[str, Any] = {"width": width, "cap": cap, "join": join, "miter_limit": limit}
    style = {name: figure for name, figure in told.items() if figure is not None}
    pattern = array(get(asked, "/D"))
    return style | dashes(figures(pattern[0]), [number(pattern[1]) or 0.0]) if len(pattern) == 2 else style


def _manner(asked: Any, *, alpha: str, overprint: bool | None) -> dict[str, Any]:
    """What a graphics state parameter dictionary says of how colours are laid on (8.6.7, 11.6.4)."""
    opacity, mask, mode = number(get(asked, alpha)), get(asked, "/SMask"), get(asked, "/OPM")
    blends = get(asked, "/BM")
    told = {
        "overprints": overprint,
        "overprint_mode": None if mode is None else integer(mode),
        "faint": None if opacity is None else opacity < 1,
        "blends": None if blends is None else _blends(blends),
        "masked": None if mask is None else isinstance(mask, pikepdf.Dictionary),
    }
    return {name: value for name, value in told.items() if value is not None}


def _blends(modes: Any) -> bool:
    """Of several blend modes the first one that is known holds (11.6.3)."""
    known = [mode for mode in map(name, array(modes) or [modes]) if mode in _BLEND_MODES]
    return bool(known) and known[0] not in ("Normal", "Compatible")


def _flag(value: Any) -> bool | None:
    return value if isinstance(value, bool) else None


class Resources:
    """One resource dictionary. What operators ask for is remembered by their operands, as they stand in the file."""

    def __init__(self, raw: Any, shelf: ResourceShelf) -> None:
        self.raw = raw
        self._shelf = shelf
        self._spaces: dict[bytes, Space] = {}
        self._selected: dict[bytes, Selected] = {}
        self._states: dict[bytes, ExtendedState | None] = {}
        self._external: dict[bytes, Any] = {}

    def entry(self, category: str, named: str | None) -> Any:
        """A member of one of the dictionary's dictionaries, by its name with the slash."""
        return get(get(self.raw, category), named) if named else None

    def selected(self, operands: bytes) -> Selected:
        """The font and size that ``Tf`` selects."""
        known = self._selected.get(operands)
        if known is None:
            size = numbers(b" ".join(operands.rpartition(b"/")[2].split()[1:]))
            spec = self.entry("/Font", first_name(operands))
            font = self._shelf.font(spec) if spec is not None else None
            known = self._selected[operands] = (font, size[-1] if size else 0.0)
        return known

    def space(self, operands: bytes) -> Space:
        """The colour space that ``cs`` or ``CS`` names; grey where it cannot be told."""
        known = self._spaces.get(operands)
        if known is None:
            named = first_name(operands)
            known = colour_space(as_name(named), self.raw) if named and len(named) > 1 else GRAY
            self._spaces[operands] = known
        return known

    @cached_property
    def gray(self) -> Space:
        """What stands for DeviceGray."""
        return default_space(GRAY, self.raw)

    @cached_property
    def rgb(self) -> Space:
        """What stands for DeviceRGB."""
        return default_space(RGB, self.raw)

    @cached_property
    def cmyk(self) -> Space:
        """What stands for DeviceCMYK."""
        return default_space(CMYK, self.raw)

    def external(self, operands: bytes) -> Any:
        """The external object that ``Do`` names."""
        if operands not in self._external:
            self._external[operands] = self.entry("/XObject", first_name(operands))
        return self._external[operands]

    def extended_state(self, operands: bytes) -> ExtendedState | None:
        """The parameters that ``gs`` names."""
        if operands not in self._states:
            self._states[operands] = self._state(self.entry("/ExtGState", first_name(operands)))
        return self._states[operands]

    def _state(self, asked: Any) -> ExtendedState | None:
        if asked is None:
            return None
        font = array(get(asked, "/Font"))
        both, fill_alone = _flag(get(asked, "/OP")), _flag(get(asked, "/op"))
        return ExtendedState(
            fill_alpha=number(get(asked, "/ca")),
            stroke_alpha=number(get(asked, "/CA")),
            line=_line_style(asked),
            font=(self._shelf.font(font[0]), number(font[1]) or 0.0) if len(font) == 2 else None,
            fill_manner=_manner(asked, alpha="/ca", overprint=both if fill_alone is None else fill_alone),
            stroke_manner=_manner(asked, alpha="/CA", overprint=both),
        )
