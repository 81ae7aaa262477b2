"""The field in which one types an ISBN: its digits, or what is wrong with them."""

from __future__ import annotations

import re

from worker.book.isbn import as_thirteen, check_digit, is_isbn10, is_isbn13

__all__ = ["BadIsbn", "isbn_of"]

_BETWEEN = re.compile(r"[\s\-\u2010\u2011\u2012\u2013]+")
_LABEL = re.compile(r"^(?:urn:)?isbn(?:-1[03])?:?", re.IGNORECASE)


class BadIsbn(ValueError):
    """What was typed is no ISBN; the message says why, and what is one."""


def isbn_of(typed: str) -> str | None:
    """The thirteen digits of what was typed, with or without hyphens; None for an empty field. Raises :class:`BadIsbn`.

    One of ten digits becomes the same book's number of thirteen.
    """
    digits = _BETWEEN.sub("", _LABEL.sub("", typed.strip())).upper()
    if not digits:
        return None
    if not digits.isascii():
        raise BadIsbn(_why(digits))
    if is_isbn13(digits):
        return digits
    if is_isbn10(digits):
        return as_thirteen(digits)
    raise BadIsbn(_why(digits))


def _why(digits: str) -> str:
    if not (digits.isascii() and digits[:-1].isdigit() and digits[-1] in "0123456789X"):
        return "An ISBN has digits and hyphens alone. Type it as it stands on the imprint page."
    if len(digits) not in {10, 13}:
        return (
            f"An ISBN has 13 digits, or 10 where it is from before 2007; this has {len(digits)}. "
            "Type it as it stands on the imprint page."
        )
    if len(digits) == 13 and digits.startswith("9790"):
        return "A number that begins with 979-0 is for printed music, not for a book."
    if len(digits) == 13 and not digits.startswith(("978", "979")):
        return "An ISBN of 13 digits begins with 978 or 979. Type it as it stands on the imprint page."
    return (
        f"The last digit does not agree with the others{_would_be(digits)}. One of them may be mistyped: compare them."
    )


def _would_be(digits: str) -> str:
    """Which check digit would agree, for thirteen."""
    return f": after these twelve it would be {check_digit(digits[:12])}" if len(digits) == 13 else ""
