"""Words compared as a reader would: letters and figures alone, whatever their case and however they are set."""

from __future__ import annotations

import unicodedata


def plain_letters(text: str) -> str:
    """The letters and figures of a text in small letters: ligatures and accents undone, spaces and hyphens left out."""
    if text.isascii():
        return "".join(filter(str.isalnum, text)).lower()
    apart = unicodedata.normalize("NFKD", text)
    return "".join(filter(str.isalnum, apart)).casefold()
