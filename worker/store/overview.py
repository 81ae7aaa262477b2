"""The rows as whoever runs the service looks at them: how many wait, how inspections ended. No book is named."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select

from worker.store.database import Database
from worker.store.models import RUNNING, TERMINAL, Inspection

__all__ = ["Ended", "Overview", "Queued"]


@dataclass(frozen=True)
class Queued:
    """How many inspections wait, since when the first of them does, and how many are being measured or judged."""

    waiting: int
    oldest: datetime | None
    running: int


@dataclass(frozen=True)
class Ended:
    """So many inspections ended so: ``verdict`` where one was done, ``failure`` (its code) where it failed."""

    state: str
    verdict: str | None
    failure: str | None
    count: int


class Overview:
    """Counts of rows, whoever they belong to. Methods are whole transactions and may be called from any thread."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def queued(self) -> Queued:
        """The queue as it is now."""
        waits = select(func.count(), func.min(Inspection.created_at)).where(Inspection.state == "queued")
        runs = select(func.count()).select_from(Inspection).where(Inspection.state.in_(RUNNING))
        with self._database.read() as session:
            waiting, oldest = session.execute(waits).one()
            return Queued(waiting, oldest, session.scalar(runs) or 0)

    def ended(self, *, since: datetime) -> list[Ended]:
        """How inspections have ended since then, of those that are still kept."""
        code = Inspection.failure["code"].as_string()
        kinds = (Inspection.state, Inspection.verdict, code)
        ended = Inspection.state.in_(TERMINAL) & (Inspection.finished_at >= since)
        with self._database.read() as session:
            found = session.execute(select(*kinds, func.count()).where(ended).group_by(*kinds).order_by(*kinds[:2]))
            return [Ended(*each) for each in found.all()]

    def kept(self) -> int:
        """How many inspections are kept, whatever their state."""
        with self._database.read() as session:
            return session.scalar(select(func.count()).select_from(Inspection)) or 0
