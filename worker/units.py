"""Lengths, file sizes and page ranges: from the words people write, and back.

1 in = 25.4 mm = 72 pt exactly (ISO 80000-3 for the inch; the point of ISO 32000-1 8.3.2.3). Light: no library.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import Literal, Self

Unit = Literal["in", "mm", "pt"]

POINTS_IN: dict[Unit, float] = {"in": 72.0, "mm": 72.0 / 25.4, "pt": 1.0}
BYTES_IN = {"B": 1, "kB": 10**3, "MB": 10**6, "GB": 10**9, "KiB": 2**10, "MiB": 2**20, "GiB": 2**30}

# The largest page that the format's reference implementation takes is 14,400 units a side (ISO 32000-1 Annex C);
# with a UserUnit it may be larger, and a length of a kilometre in a profile is a slip of the pen.
LONGEST = 144_000.0

# Decimals of a length in the unit that was asked for, and of the same length beside it.
_DECIMALS: dict[Unit, int] = {"in": 3, "mm": 2, "pt": 2}
_DECIMALS_BESIDE: dict[Unit, int] = {"in": 3, "mm": 1, "pt": 1}
_BESIDE: dict[Unit, Unit] = {"in": "mm", "mm": "in", "pt": "mm"}

_NUMBER = r"([+-]?(?:\d{1,12}(?:\.\d{0,12})?|\.\d{1,12}))"
_LENGTH = re.compile(_NUMBER + r"\s*(in|mm|pt)")
_SIZE = re.compile(r"(\d{1,12}(?:\.\d{0,12})?)\s*(" + "|".join(BYTES_IN) + ")")


class UnitError(ValueError):
    """A length or a size that cannot be understood; the message says how to write it."""


class Length(float):
    """A length in points that remembers how it was written, so that it can be shown and kept as it was."""

    text: str

    def __new__(cls, points: float, text: str | None = None) -> Self:
        length = super().__new__(cls, points)
        length.text = text if text is not None else f"{show_number(points, 12)} pt"
        return length

    @classmethod
    def parse(cls, text: str) -> Self:
        """The length that ``text`` says (``"0.5 in"``). Raises :class:`UnitError`."""
        return cls(parse_length(text), text.strip())


def parse_length(text: str) -> float:
    """Points of a length written with its unit: ``"0.5 in"``, ``"12.7 mm"``, ``"36 pt"``. Raises :class:`UnitError`."""
    found = _LENGTH.fullmatch(text.strip())
    if found is None:
        raise UnitError(f'{_quoted(text)} is not a length: write a number and in, mm or pt, as in "0.5 in"')
    points = float(found[1]) * POINTS_IN[_unit(found[2])]
    if abs(points) > LONGEST:
        raise UnitError(f"{_quoted(text)} is longer than any page")
    return points


def parse_size(text: str) -> int:
    """Bytes of a file size such as ``"400 MB"`` (decimal) or ``"64 MiB"`` (binary). Raises :class:`UnitError`."""
    found = _SIZE.fullmatch(text.strip())
    if found is None:
        raise UnitError(f'{_quoted(text)} is not a file size: write a number and B, kB, MB or GB, as in "400 MB"')
    return round(float(found[1]) * BYTES_IN[found[2]])


def in_unit(points: float, unit: Unit) -> float:
    """The same length in ``unit``."""
    return points / POINTS_IN[unit]


def show_length(points: float, unit: Unit, *, finer: int = 0) -> str:
    """A length for people, the other unit beside it: ``"0.5 in (12.7 mm)"``, ``"12.7 mm (0.5 in)"``.

    ``finer`` decimals more are for two lengths that would read alike and are not.
    """
    beside = _BESIDE[unit]
    other = show_number(in_unit(points, beside), _DECIMALS_BESIDE[beside] + finer)
    return f"{show_short(points, unit, finer=finer)} ({other} {beside})"


def show_short(points: float, unit: Unit, *, finer: int = 0) -> str:
    """A length in one unit alone, where there is no room for both: ``"0.5 in"``."""
    return f"{show_number(in_unit(points, unit), _DECIMALS[unit] + finer)} {unit}"


def show_area(width: float, height: float, unit: Unit) -> str:
    """A page size for people: ``"6 × 9 in (152.4 × 228.6 mm)"``; lengths in points."""
    beside = _BESIDE[unit]
    return f"{_area(width, height, unit, _DECIMALS[unit])} ({_area(width, height, beside, _DECIMALS_BESIDE[beside])})"


def show_size(count: int) -> str:
    """A file size for people: ``"1.5 MB"``."""
    for unit in ("GB", "MB", "kB"):
        if count >= BYTES_IN[unit]:
            return f"{show_number(count / BYTES_IN[unit], 1)} {unit}"
    return f"{count} B"


def show_number(value: float, decimals: int) -> str:
    """A number to at most so many decimals, without trailing zeros and without a negative nought."""
    if not math.isfinite(value):
        return str(value)
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def page_ranges(pages: Iterable[int]) -> str:
    """Pages as people write them: ``[1, 3, 5, 6]`` is ``"1, 3, 5–6"``. Order and repeats do not matter."""
    return ", ".join(str(first) if first == last else f"{first}–{last}" for first, last in runs(pages))


def runs(pages: Iterable[int]) -> list[tuple[int, int]]:
    """The unbroken runs in a set of pages, each as its first and last page, in order."""
    found: list[tuple[int, int]] = []
    for page in sorted(set(pages)):
        if found and found[-1][1] == page - 1:
            found[-1] = (found[-1][0], page)
        else:
            found.append((page, page))
    return found


def _area(width: float, height: float, unit: Unit, decimals: int) -> str:
    sides = (show_number(in_unit(side, unit), decimals) for side in (width, height))
    return f"{' × '.join(sides)} {unit}"


def _unit(text: str) -> Unit:
    return next(unit for unit in POINTS_IN if unit == text)


def _quoted(text: str) -> str:
    shown = text if len(text) <= 40 else text[:39] + "…"
    return '"' + "".join(character if character.isprintable() else "?" for character in shown) + '"'
