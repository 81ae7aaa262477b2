"""What a list is narrowed to, and which part of it is shown, as its address says."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from flask import url_for

from service.intake import tidy_text
from worker.judge.models import Verdict
from worker.store import BadCursor
from worker.words import told

__all__ = ["Asked", "verdict_choices"]

SIZE = 25
WHOLE = 200
"""Rows of a list that is asked for whole, to print: as many as the store gives at once."""
LONGEST = 300
"""Characters of what a list is narrowed to."""

Found = TypeVar("Found")


@dataclass(frozen=True)
class Asked:
    """A part of the list at ``endpoint``.

    ``narrowed`` holds the fields of its form by their names; an empty text asks nothing. ``after`` is the cursor of a
    part further on; ``whole``: in parts so large that there is seldom more than one.
    """

    endpoint: str
    narrowed: Mapping[str, str]
    after: str = ""
    whole: bool = False

    @classmethod
    def of(cls, endpoint: str, names: Sequence[str], given: Mapping[str, str]) -> Asked:
        """What an address brings, its fields being called so."""
        narrowed = {name: tidy_text(given.get(name, ""))[:LONGEST] for name in names}
        return cls(endpoint, narrowed, tidy_text(given.get("after", ""))[:LONGEST], bool(given.get("whole")))

    @property
    def any(self) -> bool:
        """Whether the list is narrowed."""
        return any(self.narrowed.values())

    def address(self, *, after: str = "", whole: bool | None = None) -> str:
        """The address of another part of the list."""
        asked: dict[str, Any] = {name: value for name, value in self.narrowed.items() if value}
        if after:
            asked["after"] = after
        if self.whole if whole is None else whole:
            asked["whole"] = "yes"
        return url_for(self.endpoint, **asked)

    def found(self, find: Callable[..., Found]) -> Found:
        """What ``find`` of the store has; a cursor that is none of this list's shows its beginning."""
        asked: dict[str, Any] = {name: value or None for name, value in self.narrowed.items()}
        asked["size"] = WHOLE if self.whole else SIZE
        try:
            return find(after=self.after or None, **asked)
        except BadCursor:
            return find(**asked)


def verdict_choices() -> dict[str, str]:
    """The verdicts that a list can be narrowed to, and their words."""
    return {verdict.value: told(f"verdict.{verdict.value}.heading") for verdict in Verdict}
