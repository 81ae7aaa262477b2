"""What is told of a title, checked member by member: every fault at once, each with what to do."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

from service.desk.isbn_field import BadIsbn, isbn_of
from service.desk.printing import BadTrim, trim_named
from service.intake import profile_named, tidy_text
from service.problems import Problem
from worker.store import NewTitle, Store

__all__ = ["LONGEST_NOTE", "BadTitle", "new_title", "refuse_taken_isbn", "tidy_note"]

MOST_PAGES = 99_999
LONGEST_NOTE = 8000
"""Characters."""

Told = TypeVar("Told")


class BadPages(ValueError):
    """What was typed is no number of pages; the message says what is."""


class BadTitle(ValueError):
    """``errors``: for each member that has to be changed, what is wrong with it."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__("; ".join(f"{name}: {detail}" for name, detail in errors.items()))
        self.errors = errors


def new_title(told: Mapping[str, str], owner: str) -> NewTitle:
    """A title from ``author``, ``title``, ``isbn``, ``profile``, ``trim``, ``expected_pages`` and ``note``.

    All but the first two and the profile may be empty; the profile is one that the ``owner`` can choose.
    Raises :class:`BadTitle`.
    """
    errors: dict[str, str] = {}

    def checked(name: str, check: Callable[[], Told]) -> Told | None:
        try:
            return check()
        except (BadIsbn, BadTrim, BadPages) as bad:
            errors[name] = str(bad)
        except Problem as problem:
            errors[name] = problem.detail
        return None

    author, title = tidy_text(told.get("author", "")), tidy_text(told.get("title", ""))
    if not author:
        errors["author"] = "Say who wrote it; “various” will do."
    if not title:
        errors["title"] = "Say what it is called; a working title will do."
    isbn = checked("isbn", lambda: isbn_of(told.get("isbn", "")))
    profile = checked("profile", lambda: profile_named(told.get("profile", ""), owner))
    trim = checked("trim", lambda: trim_named(told.get("trim", ""), profile)) if profile is not None else None
    pages = checked("expected_pages", lambda: _pages_of(told.get("expected_pages", "")))
    if errors or profile is None:
        raise BadTitle(errors)
    return NewTitle(author, title, profile.id, isbn, trim, pages, tidy_note(told.get("note", "")))


def refuse_taken_isbn(store: Store, owner: str, new: NewTitle, *, but: str | None = None) -> None:
    """Raise :class:`BadTitle` where a title of the owner's, another than ``but``, has this ISBN already."""
    others = [title for title in store.titles.with_isbn(owner, new.isbn) if title.id != but] if new.isbn else []
    if others:
        raise BadTitle({"isbn": f"“{others[0].title}” has this ISBN already. Each edition has one of its own."})


def tidy_note(text: str) -> str:
    """A note of several lines, each of them tidy."""
    return "\n".join(tidy_text(line) for line in text.splitlines())[:LONGEST_NOTE].strip()


def _pages_of(typed: str) -> int | None:
    text = typed.strip()
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and len(text) <= 5) or not 1 <= int(text) <= MOST_PAGES:
        raise BadPages(f"The number of pages is a whole number from 1 to {MOST_PAGES}, or is left empty.")
    return int(text)
