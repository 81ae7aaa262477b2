"""CMaps that a file brings with it (ISO 32000-1 9.7.5.3): from the bytes shown to the CIDs of a composite font.

pdfminer.six has the predefined ones, and takes one in the file for the predefined one of that name.
"""

from __future__ import annotations

import io
from bisect import bisect_right
from collections.abc import Iterator
from typing import Any, NamedTuple

from pdfminer.cmapdb import CMapBase, CMapDB, CMapParser, UnicodeMap
from pdfminer.pdffont import PDFCIDFont
from pdfminer.pdftypes import PDFStream
from pdfminer.psparser import PSKeyword, PSLiteral
from pdfminer.utils import choplist

_LONGEST = 4
_UNMAPPED = 0
"""The CID of a code that the CMap does not map (9.7.6.3)."""


class _Range(NamedTuple):
    """Codes of ``length`` bytes from ``first`` to ``last``; their CIDs count from ``cid``."""

    length: int
    first: int
    last: int
    cid: int


class FileCMap(CMapBase):  # type: ignore[misc]
    """What one embedded CMap says. It remembers which code each CID came from, for ToUnicode goes by codes."""

    def __init__(self) -> None:
        super().__init__()
        self.code_of: dict[int, int] = {}
        self._spaces: list[tuple[bytes, bytes]] = []
        self._ranges: list[_Range] = []
        self._base: CMapBase | None = None

    def add_space(self, low: bytes, high: bytes) -> None:
        """Codes between these two, byte by byte, are codes of this CMap (9.7.6.2)."""
        if len(low) == len(high) <= _LONGEST:
            self._spaces.append((low, high))

    def add_range(self, first: bytes, last: bytes, cid: int) -> None:
        self._ranges.append(_Range(len(first), int.from_bytes(first, "big"), int.from_bytes(last, "big"), cid))

    def use_cmap(self, cmap: CMapBase | None) -> None:
        self._base = cmap

    def read(self, data: bytes) -> None:
        """Take up a CMap's own text."""
        _Parser(self, io.BytesIO(data)).run()
        self._ranges.sort()

    def maps_anything(self) -> bool:
        return bool(self._ranges or self._base)

    def decode(self, code: bytes) -> Iterator[int]:
        """The CIDs of shown bytes."""
        at = 0
        while at < len(code):
            length = self._length_at(code, at)
            shown = code[at : at + length]
            cid = self._cid(shown)
            self.code_of[cid] = int.from_bytes(shown, "big")
            yield cid
            at += length

    def _length_at(self, code: bytes, at: int) -> int:
        for low, high in self._spaces:
            part = code[at : at + len(low)]
            if len(part) == len(low) and all(map(_within, low, part, high)):
                return len(low)
        return min((len(low) for low, _ in self._spaces), default=2) or 1

    def _cid(self, shown: bytes) -> int:
        value = int.from_bytes(shown, "big")
        place = bisect_right(self._ranges, (len(shown), value, float("inf"), 0)) - 1
        if place >= 0:
            length, first, last, cid = self._ranges[place]
            if length == len(shown) and first <= value <= last:
                return cid + value - first
        return next(iter(self._base.decode(shown)), _UNMAPPED) if self._base else _UNMAPPED


def _within(low: int, byte: int, high: int) -> bool:
    return low <= byte <= high


class _Parser(CMapParser):  # type: ignore[misc]
    """Tells a :class:`FileCMap` what stands between the keywords of its text."""

    def __init__(self, cmap: FileCMap, text: io.BytesIO) -> None:
        super().__init__(cmap, text)
        self._told = cmap

    def do_keyword(self, pos: int, token: PSKeyword) -> None:
        match token.name:
            case b"endcodespacerange":
                for low, high in self._popped(2):
                    if isinstance(low, bytes) and isinstance(high, bytes):
                        self._told.add_space(low, high)
            case b"endcidrange":
                for first, last, cid in self._popped(3):
                    if isinstance(first, bytes) and isinstance(last, bytes) and isinstance(cid, int):
                        self._told.add_range(first, last, cid)
            case b"endcidchar":
                for code, cid in self._popped(2):
                    if isinstance(code, bytes) and isinstance(cid, int):
                        self._told.add_range(code, code, cid)
            case _:
                super().do_keyword(pos, token)

    def _popped(self, by: int) -> list[tuple[Any, ...]]:
        return list(choplist(by, [value for _, value in self.popall()]))


class CompositeFont(PDFCIDFont):  # type: ignore[misc]
    """A composite font that goes by the CMap in the file where it has one."""

    unicode_map: Any

    def __init__(self, spec: dict[str, Any]) -> None:
        super().__init__(None, spec)
        if isinstance(self.cmap, FileCMap) and isinstance(spec.get("ToUnicode"), PDFStream) and self.unicode_map:
            self.unicode_map = _LettersByCode(self.unicode_map, self.cmap.code_of)

    def get_cmap_from_spec(self, spec: Any, strict: bool) -> CMapBase:
        encoding = spec.get("Encoding")
        if isinstance(encoding, PDFStream):
            cmap = FileCMap()
            if isinstance(base := encoding.get("UseCMap"), PSLiteral):
                cmap.use_cmap(_predefined(str(base.name)))
            cmap.read(encoding.get_data())
            cmap.attrs.setdefault("WMode", encoding.get("WMode", 0))
            if cmap.maps_anything():
                return cmap
        return super().get_cmap_from_spec(spec, strict)


def _predefined(name: str) -> CMapBase | None:
    try:
        return CMapDB.get_cmap(name)
    except CMapDB.CMapNotFound:
        return None


class _LettersByCode(UnicodeMap):  # type: ignore[misc]
    """ToUnicode, which maps codes, asked by CID."""

    def __init__(self, by_code: UnicodeMap, code_of: dict[int, int]) -> None:
        super().__init__()
        self._by_code = by_code
        self._code_of = code_of

    def get_unichr(self, cid: int) -> str:
        return str(self._by_code.get_unichr(self._code_of.get(cid, cid)))
