"""A file becomes a submission of its title: kept, rung for, compared with the last file of that title."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from service.desk.printing import profile_of
from service.intake import Arrived, Wish, admit
from service.problems import ANOTHER_FILE, NO_SUCH_INSPECTION, NO_SUCH_TITLE, TITLE_WITHDRAWN, Problem
from service.quotas import quota_refusals
from worker import queue
from worker.logs import request_id
from worker.reporting import judge_again
from worker.store import (
    AnotherFile,
    Beside,
    Inspection,
    Missing,
    NewInspection,
    NewSubmission,
    NoTitle,
    Store,
    Submission,
    Title,
    Withdrawn,
    file_key,
    new_inspection_id,
)
from worker.store.title_models import WITHDRAWN

__all__ = [
    "admit_for",
    "no_such_title",
    "noted",
    "refusals",
    "refuse_withdrawn",
    "submit",
    "submit_again",
    "submit_kept",
]


def submit(
    store: Store,
    arrived: Arrived,
    title: Title,
    *,
    by: str | None = None,
    name: str | None = None,
    link_id: str | None = None,
    most_a_day: int | None = None,
) -> Submission:
    """Take a file in for a title; see :class:`NewSubmission`. ``name`` goes before the file's own.

    Raises :class:`Problem`, and :class:`worker.store.LinkSpent`.
    """
    row = admit_for(store, arrived, title, name)
    return noted(store, row, title, by, link_id, most_a_day)


def admit_for(
    store: Store,
    arrived: Arrived,
    title: Title,
    name: str | None = None,
    beside: Callable[[str], Beside] = lambda _: Beside(),
) -> Inspection:
    """Keep a file as an inspection by the title's printer, compared with its last file; see :func:`admit`."""
    wish = Wish(profile_of(title), title.title, name=name, against=_last_of(store, title))
    return admit(store, arrived, wish, title.owner, beside)


def submit_kept(store: Store, kept: Inspection, title: Title, *, by: str | None = None) -> Submission:
    """Make a file that has come in without a title a submission; the inspection that it was kept as is deleted.

    What was measured is judged by the title's printer. Raises :class:`Problem`.
    """
    row = _again(store, kept, title)
    made = noted(store, row, title, by)
    store.rows.cancel(kept.id, kept.owner)
    store.delete(kept.id, kept.owner)
    return made


def submit_again(store: Store, title: Title, *, by: str | None = None) -> Submission:
    """Judge the title's last file once more, by the printer that the title names now: the same bytes, one file more.

    Nothing is measured again. Raises :class:`Problem`.
    """
    kept = store.titles.submissions(title.id)
    last = kept[-1][1] if kept else None
    if last is None or last.state != "done":
        raise Problem(
            NO_SUCH_INSPECTION,
            "The last file has no report to judge again: it is not inspected yet, or its days are over. "
            "Take it in once more.",
        )
    return noted(store, _again(store, last, title), title, by)


@contextmanager
def refusals() -> Iterator[None]:
    """What cannot be done with a title, as refusals."""
    try:
        yield
    except NoTitle:
        raise no_such_title() from None
    except Withdrawn:
        raise _withdrawn() from None
    except AnotherFile:
        raise Problem(
            ANOTHER_FILE,
            "A pass is for one file, and this one is not the last that came for the title. Look at the last one, "
            "and pass that.",
        ) from None


def refuse_withdrawn(title: Title) -> None:
    """Raise :class:`Problem` for a title that takes no file, before one is read."""
    if title.standing == WITHDRAWN:
        raise _withdrawn()


def _withdrawn() -> Problem:
    told = "This title is withdrawn. Take it up again first; then it takes files and a pass."
    return Problem(TITLE_WITHDRAWN, told)


def no_such_title() -> Problem:
    """The same words whether a title does not exist or is another desk's."""
    return Problem(
        NO_SUCH_TITLE,
        "No title of yours has this id: the address may not be whole. The list of titles shows those that you have.",
    )


def _last_of(store: Store, title: Title) -> str | None:
    """The inspection of the title's last file that may have a report to compare with."""
    kept = [row for _, row in store.titles.submissions(title.id) if row is not None]
    return next((row.id for row in reversed(kept) if row.state not in {"failed", "cancelled"}), None)


def _again(store: Store, kept: Inspection, title: Title) -> Inspection:
    try:
        with quota_refusals():
            return _kept_again(store, kept, title)
    except Missing:
        raise Problem(NO_SUCH_INSPECTION, "This file has just been deleted. Take it in again.") from None


def _kept_again(store: Store, kept: Inspection, title: Title) -> Inspection:
    profile, against = profile_of(title), _last_of(store, title)
    if kept.state == "done":
        row, _ = judge_again(store, kept, profile, title=title.title, against=against)
        return row
    new = NewInspection(
        id=new_inspection_id(),
        owner=kept.owner,
        file_name=kept.file_name,
        sha256=kept.sha256,
        bytes=kept.bytes,
        profile_id=profile.id,
        profile_json=profile.model_dump_json(),
        title=title.title,
        against=against,
        request_id=request_id(),
    )
    store.bytes.copy(file_key(kept.id), file_key(new.id))
    row = store.rows.create(new)
    queue.ring(row.id)
    return row


def noted(
    store: Store,
    row: Inspection,
    title: Title,
    by: str | None,
    link_id: str | None = None,
    most_a_day: int | None = None,
) -> Submission:
    """The submission of an inspection, which is deleted again where the title does not take it.

    One that is noted already stays the one that it is.
    """
    new = NewSubmission(row.id, row.sha256, row.file_name, row.bytes, by, link_id, most_a_day)
    try:
        with refusals():
            return store.titles.submit(title.id, title.owner, new)
    except Exception:
        store.rows.cancel(row.id, row.owner)
        store.delete(row.id, row.owner)
        raise
