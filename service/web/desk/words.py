"""The desk's own words: where a title stands, what its files came to; the cards that its pages are set from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from service.desk.printing import profile_of
from service.problems import Problem
from service.web.words import STATES, WEIGHTS
from worker.judge.models import Verdict
from worker.report.words import shown, so_many_pages
from worker.store import Inspection, Listed, Submission, Title
from worker.units import show_size
from worker.words import told

__all__ = ["STANDINGS", "FileCard", "TitleCard", "earlier_pass", "file_card", "listed_card", "title_card"]

STANDINGS = {
    "to-be-looked-at": "To be looked at",
    "waiting-for-author": "Waiting for the author",
    "passed": "Passed for press",
    "withdrawn": "Withdrawn",
}


@dataclass(frozen=True)
class FileCard:
    """A file of a title in words. ``weight`` is the class of its line; ``kept``: its report can still be read."""

    number: int
    file_name: str
    size: str
    sha256: str
    received_at: datetime
    came: str
    inspection_id: str
    state: str
    weight: str
    pages: str
    kept: bool
    done: bool
    finished: bool
    passed_at: datetime | None
    passed_by: str


@dataclass(frozen=True)
class TitleCard:
    """A title in words; ``last`` is its last file. ``printer`` is empty where there is no such printer any more."""

    id: str
    title: str
    author: str
    isbn: str
    printer: str
    trim: str
    expected_pages: int | None
    note: str
    standing: str
    standing_words: str
    submissions: int
    touched_at: datetime
    last: FileCard | None

    @property
    def facts(self) -> str:
        """What is agreed on, in a line."""
        parts = [
            f"ISBN {self.isbn}" if self.isbn else "No ISBN yet",
            self.printer or "its printer is no longer there: choose another",
            f"{so_many_pages(self.expected_pages)} expected" if self.expected_pages else "",
        ]
        return " · ".join(part for part in parts if part)


def title_card(title: Title, last: FileCard | None = None) -> TitleCard:
    """The card of a title."""
    return TitleCard(
        id=title.id,
        title=shown(title.title),
        author=shown(title.author),
        isbn=title.isbn or "",
        printer=_printer(title),
        trim=title.trim or "",
        expected_pages=title.expected_pages,
        note=title.note,
        standing=title.standing,
        standing_words=STANDINGS[title.standing],
        submissions=title.submissions,
        touched_at=title.touched_at,
        last=last,
    )


def listed_card(listed: Listed) -> TitleCard:
    """The card of a title in a list."""
    last = file_card(listed.submission, listed.inspection) if listed.submission is not None else None
    return title_card(listed.title, last)


def file_card(submission: Submission, row: Inspection | None) -> FileCard:
    """The card of a file; ``row`` is its inspection, as long as that is kept."""
    verdict = row.verdict if row is not None else submission.verdict
    pages = row.progress_total if row is not None and row.state == "done" else submission.pages
    return FileCard(
        number=submission.number,
        file_name=shown(submission.file_name),
        size=show_size(submission.bytes),
        sha256=submission.sha256,
        received_at=submission.received_at,
        came=_came(submission),
        inspection_id=submission.inspection_id,
        state=_state(verdict, row),
        weight=WEIGHTS[Verdict(verdict)] if verdict else "",
        pages=so_many_pages(pages) if pages else "",
        kept=row is not None,
        done=row is not None and row.state == "done",
        finished=row is None or row.finished,
        passed_at=submission.passed_at,
        passed_by=shown(submission.passed_by or ""),
    )


def earlier_pass(files: Sequence[FileCard]) -> FileCard | None:
    """The last of a title's files, its very last apart, that was passed for press."""
    return next((file for file in reversed(files[:-1]) if file.passed_at is not None), None)


def _state(verdict: str | None, row: Inspection | None) -> str:
    if verdict:
        return told(f"verdict.{Verdict(verdict).value}.heading")
    return STATES[row.state] if row is not None else "Deleted before there was a report"


def _came(submission: Submission) -> str:
    if submission.link_id is not None:
        return "by the author’s link"
    return f"at the desk, {shown(submission.received_by)}" if submission.received_by else "at the desk"


def _printer(title: Title) -> str:
    try:
        return shown(profile_of(title).name)
    except Problem:
        return ""
