"""The name under which something is downloaded: the book's own, as far as every browser and file system takes it."""

from __future__ import annotations

import unicodedata

from worker.report.words import shown

__all__ = ["name_to_keep"]

LONGEST = 100
"""Characters of the book's name; three bytes and nine characters of the header may come of each."""

TROUBLE = frozenset('/\\"%:*?<>|')
"""Signs that are paths somewhere, or that browsers read in different ways (RFC 6266, appendix D)."""


def name_to_keep(file_name: str, what: str) -> str:
    """``long-mole.pdf`` and ``proof.pdf`` are ``long-mole proof.pdf``."""
    stem = file_name.replace("\\", "/").rpartition("/")[2].removesuffix(".pdf")
    plain = "".join(" " if sign in TROUBLE or _unseen(sign) else sign for sign in shown(stem))
    return f"{' '.join(plain.split())[:LONGEST].strip(' .') or 'book'} {what}"


def _unseen(sign: str) -> bool:
    return unicodedata.category(sign) in {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
