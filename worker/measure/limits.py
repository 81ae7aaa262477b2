"""How much work one file may ask for. Crossing a limit is an answer that names it, never a finding."""

from __future__ import annotations

import os
from dataclasses import dataclass

MOST_INFLATED = 256_000_000
"""Bytes that one stream may inflate to."""


class LimitReached(Exception):
    """A named limit of this service was crossed; ``page`` is where, if known."""

    def __init__(self, limit: str, message: str, page: int | None = None) -> None:
        super().__init__(limit, message, page)  # as they were given, so that it can cross a process border
        self.limit = limit
        self.message = message
        self.page = page

    def __str__(self) -> str:
        return self.message


@dataclass(frozen=True)
class WorkLimits:
    """``pages`` a file, ``operators`` a page and ``nesting`` of forms within forms."""

    pages: int = 5_000
    operators: int = 6_000_000
    nesting: int = 24

    @classmethod
    def from_environment(cls) -> WorkLimits:
        """The page limit is the operator's to set; the others protect the reader itself."""
        return cls(pages=int(os.environ.get("PRESSWORTHY_MAX_PAGES", cls.pages)))
