"""Words compared as a reader would: letters and figures alone, whatever their case and however they are set."""

from __future__ import annotations

import re
import unicodedata

from worker.book.numerals import number_in

_SET_CLOSE = re.compile(r"\d+(?:\.\d+)+\.?\s*(?=[^\W\d])")
"""A section's number, with or without a space before its title."""


def plain_letters(text: str) -> str:
    """The letters and figures of a text in small letters: ligatures and accents undone, spaces and hyphens left out."""
    if text.isascii():
        return "".join(filter(str.isalnum, text)).lower()
    apart = unicodedata.normalize("NFKD", text)
    return "".join(filter(str.isalnum, apart)).casefold()


def without_number(text: str) -> str:
    """A heading without the number that it begins with (``12``, ``2.1.3``, ``A``, ``IV.``); whole if it is no more."""
    set_close = _SET_CLOSE.match(text)
    if set_close:
        return text[set_close.end() :]
    first, _, rest = text.strip().partition(" ")
    bare = first.strip(".:()")
    is_number = number_in(bare) is not None or len(bare) == 1 or any(map(str.isdigit, bare))
    return rest if rest and is_number else text
