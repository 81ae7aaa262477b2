"""The ink of single glyphs, from the embedded font program (FreeType), in ems.

FreeType reads Type 1, bare CFF, TrueType and OpenType. A bare CID-keyed CFF is addressed by CID.
"""

from __future__ import annotations

import io
from ctypes import byref
from math import isfinite

import freetype
from freetype.raw import FT_Matrix, FT_Outline_Transform

from worker.measure.geometry import Box, Matrix, apply
from worker.measure.path import Path

_LOAD = freetype.FT_LOAD_NO_SCALE | freetype.FT_LOAD_NO_HINTING | freetype.FT_LOAD_NO_BITMAP
_ONE = 0x10000
"""1 as FreeType's matrices write it."""
_FINER = 16
"""FreeType's outlines have whole coordinates: they are made larger before they are turned."""
_RESTRICTED = 0x0002
_OTHER_USAGE = 0x000C
_NO_SUBSETS, _BITMAPS_ONLY = 0x0100, 0x0200
_BITS_SINCE = 2
"""The version of the OS/2 table that first has these two."""
_SYMBOL_BASES = (0xF000, 0xF100, 0xF200, 0x0000)
_BUILT_IN = (freetype.FT_ENCODING_ADOBE_CUSTOM, freetype.FT_ENCODING_ADOBE_STANDARD, freetype.FT_ENCODING_ADOBE_EXPERT)


class FontProgram:
    """One embedded font program. Glyph indices that it does not have give no ink."""

    def __init__(self, data: bytes) -> None:
        """Raises ``ValueError`` where FreeType cannot read the program."""
        try:
            self._face = freetype.Face(io.BytesIO(data))
        except freetype.FT_Exception as error:
            raise ValueError(f"unreadable font program: {error}") from error
        self._em = float(self._face.units_per_EM or 1000)
        self._charmaps = {(charmap.platform_id, charmap.encoding_id): charmap for charmap in self._face.charmaps}

    def ink(self, glyph: int) -> Box | None:
        """The exact bounds of a glyph's outline, in ems; None where it has none."""
        outline = self._outline(glyph)
        if outline is None:
            return None
        bounds = outline.get_bbox()
        em = self._em
        return bounds.xMin / em, bounds.yMin / em, bounds.xMax / em, bounds.yMax / em

    def ink_under(self, glyph: int, linear: Matrix) -> Box | None:
        """The exact bounds of a glyph's outline as a matrix slants or turns it, about the glyph's origin."""
        outline, longest = self._outline(glyph), max(map(abs, linear[:4]))
        if outline is None or not longest or not all(map(isfinite, linear)):
            return None
        a, b, c, d = (round(figure / longest * _FINER * _ONE) for figure in linear[:4])
        FT_Outline_Transform(byref(outline._FT_Outline), byref(FT_Matrix(a, c, b, d)))
        bounds, scale = outline.get_bbox(), longest / (self._em * _FINER)
        return bounds.xMin * scale, bounds.yMin * scale, bounds.xMax * scale, bounds.yMax * scale

    def contours(self, glyph: int, matrix: Matrix) -> Path:
        """The outline as a path, about the glyph's origin; ``matrix`` leads from ems to the page."""
        path = Path()
        outline = self._outline(glyph)
        if outline is not None:
            outline.decompose((path, self._em, matrix), _move, _line, _conic, _cubic)
            path.close()
        return path

    def has(self, glyph: int) -> bool:
        """Whether there is such a glyph, with an outline or without. The face stands at it afterwards."""
        try:
            self._face.load_glyph(glyph, _LOAD)
        except freetype.FT_Exception:
            return False
        return True

    def _outline(self, glyph: int) -> freetype.Outline | None:
        if not self.has(glyph):
            return None
        outline = self._face.glyph.outline
        return outline if outline.n_points else None

    def named(self, name: str) -> int:
        """The glyph of that name; 0 where there is none."""
        try:
            return int(self._face.get_name_index(name.encode("latin-1", "replace")))
        except freetype.FT_Exception:
            return 0

    def glyph_name(self, glyph: int) -> str:
        """What the program calls a glyph; empty where it has no names."""
        try:
            return str(self._face.get_glyph_name(glyph, 128).decode("latin-1")) if glyph else ""
        except freetype.FT_Exception:
            return ""

    def built_in(self, code: int) -> int:
        """The glyph that the program's own encoding gives a code."""
        for charmap in self._face.charmaps:
            if charmap.encoding in _BUILT_IN:
                return self._in_charmap(charmap, code)
        return 0

    def unicode(self, letter: str) -> int:
        charmap = self._charmaps.get((3, 1)) or self._charmaps.get((0, 3)) or self._charmaps.get((3, 10))
        return self._in_charmap(charmap, ord(letter)) if charmap is not None and len(letter) == 1 else 0

    def symbol(self, code: int) -> int:
        """A symbolic TrueType font's glyph (ISO 32000-1 9.6.6.4): by (3, 0) with its high bytes, then (1, 0)."""
        charmap = self._charmaps.get((3, 0))
        if charmap is not None:
            for base in _SYMBOL_BASES:
                glyph = self._in_charmap(charmap, base + code)
                if glyph:
                    return glyph
        return self.macintosh(code)

    def macintosh(self, code: int) -> int:
        charmap = self._charmaps.get((1, 0))
        return self._in_charmap(charmap, code) if charmap is not None else 0

    def _in_charmap(self, charmap: freetype.Charmap, code: int) -> int:
        self._face.set_charmap(charmap)
        return int(self._face.get_char_index(code))


