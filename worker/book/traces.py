"""A small trace of each page's words, by which its text is found again in another setting of the same book.

No word of the book can be read from it. Certain letters are looked for, wherever they fall, and the letters that
follow each of them are hashed; of these hashes those below a fixed threshold stay. So the same words leave the same
samples on whatever page they stand and however their lines are broken: pages are the same by what they share.
"""

from __future__ import annotations

import binascii
import re
import string
from collections.abc import Iterable
from zlib import crc32

from worker.book.wording import plain_letters
from worker.measure.models import Page

SAMPLE = 4
"""Signs of a trace that one sample takes: three bytes in base64."""

MOST = 18
FEWEST = 4
"""Samples of one page at the most; a page of few words keeps so many whatever their hashes, if it has them."""

WINDOW = 20
"""Bytes of plain letters that a sample is of: about four words."""

KEPT_BELOW = 2**32 * 3 // 4
_ANCHOR = b"k"
_ALIKE = b"kq\x87\x97\xb7"
"""A sample starts at one of these: at most one letter in twenty in the languages of Europe, in English one in a
hundred. In other scripts, whose letters are several bytes each, the last three do the same."""
_PLAIN = bytes.maketrans(
    string.ascii_uppercase.encode() + _ALIKE, string.ascii_lowercase.encode() + _ANCHOR * len(_ALIKE)
)
_NO_LETTERS = bytes(sign for sign in range(128) if not chr(sign).isalpha())
"""Figures are left out too: a folio changes with its place."""
_MARKS = re.compile(rb"\xe2[\x80\x81].|\xc2[\x80-\xbf]", re.DOTALL)
"""In UTF-8 quotation marks, dashes, spaces and other signs without letters among them."""
_LIGATURE = b"\xef\xac"


def traces(pages: Iterable[Page]) -> tuple[str, ...]:
    """The trace of each page, which must have its lines; empty for a page without words."""
    return tuple([_trace("".join([line.text for line in page.lines])) for page in pages])


def samples(trace: str) -> list[str]:
    """The samples that a trace is made of."""
    return [trace[at : at + SAMPLE] for at in range(0, len(trace), SAMPLE)]


def _trace(text: str) -> str:
    letters = _letters(text)
    if not letters:
        return ""
    hashes = sorted({crc32(window) for window in _windows(letters)})
    kept = [each for each in hashes[:MOST] if each < KEPT_BELOW]
    if len(kept) < FEWEST:
        kept = hashes[:FEWEST] or [crc32(letters)]
    low = b"".join([each.to_bytes(4, "big")[1:] for each in kept])
    return binascii.b2a_base64(low, newline=False).decode()


def _letters(text: str) -> bytes:
    """The letters of a text in UTF-8: those of ASCII small, ligatures undone, hyphens and all other marks left out."""
    encoded = text.encode("utf-8", "ignore")
    if _LIGATURE in encoded:
        encoded = plain_letters(text).encode("utf-8", "ignore")
    elif not text.isascii():
        encoded = _MARKS.sub(b"", encoded)
    return encoded.translate(_PLAIN, _NO_LETTERS)


def _windows(letters: bytes) -> list[bytes]:
    """What follows each anchor, where enough of the page does."""
    found = []
    at = -1
    for before in letters.split(_ANCHOR)[:-1]:
        at += len(before) + 1
        found.append(letters[at : at + WINDOW])
    while found and len(found[-1]) < WINDOW:
        found.pop()
    return found
