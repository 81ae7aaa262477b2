"""What one owner may have: files at once, files a day, bytes of kept files.

A place is taken in the transaction that makes the row. In SQLite that one is the only writer; in PostgreSQL the owner
is locked first. So two files that come at once cannot both have the last place.

* at once: inspections that wait or are being measured;
* a day (UTC): files that were sent, also those that have been deleted since;
* bytes: uploaded files that are still kept, each inspection's own. Pictures and reports do not count.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from sqlalchemy import delete, func, select, text
from sqlalchemy.orm import Session

from worker.limits import Quota
from worker.store.database import Database
from worker.store.errors import OverQuota
from worker.store.intake_model import Intake
from worker.store.models import UNFINISHED, Inspection, now


@dataclass(frozen=True)
class Used:
    """What an owner has: files ``at_once``, files ``a_day`` (of the day that is), ``bytes`` of kept files."""

    at_once: int
    a_day: int
    bytes: int


class Quotas:
    """What every owner has. Methods are whole transactions and may be called from any thread."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def used(self, owner: str) -> Used:
        """What an owner has at this moment."""
        with self._database.read() as session:
            return _used(session, owner)

    def forget_past_days(self) -> None:
        """Drop the counts of days that are over."""
        with self._database.write() as session:
            session.execute(delete(Intake).where(Intake.day < today() - timedelta(days=1)))


def take_place(session: Session, owner: str, size: int, quota: Quota | None) -> None:
    """Count one more file of ``size`` bytes, in a transaction that writes. Raises :class:`OverQuota`."""
    alone(session, owner)
    if quota is not None:
        refuse_over(_used(session, owner), size, quota)
    counted = session.get(Intake, (owner, today()))
    if counted is None:
        session.add(Intake(owner=owner, day=today(), files=1))
    else:
        counted.files += 1


def take_room(session: Session, owner: str, size: int, quota: Quota | None) -> None:
    """See to it that there is room for ``size`` bytes more, in a transaction that writes. Raises :class:`OverQuota`."""
    if quota is not None and size:
        alone(session, owner)
        _refuse_bytes(_used(session, owner), size, quota)


def alone(session: Session, owner: str) -> None:
    """Until its end this transaction is the only one that takes places and keys of this owner."""
    if session.get_bind().dialect.name == "postgresql":
        session.execute(text("SELECT pg_advisory_xact_lock(hashtextextended(:owner, 0))"), {"owner": owner})


def refuse_over(used: Used, size: int, quota: Quota) -> None:
    """Raise :class:`OverQuota` where one more file of ``size`` bytes is more than an owner may have."""
    if used.at_once >= quota.at_once:
        raise OverQuota("at-once", used.at_once, quota.at_once)
    if used.a_day >= quota.a_day:
        raise OverQuota("a-day", used.a_day, quota.a_day)
    _refuse_bytes(used, size, quota)


def today() -> date:
    """The day that is, in UTC."""
    return now().date()


def next_day() -> datetime:
    """When the next day begins, in UTC."""
    return datetime.combine(today() + timedelta(days=1), datetime.min.time(), UTC)


def _refuse_bytes(used: Used, size: int, quota: Quota) -> None:
    if used.bytes + size > quota.bytes:
        raise OverQuota("bytes", used.bytes, quota.bytes)


def _used(session: Session, owner: str) -> Used:
    own = select(func.count()).select_from(Inspection).where(Inspection.owner == owner)
    kept = select(func.coalesce(func.sum(Inspection.bytes), 0)).where(
        Inspection.owner == owner, Inspection.file_deleted_at.is_(None)
    )
    sent = select(Intake.files).where(Intake.owner == owner, Intake.day == today())
    return Used(
        at_once=session.scalar(own.where(Inspection.state.in_(UNFINISHED))) or 0,
        a_day=session.scalar(sent) or 0,
        bytes=int(session.scalar(kept) or 0),
    )
