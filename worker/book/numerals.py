"""Numbers as they are printed on pages: arabic and roman.

Roman numerals follow the standard subtractive notation (from memory): iv and not iiii, xc and not lxxxx.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from worker.book.models import Numerals

_VALUES = (("m", 1000), ("cm", 900), ("d", 500), ("cd", 400), ("c", 100), ("xc", 90), ("l", 50), ("xl", 40),
           ("x", 10), ("ix", 9), ("v", 5), ("iv", 4), ("i", 1))  # fmt: skip
_ROMAN = re.compile(r"m{0,3}(?:cm|cd|d?c{0,3})(?:xc|xl|l?x{0,3})(?:ix|iv|v?i{0,3})")
_ARABIC = re.compile(r"[1-9]\d{0,3}")
_MOST_LETTERS = 15
"""Of a roman numeral: mmmdccclxxxviii."""


class Number(NamedTuple):
    """A printed number and the way it is written."""

    value: int
    numerals: Numerals

    @property
    def text(self) -> str:
        if self.numerals == "arabic":
            return str(self.value)
        roman = to_roman(self.value)
        return roman.upper() if self.numerals == "roman-capitals" else roman


def number_in(text: str) -> Number | None:
    """The number that a word is, and nothing else; None where it is none."""
    if _ARABIC.fullmatch(text):
        return Number(int(text), "arabic")
    small = text.lower()
    if not text or len(text) > _MOST_LETTERS or text not in (small, text.upper()) or not _ROMAN.fullmatch(small):
        return None
    return Number(from_roman(small), "roman" if text == small else "roman-capitals")


def from_roman(text: str) -> int:
    """The value of a numeral in small letters, which must be one."""
    value, rest = 0, text
    for letters, worth in _VALUES:
        while rest.startswith(letters):
            value, rest = value + worth, rest[len(letters) :]
    return value


def to_roman(value: int) -> str:
    """A number from 1 to 3999 in small letters."""
    written = ""
    for letters, worth in _VALUES:
        count, value = divmod(value, worth)
        written += letters * count
    return written
