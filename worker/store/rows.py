"""The row of an inspection, from intake to its end, as the caller and the worker see it.

A terminal state is final: every change names the states that it starts from (compare and set). What a worker writes
also names its attempt, so that one whose lease has lapsed cannot write over the one that took its place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import CursorResult, and_, delete, func, or_, select, tuple_, update
from sqlalchemy.orm import Session
from sqlalchemy.sql import ColumnElement

from worker.limits import Quota
from worker.settings import ATTEMPTS
from worker.store.callbacks import forget, set_off
from worker.store.cursor import cursor_after, place_of
from worker.store.database import Database
from worker.store.delivery import Delivery
from worker.store.idempotency import IdempotencyKey, take_key
from worker.store.models import RUNNING, TERMINAL, UNFINISHED, WAITING, Inspection, State, now
from worker.store.quotas import alone, take_place, take_room
from worker.store.share_model import Share
from worker.store.title_models import Arrival

MOST_ON_A_PAGE = 200


@dataclass(frozen=True)
class NewInspection:
    """What is known at intake. ``profile_json`` is the profile itself, as it is now."""

    id: str
    owner: str
    file_name: str
    sha256: str
    bytes: int
    profile_id: str
    profile_json: str
    title: str | None = None
    judged_as_pages: int | None = None
    against: str | None = None
    request_id: str | None = None
    file_expires_at: datetime | None = None
    """The day of a file that was kept before; None: it is new here."""
    file_deleted_at: datetime | None = None
    """Where there is no file any more, when it was deleted."""


@dataclass(frozen=True)
class Beside:
    """What is made with an inspection's row or not at all: the key that it takes, and the call that was asked for."""

    key: IdempotencyKey | None = None
    call: Delivery | None = None


@dataclass(frozen=True)
class DaysKept:
    """How long an inspection's row and report, its file, and its pictures and proof are kept; none beyond the row."""

    report: timedelta
    file: timedelta
    pictures: timedelta


@dataclass(frozen=True)
class Finished:
    """How an inspection ended well. ``title`` is the document's own; one given at intake goes before it."""

    verdict: str
    reader: str
    measured_at: datetime
    pages: int
    title: str | None = None


@dataclass(frozen=True)
class Failure:
    """Why there is no report: a stable ``code``, what happened, what to do, and the page (from 1) where known."""

    code: str
    message: str
    help: str
    page: int | None = None


DAY_CAME = Failure(
    code="file-gone",
    message="the day on which the file is deleted came before its turn did",
    help="Upload it again.",
)

WORN_OUT = Failure(
    code="worker-stopped",
    message="the file stopped the worker three times",
    help="Save the PDF again from the program that made it, and upload that. "
    "If it happens again, tell whoever runs this service.",
)


@dataclass(frozen=True)
class Page:
    """A part of a list, newest first; ``next`` is the cursor of the part after it, None at the end."""

    items: list[Inspection]
    next: str | None


