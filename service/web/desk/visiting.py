"""Whose title a page is of, and in whose name its visitor acts."""

from __future__ import annotations

from flask import session

from service.desk.ids import is_id
from service.desk.taking_in import no_such_title
from service.house import store
from service.intake import tidy_text
from service.web.visitor import owner, visitor
from worker.store import Title

__all__ = ["LONGEST_NAME", "act_as", "acts_as", "own_title"]

LONGEST_NAME = 100
_KEPT_AS = "acts_as"


def own_title(title_id: str) -> Title:
    """The visitor's title of that id. Raises :class:`Problem`, for a stranger's too."""
    row = store().titles.get(title_id, owner()) if is_id("tit", title_id) else None
    if row is None:
        raise no_such_title()
    return row


def acts_as() -> str:
    """The visitor's name: the one that was signed in with; else the one that was last typed in this browser."""
    found = visitor()
    return (found.name if found is not None else None) or str(session.get(_KEPT_AS, ""))


def act_as(typed: str) -> str | None:
    """The name in which something is done: of whoever signed in; else as typed, which is remembered. None: no name."""
    found = visitor()
    if found is not None and found.name:
        return found.name
    name = tidy_text(typed)[:LONGEST_NAME]
    if name and session.get(_KEPT_AS) != name:
        session[_KEPT_AS] = name
    return name or None