Place = tuple[Path, float, Matrix]


def _at(point: freetype.FT_Vector, place: Place) -> tuple[float, float]:
    _, em, matrix = place
    return apply(matrix, point.x / em, point.y / em)


def _move(to: freetype.FT_Vector, place: Place) -> None:
    path = place[0]
    if path.trail:
        path.close()
    path.move(_at(to, place))


def _line(to: freetype.FT_Vector, place: Place) -> None:
    place[0].line(_at(to, place))


def _conic(control: freetype.FT_Vector, to: freetype.FT_Vector, place: Place) -> None:
    """A quadratic curve, which TrueType has, is a cubic one whose controls lie two thirds of the way to its own."""
    path = place[0]
    (x0, y0), (x1, y1), (x2, y2) = path.at, _at(control, place), _at(to, place)
    path.curve(
        (x0 + 2 / 3 * (x1 - x0), y0 + 2 / 3 * (y1 - y0)), (x2 + 2 / 3 * (x1 - x2), y2 + 2 / 3 * (y1 - y2)), (x2, y2)
    )


def _cubic(first: freetype.FT_Vector, second: freetype.FT_Vector, to: freetype.FT_Vector, place: Place) -> None:
    place[0].curve(_at(first, place), _at(second, place), _at(to, place))


def embedding_forbidden(data: bytes, *, subset: bool = False) -> bool | None:
    """What the OS/2 table's fsType says of embedding as it was done (OpenType, OS/2): True where it forbids that.

    Forbidden is "restricted" (bit 1) alone; bits 2 and 3 loosen it in table versions 0 to 2, where the least
    restrictive wins. From version 2 on bit 8 forbids a ``subset`` and bit 9 the outlines. None where the program has
    no such table: then nothing is known.
    """
    tables = int.from_bytes(data[4:6], "big")
    for entry in range(12, 12 + 16 * tables, 16):
        if data[entry : entry + 4] == b"OS/2":
            offset = int.from_bytes(data[entry + 8 : entry + 12], "big")
            version, fs_type = (int.from_bytes(data[offset + at : offset + at + 2], "big") for at in (0, 8))
            forbidden = _BITMAPS_ONLY | (_NO_SUBSETS if subset else 0) if version >= _BITS_SINCE else 0
            return bool(fs_type & _RESTRICTED and not fs_type & _OTHER_USAGE) or bool(fs_type & forbidden)
    return None