class Rows:
    """All inspections. Methods are whole transactions and may be called from any thread."""

    def __init__(
        self, database: Database, *, kept: DaysKept | timedelta, lease: timedelta, quota: Quota | None = None
    ) -> None:
        """``kept`` is how long things stay, ``lease`` how long a worker may be silent before another takes over, and
        ``quota`` what one owner may have (None: as much as it likes)."""
        self._database = database
        self._kept = kept if isinstance(kept, DaysKept) else DaysKept(kept, kept, kept)
        self._lease = lease
        self._quota = quota

    # What the caller sees.

    def create(self, new: NewInspection, beside: Beside | None = None) -> Inspection:
        """A new row, queued. Its bytes must be durable by now.

        Raises :class:`KeyTaken` where its key is in force, and otherwise :class:`OverQuota`.
        """
        row, beside = self._row(new, "queued"), beside or Beside()
        with self._database.write() as session:
            alone(session, new.owner)
            if beside.key is not None:  # before the quota: what is sent again takes no place
                take_key(session, beside.key)
            take_place(session, new.owner, new.bytes, self._quota)
            session.add_all([row] if beside.call is None else [row, beside.call])
        return row

    def create_done(self, new: NewInspection, finished: Finished) -> Inspection:
        """A new row that is done: kept measurements judged again. Its objects must be durable by now.

        It waits for nobody and was not sent, so no more is asked than room for its file, where it has one. Raises
        :class:`OverQuota`.
        """
        row = self._row(new, "done")
        _finish(row, finished)
        with self._database.write() as session:
            take_room(session, new.owner, new.bytes if new.file_deleted_at is None else 0, self._quota)
            session.add(row)
        return row

    def get(self, inspection_id: str, owner: str | None = None) -> Inspection | None:
        """The row; None where there is none, or where it is not the owner's. ``owner`` None: anybody's."""
        with self._database.read() as session:
            return session.scalar(select(Inspection).where(_named(inspection_id, owner)))

    def page(
        self,
        owner: str,
        *,
        state: str | None = None,
        verdict: str | None = None,
        profile: str | None = None,
        title: str | None = None,
        after: str | None = None,
        size: int = 50,
    ) -> Page:
        """The owner's inspections, newest first. ``title`` is a part of the title or file name, in any letter case.

        ``after`` is a cursor from :class:`Page`; raises :class:`BadCursor` for any other text.
        """
        asked = [Inspection.owner == owner]
        asked += [Inspection.state == state] if state else []
        asked += [Inspection.verdict == verdict] if verdict else []
        asked += [Inspection.profile_id == profile] if profile else []
        if title:
            asked.append(func.coalesce(Inspection.title, Inspection.file_name).icontains(title, autoescape=True))
        if after:
            asked.append(tuple_(Inspection.created_at, Inspection.id) < tuple_(*place_of(after)))
        size = max(1, min(size, MOST_ON_A_PAGE))
        newest = select(Inspection).where(*asked).order_by(Inspection.created_at.desc(), Inspection.id.desc())
        with self._database.read() as session:
            found = list(session.scalars(newest.limit(size + 1)))
        return Page(found[:size], cursor_after(found[size - 1]) if len(found) > size else None)

    def position(self, row: Inspection) -> int | None:
        """Its place in the queue, from 1 (which is next); None unless it is queued."""
        if row.state != "queued":
            return None
        earlier = tuple_(Inspection.created_at, Inspection.id) < tuple_(row.created_at, row.id)
        with self._database.read() as session:
            return 1 + self._count(session, Inspection.state == "queued", earlier)

    def cancel(self, inspection_id: str, owner: str | None = None) -> Inspection | None:
        """Stop it, queued or running, and return its row; a state that is final stays. None: no such inspection."""
        with self._database.write() as session:
            ended = _set(
                session,
                and_(_named(inspection_id, owner), Inspection.state.in_(UNFINISHED)),
                state="cancelled",
                finished_at=now(),
                lease_until=None,
            )
            if ended:
                set_off(session, inspection_id)
            return session.scalar(select(Inspection).where(_named(inspection_id, owner)))

    def delete(self, inspection_id: str, owner: str | None = None) -> bool:
        """Take the row away, whatever its state; a worker that runs it notices. See ``Store.delete``.

        The name of its file goes from the delivery that it came by, unless it is a file of a title now, which keeps it.
        """
        with self._database.write() as session:
            row = session.scalar(select(Inspection).where(_named(inspection_id, owner)))
            if row is None:
                return False
            session.execute(delete(Share).where(Share.inspection == row.id))
            session.delete(row)
            session.flush()
            forget(session, inspection_id)
            nameless = update(Arrival).where(Arrival.inspection_id == inspection_id, Arrival.title_id.is_(None))
            session.execute(nameless.values(file_name=""))
            return True

    # What the worker does.

    def claim(self, inspection_id: str) -> Inspection | None:
        """Begin an attempt: the row with its new ``attempts``, and a lease; None where there is nothing to do.

        There is nothing to do for a row that is gone, final, or under another worker's lease. One that was begun
        often enough ends as failed here.
        """
        with self._database.write() as session:
            row = session.scalar(select(Inspection).where(_named(inspection_id)).with_for_update())
            if row is None or not _free(row):
                return None
            if row.attempts >= ATTEMPTS:
                _fail(session, row, WORN_OUT)
                return None
            row.state = "measuring"
            row.attempts += 1
            row.lease_until = now() + self._lease
            row.progress_done, row.progress_total = 0, None
            return row

    def renew(self, row: Inspection, *, done: int | None = None, total: int | None = None) -> bool:
        """Keep the lease of this attempt, and note its progress in pages; False where it is no longer its own."""
        values: dict[str, Any] = {"lease_until": now() + self._lease}
        if done is not None:
            values |= {"progress_done": done, "progress_total": total}
        return self._of_attempt(row, values)

    def judging(self, row: Inspection, reader: str, measured_at: datetime) -> bool:
        """The file is measured, its measurements durable; False where the attempt is no longer its own."""
        values = {"state": "judging", "reader": reader, "measured_at": measured_at}
        return self._of_attempt(row, values | {"lease_until": now() + self._lease})

    def finish(self, row: Inspection, finished: Finished) -> bool:
        """Done, all objects being durable; False where the attempt is no longer its own."""
        with self._database.write() as session:
            held = self._held(session, row)
            if held is not None:
                _finish(held, finished)
                set_off(session, held.id)
            return held is not None

    def fail(self, row: Inspection, failure: Failure) -> bool:
        """Ended without a report; False where the attempt is no longer its own."""
        with self._database.write() as session:
            held = self._held(session, row)
            if held is not None:
                _fail(session, held, failure)
            return held is not None

    def give_back(self, row: Inspection, *, counts: bool) -> bool:
        """Queued again. An attempt that ``counts`` waits a while for the next; one that does not, has never been."""
        values: dict[str, Any] = {"state": "queued", "lease_until": None, "rung_at": now()}
        if not counts:
            values |= {"attempts": row.attempts - 1, "rung_at": None}
        return self._of_attempt(row, values)

    def measured_before(self, sha256: str, reader: str) -> Inspection | None:
        """An inspection, anybody's, whose file has the same bytes and was measured by the same reader.

        Its measurements hold here too. It may be this very one, where an earlier attempt broke off after measuring.
        """
        same = and_(Inspection.sha256 == sha256, Inspection.reader == reader)
        newest = select(Inspection).where(same).order_by(Inspection.created_at.desc()).limit(1)
        with self._database.read() as session:
            return session.scalar(newest)

    # What the sweep asks.

    def queued(self) -> int:
        """How many wait."""
        with self._database.read() as session:
            return self._count(session, Inspection.state == "queued")

    def waiting(self, *, rung_before: datetime, most: int = 100) -> list[str]:
        """Claim the ringing for queued inspections last rung for before then; see :meth:`lapsed`."""
        return self._to_ring(Inspection.state == "queued", rung_before, most)

    def lapsed(self, *, rung_before: datetime, most: int = 100) -> list[str]:
        """Claim the ringing for running inspections whose worker has been silent for too long: their ids.

        Each is given to one caller only until as much time has passed again.
        """
        silent = and_(Inspection.state.in_(RUNNING), Inspection.lease_until < now())
        return self._to_ring(silent, rung_before, most)

    def expired(self, *, after: str = "", most: int = 100) -> list[str]:
        """The ids of inspections whose day has come and that no worker has in hand; in order, those after an id."""
        return self._ids(and_(_at_rest(), Inspection.expires_at <= now()), after, most)

    def file_expired(self, *, after: str = "", most: int = 100) -> list[str]:
        """The same of inspections whose file's day has come, and whose file is not known to be deleted."""
        day_came = and_(Inspection.file_deleted_at.is_(None), Inspection.file_expires_at <= now())
        return self._ids(and_(_at_rest(), day_came), after, most)

    def pictures_expired(self, *, after: str = "", most: int = 100) -> list[str]:
        """The same of inspections whose pictures' day has come."""
        day_came = and_(Inspection.pictures_deleted_at.is_(None), Inspection.pictures_expire_at <= now())
        return self._ids(and_(_at_rest(), day_came), after, most)

    def give_up_file(self, inspection_id: str) -> bool:
        """Before a file is deleted: an inspection that still waits for it ends as failed. False where a worker has just
        taken it up."""
        with self._database.write() as session:
            row = session.scalar(select(Inspection).where(_named(inspection_id), _at_rest()).with_for_update())
            if row is not None and not row.finished:
                _fail(session, row, DAY_CAME)
            return row is not None

    def note_deleted(self, inspection_id: str, *, file: bool = False, pictures: bool = False) -> None:
        """The file, or the pictures and the proof, are deleted."""
        values = {"file_deleted_at": now()} if file else {}
        values |= {"pictures_deleted_at": now()} if pictures else {}
        with self._database.write() as session:
            _set(session, _named(inspection_id), **values)

    def unknown(self, inspection_ids: Sequence[str]) -> list[str]:
        """Those of the ids that have no row."""
        with self._database.read() as session:
            known = set(session.scalars(select(Inspection.id).where(Inspection.id.in_(inspection_ids))))
        return [inspection_id for inspection_id in inspection_ids if inspection_id not in known]

    # How.

    def _row(self, new: NewInspection, state: State) -> Inspection:
        created, kept = now(), self._kept
        row = Inspection(
            **asdict(new),
            state=state,
            attempts=0,
            progress_done=0,
            created_at=created,
            expires_at=created + kept.report,
            pictures_expire_at=created + min(kept.pictures, kept.report),
        )
        row.file_expires_at = min(row.expires_at, new.file_expires_at or created + kept.file)
        return row

    def _ids(self, which: ColumnElement[bool], after: str, most: int) -> list[str]:
        wanted = select(Inspection.id).where(which, Inspection.id > after).order_by(Inspection.id).limit(most)
        with self._database.read() as session:
            return list(session.scalars(wanted))

    def _of_attempt(self, row: Inspection, values: dict[str, Any]) -> bool:
        with self._database.write() as session:
            return _set(session, _attempt(row), **values)

    def _to_ring(self, which: ColumnElement[bool], rung_before: datetime, most: int) -> list[str]:
        wanted = and_(which, func.coalesce(Inspection.rung_at, Inspection.created_at) <= rung_before)
        oldest = select(Inspection).where(wanted).order_by(Inspection.created_at).limit(most)
        with self._database.write() as session:
            rows = session.scalars(oldest.with_for_update(skip_locked=True)).all()
            for row in rows:
                row.rung_at = now()
            return [row.id for row in rows]

    def _held(self, session: Session, row: Inspection) -> Inspection | None:
        return session.scalar(select(Inspection).where(_attempt(row)).with_for_update())

    def _count(self, session: Session, *where: ColumnElement[bool]) -> int:
        return session.scalar(select(func.count()).select_from(Inspection).where(*where)) or 0


