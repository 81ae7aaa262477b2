"""The pages' own words: states, verdicts, moments; the cards that the list and an inspection's page are set from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from worker.judge.models import Verdict
from worker.profiles import Profile
from worker.report.words import shown
from worker.store import Inspection
from worker.units import show_size
from worker.words import told

__all__ = ["CAUTION", "Card", "Progress", "card_of", "day", "failure_of", "moment", "progress_of"]

CAUTION = (
    "A report does not speak for the printer: the printer’s own guide governs. "
    "Order a physical proof before you pay for copies."
)

STATES = {
    "queued": "Waiting its turn",
    "measuring": "Measuring",
    "judging": "Judging",
    "failed": "No report",
    "cancelled": "Stopped",
}

WEIGHTS = {Verdict.PRESSWORTHY: "sound", Verdict.RESERVATIONS: "spoilage", Verdict.NOT_PRESSWORTHY: "refusal"}
"""The class of a verdict: the thickness of the line beside it, as beside the findings of a report."""


@dataclass(frozen=True)
class Card:
    """An inspection in words. ``weight`` is the class of its line; empty where there is no verdict."""

    id: str
    title: str
    given_title: str | None
    file_name: str
    size: str
    printer: str
    profile_id: str
    judged_as_pages: int | None
    state: str
    weight: str
    finished: bool
    done: bool
    created_at: datetime
    expires_at: datetime
    file_until: datetime
    pictures_until: datetime
    has_file: bool
    has_pictures: bool


@dataclass(frozen=True)
class Progress:
    """How far an inspection is. ``total`` is None until its pages are counted; ``note`` is said in a small hand."""

    state: str
    finished: bool
    sentence: str
    note: str
    done: int
    total: int | None


def card_of(row: Inspection) -> Card:
    """The card of a row; whatever came with the file loses what could turn the line about."""
    verdict = Verdict(row.verdict) if row.verdict else None
    return Card(
        id=row.id,
        title=shown(row.title or row.file_name),
        given_title=row.title,
        file_name=shown(row.file_name),
        size=show_size(row.bytes),
        printer=shown(Profile.model_validate_json(row.profile_json).name),
        profile_id=row.profile_id,
        judged_as_pages=row.judged_as_pages,
        state=told(f"verdict.{verdict.value}.heading") if verdict else STATES[row.state],
        weight=WEIGHTS[verdict] if verdict else "",
        finished=row.finished,
        done=row.state == "done",
        created_at=row.created_at,
        expires_at=row.expires_at,
        file_until=row.file_until,
        pictures_until=row.pictures_until,
        has_file=row.has_file,
        has_pictures=row.has_pictures,
    )


def progress_of(row: Inspection, *, position: int | None, queue_answers: bool) -> Progress:
    """How far ``row`` is; ``position`` is its place in the queue, from 1."""
    sentence, note = _told(row, position, queue_answers)
    return Progress(
        state=card_of(row).state,
        finished=row.finished,
        sentence=sentence,
        note=note,
        done=row.progress_done,
        total=row.progress_total,
    )


def failure_of(row: Inspection) -> tuple[str, str]:
    """Why a row that failed has no report, and what to do; both sentences."""
    failure = row.failure or {}
    what, page = str(failure.get("message", "")), failure.get("page")
    where = f" (page {page})" if page is not None and f"page {page}" not in what else ""
    return f"{what[:1].upper()}{what[1:]}{where}.", str(failure.get("help", ""))


def moment(time: datetime) -> str:
    """``25 November 2026, 11:52 UTC``."""
    return f"{day(time)}, {time:%H:%M} UTC"


def day(time: datetime) -> str:
    """``25 November 2026``."""
    return f"{time.day} {time:%B %Y}"


def _told(row: Inspection, position: int | None, queue_answers: bool) -> tuple[str, str]:
    if row.state == "queued":
        return _queued(position), "" if queue_answers else _QUEUE_AWAY
    if row.state == "measuring":
        return _measuring(row), _again(row.attempts)
    if row.state == "judging":
        return "Every page is measured, and is held against what the printer accepts.", _again(row.attempts)
    return "It has ended.", ""


_QUEUE_AWAY = "The queue does not answer at the moment. The file is kept, and its turn comes when the queue is back."


def _queued(position: int | None) -> str:
    if position is None or position <= 1:
        return "It is next."
    return f"It is number {position} in the queue."


def _measuring(row: Inspection) -> str:
    if row.progress_total is None:
        return "The file is being opened."
    return f"{row.progress_done} of {row.progress_total} pages are measured."


def _again(attempts: int) -> str:
    return f"Attempt {attempts}: the one before was broken off." if attempts > 1 else ""
