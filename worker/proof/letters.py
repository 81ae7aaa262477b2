"""Words in the standard serif (ISO 32000-1 9.6.2.2), in WinAnsiEncoding: what it can show, and how wide that is."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from functools import cache
from typing import Literal

from pdfminer.fontmetrics import FONT_METRICS

from worker.report.words import shown

Face = Literal["roman", "italic", "bold"]

FACES: dict[Face, str] = {"roman": "Times-Roman", "italic": "Times-Italic", "bold": "Times-Bold"}
_ALIKE = str.maketrans({"\u2010": "-", "\u2011": "-", "\u2212": "–", "\u202f": " ", "\u2009": " ", "\ufffd": "?"})
_SPACES = re.compile("[ \t\n]+")
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:in|mm|pt|ppi)\b)")
_SAME_GLYPH = str.maketrans("\xa0\xad", " -")
"""The space that does not break is a space, the soft hyphen a hyphen (ISO 32000-1 Annex D.2, its footnotes)."""
_LIKE_N = 500
"""The width of a letter that the metrics do not list, in thousandths of the size."""


def encoded(text: str) -> bytes:
    """``text`` in WinAnsiEncoding. A letter that it lacks loses its accent; one that is still lacking becomes a
    question mark."""
    return b"".join(map(_letter, _SPACES.sub(" ", shown(text).translate(_ALIKE)).strip(" ")))


@cache
def _letter(letter: str) -> bytes:
    try:
        return letter.encode("cp1252")
    except UnicodeEncodeError:
        plain = "".join(part for part in unicodedata.normalize("NFKD", letter) if not unicodedata.combining(part))
    return plain.encode("cp1252", "replace")


def width(text: bytes, face: Face, size: float) -> float:
    """How wide encoded words are set, in the unit of ``size``."""
    widths = _widths(face)
    return sum(widths[byte] for byte in text) * size / 1000


@cache
def _widths(face: Face) -> tuple[float, ...]:
    metrics = FONT_METRICS[FACES[face]][1]
    letters = (bytes([byte]).decode("cp1252", "replace").translate(_SAME_GLYPH) for byte in range(256))
    return tuple(metrics.get(letter, _LIKE_N) for letter in letters)


def lines(text: str, face: Face, size: float, measure: float) -> Iterator[bytes]:
    """``text`` in lines no wider than ``measure``: a number and its unit stay together, a wider word is broken."""
    line = b""
    for word in encoded(_BEFORE_UNIT.sub("\xa0", text)).split(b" "):
        longer = line + b" " + word if line else word
        if width(longer, face, size) <= measure:
            line = longer
            continue
        if line:
            yield line
        *whole, line = _broken(word, face, size, measure)
        yield from whole
    if line:
        yield line


def _broken(word: bytes, face: Face, size: float, measure: float) -> Iterator[bytes]:
    start = 0
    for end in range(2, len(word) + 1):
        if width(word[start:end], face, size) > measure:
            yield word[start : end - 1]
            start = end - 1
    yield word[start:]


def cut(text: bytes, face: Face, size: float, measure: float) -> bytes:
    """Words in one line, their end left out where they are wider than ``measure``."""
    if width(text, face, size) <= measure:
        return text
    while text and width(text + b"\x85", face, size) > measure:
        text = text[:-1]
    return text.rstrip() + b"\x85"