def _named(inspection_id: str, owner: str | None = None) -> ColumnElement[bool]:
    named = Inspection.id == inspection_id
    return named if owner is None else and_(named, Inspection.owner == owner)


def _at_rest() -> ColumnElement[bool]:
    """No worker has it in hand: it waits, or has ended, or the worker that had it has been silent for too long."""
    resting = Inspection.state.in_((*TERMINAL, *WAITING))
    return or_(resting, Inspection.lease_until.is_(None), Inspection.lease_until < now())


def _attempt(row: Inspection) -> ColumnElement[bool]:
    """The same row, still in the attempt that ``row`` was claimed for."""
    return and_(_named(row.id), Inspection.attempts == row.attempts, Inspection.state.in_(RUNNING))


def _set(session: Session, where: ColumnElement[bool], **values: Any) -> bool:
    result = session.execute(update(Inspection).where(where).values(**values))
    return isinstance(result, CursorResult) and result.rowcount == 1


def _free(row: Inspection) -> bool:
    """Whether a worker may begin: it waits, or the worker that had it has been silent for too long."""
    if row.state in RUNNING:
        return row.lease_until is None or row.lease_until < now()
    return row.state == "queued"


def _finish(row: Inspection, finished: Finished) -> None:
    row.state = "done"
    row.verdict = finished.verdict
    row.reader = finished.reader
    row.title = row.title or finished.title
    row.measured_at = finished.measured_at
    row.finished_at = now()
    row.progress_done = row.progress_total = finished.pages
    row.lease_until = None


def _fail(session: Session, row: Inspection, failure: Failure) -> None:
    row.state = "failed"
    row.failure = {**asdict(failure), "attempt": row.attempts}
    row.finished_at = now()
    row.lease_until = None
    set_off(session, row.id)
