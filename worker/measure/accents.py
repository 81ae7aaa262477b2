"""Accents that are set as glyphs of their own above a letter, as TeX does with fonts that lack the letter."""

from __future__ import annotations

import re
import unicodedata

COMBINING = {
    "´": "\u0301", "`": "\u0300", "¨": "\u0308", "ˆ": "\u0302", "˜": "\u0303", "¯": "\u0304", "˘": "\u0306",
    "ˇ": "\u030c", "˙": "\u0307", "˝": "\u030b", "˚": "\u030a", "¸": "\u0327", "˛": "\u0328",
}  # fmt: skip
"""Accents that stand alone, and those that Unicode puts on the letter before them."""
_WAITING = re.compile("([" + "".join(COMBINING.values()) + "])\ue000(\\w)")


def waiting(text: str) -> str:
    """``text`` whose last letter, an accent, waits for the letter that is set below it."""
    return text[:-1] + COMBINING[text[-1]] + "\ue000"


def overlaid(text: str, more: str) -> str:
    """Two runs of which one begins before the other ends: an accent of either goes on the letter of the other."""
    if text[-1:] in COMBINING:
        return put_on(waiting(text) + more)
    return unicodedata.normalize("NFC", text + COMBINING.get(more, more))


def put_on(text: str) -> str:
    """Waiting accents put on the letters that follow them."""
    composed = _WAITING.sub(lambda found: found[2] + found[1], text).replace("\ue000", "")
    return unicodedata.normalize("NFC", composed)
