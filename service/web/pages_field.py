"""The field in which one says how many pages the finished book has."""

from __future__ import annotations

__all__ = ["BadPages", "pages_of"]

MOST = 99_999


class BadPages(ValueError):
    """What was typed is no number of pages; the message says what is."""


def pages_of(typed: str) -> int | None:
    """The number that was typed; None for an empty field. Raises :class:`BadPages`."""
    text = typed.strip()
    if not text:
        return None
    whole = text.isascii() and text.isdigit() and len(text) <= len(str(MOST))
    if not whole or not 1 <= int(text) <= MOST:
        raise BadPages(f"The number of pages is a whole number from 1 to {MOST}, or is left empty.")
    return int(text)
