"""Titles of the Tern Island Writers' Cooperative, and files for them as a worker leaves them."""

from __future__ import annotations

from tests.web import rows
from worker.store import LOCAL, Inspection, NewSubmission, NewTitle, Store, Submission, Title

ISBN = "9780000000019"
"""Its check digit is right; the group and the publisher are nobody's."""


def title(
    store: Store,
    name: str = "The Salt Road",
    author: str = "Maud Kittering",
    *,
    owner: str = LOCAL,
    isbn: str | None = None,
    trim: str | None = None,
    expected_pages: int | None = None,
) -> Title:
    """A title that waits for its author."""
    new = NewTitle(author, name, "ternhaven-mono", isbn=isbn, trim=trim, expected_pages=expected_pages)
    return store.titles.create(owner, new)


def submitted(
    store: Store, of: Title, row: Inspection, *, link_id: str | None = None, by: str | None = None
) -> Submission:
    """An inspection as the next file of a title."""
    new = NewSubmission(row.id, row.sha256, row.file_name, row.bytes, received_by=by, link_id=link_id)
    return store.titles.submit(of.id, of.owner, new)


def inspected(store: Store, of: Title, *, verdict: str = "not-pressworthy", link_id: str | None = None) -> Submission:
    """A file of a title that has its report."""
    row = rows.done(store, of.title, verdict=verdict, owner=of.owner)
    return submitted(store, of, row, link_id=link_id)


def now(store: Store, of: Title) -> Title:
    """The title as it stands now."""
    found = store.titles.get(of.id, of.owner)
    assert found is not None
    return found
