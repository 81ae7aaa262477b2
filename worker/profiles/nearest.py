"""Words that were nearly right: the nearest known one, and a check that names it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from pydantic import AfterValidator


def nearest(word: str, known: Iterable[str], *, alike: float = 0.55) -> str | None:
    """The known word most like ``word``, or None where none is as much as ``alike`` (0 to 1)."""
    found = difflib.get_close_matches(word[:100].lower(), list(known), n=1, cutoff=alike)
    return found[0] if found else None


def one_of(known: Iterable[str], *, what: str = "value") -> AfterValidator:
    """A pydantic check that a text is one of ``known``; its error names the nearest."""
    words = tuple(known)

    def check(text: str) -> str:
        if text not in words:
            closest = nearest(text, words)
            raise ValueError(
                f"is no known {what}; " + (f'did you mean "{closest}"?' if closest else "known are " + ", ".join(words))
            )
        return text

    return AfterValidator(check)
