"""International standard book numbers in a text, and their check digits (ISO 2108, annex; recalled from memory)."""

from __future__ import annotations

import re
from collections.abc import Iterator

_THIRTEEN = re.compile(r"(?<![\d-])97[89](?:[-\u2010\u2011\u2013 ]?\d){10}(?![\d-])")
_TEN = re.compile(r"(?i:ISBN)(?:-10)?[\s:]*(\d(?:[-\u2010\u2011\u2013 ]?\d){8}[-\u2010\u2011\u2013 ]?[\dXx])(?![\d-])")
_OF_MUSIC = "9790"
"""979-0 numbers printed music (ISMN), though its check digit is made alike."""


def isbns_in(text: str) -> Iterator[str]:
    """The digits of each number that has its check digit right; of thirteen digits, or ten where the text says ISBN."""
    for found in _THIRTEEN.finditer(text):
        digits = _digits(found[0])
        if is_isbn13(digits):
            yield digits
    for found in _TEN.finditer(text):
        digits = _digits(found[1])
        if is_isbn10(digits):
            yield digits


def is_isbn13(digits: str) -> bool:
    """Whether thirteen digits are such a number: weights 1 and 3 in turn, a sum that ten divides."""
    if len(digits) != 13 or not digits.isdecimal() or digits.startswith(_OF_MUSIC):
        return False
    return sum(int(digit) * (3 if at % 2 else 1) for at, digit in enumerate(digits)) % 10 == 0


def is_isbn10(digits: str) -> bool:
    """Whether ten digits, the last of which may be X for ten, are such a number: weights from 10 to 1, and 11."""
    if len(digits) != 10 or not digits[:9].isdecimal() or digits[9] not in "0123456789X":
        return False
    values = [10 if digit == "X" else int(digit) for digit in digits]
    return sum(value * (10 - at) for at, value in enumerate(values)) % 11 == 0


def check_digit(twelve: str) -> str:
    """The thirteenth digit that belongs to twelve."""
    return str(-sum(int(digit) * (3 if at % 2 else 1) for at, digit in enumerate(twelve)) % 10)


def as_thirteen(ten: str) -> str:
    """The number of thirteen digits that one of ten is written as since 2007: 978 before it, its check digit anew."""
    twelve = f"978{ten[:9]}"
    return twelve + check_digit(twelve)


def _digits(text: str) -> str:
    return re.sub(r"[^\dX]", "", text.upper())
