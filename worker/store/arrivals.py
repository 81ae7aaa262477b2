"""Deliveries: several files that came in at once, what became of each, and those that have no title yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime

from sqlalchemy import delete, select
from sqlalchemy.sql import ColumnElement

from worker.store.database import Database
from worker.store.models import Inspection, new_id, now
from worker.store.title_models import Arrival


@dataclass(frozen=True)
class NewArrival:
    """What became of one file: it was refused, or is an inspection, or is that and a submission of a title."""

    file_name: str
    refusal: str | None = None
    inspection_id: str | None = None
    title_id: str | None = None
    number: int | None = None
    how: str | None = None


class Arrivals:
    """All arrivals. Methods are whole transactions and may be called from any thread."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def note(self, owner: str, arrived: Sequence[NewArrival]) -> str:
        """Note a delivery; its id."""
        delivery, received_at = new_id("del_"), now()
        with self._database.write() as session:
            for place, each in enumerate(arrived, start=1):
                row = Arrival(
                    id=new_id("arr_"),
                    owner=owner,
                    delivery=delivery,
                    place=place,
                    received_at=received_at,
                    **asdict(each),
                )
                session.add(row)
        return delivery

    def of_delivery(self, delivery: str, owner: str) -> list[Arrival]:
        """The files of the owner's delivery, in their order; none where there is no such delivery."""
        return self._all(Arrival.delivery == delivery, Arrival.owner == owner)

    def without_title(self, owner: str) -> list[Arrival]:
        """The files that are kept and have no title yet, the oldest first."""
        kept = select(Inspection.id).where(Inspection.owner == owner)
        return self._all(Arrival.owner == owner, Arrival.title_id.is_(None), Arrival.inspection_id.in_(kept))

    def get(self, arrival_id: str, owner: str) -> Arrival | None:
        """The owner's arrival of that id."""
        with self._database.read() as session:
            return session.scalar(select(Arrival).where(Arrival.id == arrival_id, Arrival.owner == owner))

    def claim(self, arrival_id: str, owner: str, title_id: str) -> Arrival | None:
        """Give an arrival to a title, one of them alone; None where it is gone, refused, or with a title already."""
        with self._database.write() as session:
            which = select(Arrival).where(Arrival.id == arrival_id, Arrival.owner == owner).with_for_update()
            row = session.scalar(which)
            if row is None or row.title_id is not None or row.inspection_id is None:
                return None
            row.title_id = title_id
            return row

    def settle(self, arrival_id: str, *, inspection_id: str, number: int, how: str) -> None:
        """Note which submission a claimed arrival has become."""
        with self._database.write() as session:
            row = session.get(Arrival, arrival_id)
            if row is not None:
                row.inspection_id, row.number, row.how = inspection_id, number, how

    def let_go(self, arrival_id: str) -> None:
        """Give back an arrival that was claimed, and has not become a submission."""
        with self._database.write() as session:
            row = session.get(Arrival, arrival_id)
            if row is not None and row.number is None:
                row.title_id = None

    def forget(self, *, before: datetime) -> None:
        """Forget the deliveries from before then; their files have days of their own."""
        with self._database.write() as session:
            session.execute(delete(Arrival).where(Arrival.received_at < before))

    def _all(self, *which: ColumnElement[bool]) -> list[Arrival]:
        in_order = select(Arrival).where(*which).order_by(Arrival.received_at, Arrival.delivery, Arrival.place)
        with self._database.read() as session:
            return list(session.scalars(in_order))
