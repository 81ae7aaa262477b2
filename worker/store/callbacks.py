"""The callbacks that were asked for, and the tries at them.

A delivery is written down with its inspection. The transaction in which that ends, in whatever way, makes it due
(:func:`set_off`), so that none is lost and none is made up. A try is claimed by a lease, as an inspection is: two
workers never make the same one, and one that was killed in the middle counts as a try that failed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from random import SystemRandom

from sqlalchemy import ColumnElement, and_, delete, func, or_, select, update
from sqlalchemy.orm import Session

from worker.store.database import Database
from worker.store.delivery import Delivery
from worker.store.models import Inspection, new_id, now

LEASE = timedelta(seconds=60)
"""How long a try may be silent: far longer than the sender gives it."""

MOST_AT_ONCE = 2
"""Tries at a time for one owner, about: slow receivers of one do not hold up the calls of others."""

SPREAD = 0.1
"""A wait is drawn out by up to so much of it, so that calls which failed together do not all come back together."""

BROKEN_OFF = "the try broke off: its worker stopped"

_random = SystemRandom()

Compose = Callable[[Inspection], str]
"""What is said of an inspection that has ended."""


class Callbacks:
    """All deliveries. Methods are whole transactions and may be called from any thread."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def of_inspection(self, inspection_id: str) -> Delivery | None:
        """The call that was asked for with it; None where none was."""
        with self._database.read() as session:
            return session.scalar(select(Delivery).where(Delivery.inspection_id == inspection_id))

    def claim(self, compose: Compose, *, most: int) -> Delivery | None:
        """Begin the try that has been due for longest; None where none is due.

        ``most`` is the number of tries in a series. One whose last try broke off ends here as given up.
        """
        with self._database.read() as session:  # most of the time there is none, and nobody has to wait for the writer
            if session.scalar(select(Delivery.id).where(_due()).limit(1)) is None:
                return None
        with self._database.write() as session:
            while (found := self._next(session)) is not None:
                if _begin(session, found, compose, most):
                    return found
                session.flush()
        return None

    def settle(
        self,
        claimed: Delivery,
        *,
        waits: Sequence[int],
        status: int | None,
        problem: str | None,
        taken: bool,
        unwanted: bool,
    ) -> Delivery | None:
        """Write down how a try ended, and when the next one is due: after the wait of its place in the series.

        ``waits`` are seconds. None where the try is no longer this worker's, or its inspection is gone.
        """
        with self._database.write() as session:
            held = session.scalar(select(Delivery).where(_same_try(claimed)).with_for_update())
            if held is None:
                return None
            tried = held.attempts - held.series_from
            held.lease_until = held.next_at = None
            held.last_status, held.last_problem = status, problem
            if taken:
                held.state, held.delivered_at = "delivered", now()
            elif unwanted or tried > len(waits):
                held.state = "given-up"
            else:
                held.next_at = now() + _drawn_out(waits[tried - 1])
            return held

    def repeat(self, inspection_id: str) -> bool:
        """Begin a new series of tries, at once. False where a try is being made, or the inspection has not ended."""
        with self._database.write() as session:
            found = session.scalar(select(Delivery).where(Delivery.inspection_id == inspection_id).with_for_update())
            if found is None or found.state == "asked" or _leased(found):
                return False
            found.state, found.next_at, found.lease_until = "waiting", now(), None
            found.series_from = found.attempts
            return True

    def _next(self, session: Session) -> Delivery | None:
        """The next one that is due, locked; owners with many tries on the way wait for these."""
        busy = (
            select(Delivery.owner)
            .where(Delivery.state == "waiting", Delivery.lease_until > now())
            .group_by(Delivery.owner)
            .having(func.count() >= MOST_AT_ONCE)
        )
        first = select(Delivery).where(_due(), Delivery.owner.not_in(busy)).order_by(Delivery.next_at).limit(1)
        return session.scalar(first.with_for_update(skip_locked=True))


def asked_for(inspection_id: str, *, owner: str, signer: str, key_mark: str, url: str) -> Delivery:
    """A new row, to be written in the transaction that makes its inspection."""
    return Delivery(
        id=new_id("dlv_"),
        inspection_id=inspection_id,
        owner=owner,
        signer=signer,
        key_mark=key_mark,
        url=url,
        state="asked",
        attempts=0,
        series_from=0,
        created_at=now(),
    )


def set_off(session: Session, inspection_id: str) -> None:
    """The call for an inspection that has just ended, if one was asked for, is due: in the transaction of its end."""
    asked = and_(Delivery.inspection_id == inspection_id, Delivery.state == "asked")
    session.execute(update(Delivery).where(asked).values(state="waiting", next_at=now()))


def forget(session: Session, inspection_id: str) -> None:
    """No call goes out for an inspection that is deleted: in the transaction of its deletion, after its row."""
    session.execute(delete(Delivery).where(Delivery.inspection_id == inspection_id))


def _begin(session: Session, found: Delivery, compose: Compose, most: int) -> bool:
    """Make it this worker's; False where no try is left, or there is nothing to tell of any more."""
    inspection = session.get(Inspection, found.inspection_id)
    if inspection is None:
        session.delete(found)
        return False
    if found.attempts - found.series_from >= most:
        found.state, found.next_at, found.lease_until = "given-up", None, None
        found.last_problem = BROKEN_OFF
        return False
    found.body = found.body or compose(inspection)
    found.attempts += 1
    found.last_at, found.lease_until = now(), now() + LEASE
    found.last_status, found.last_problem = None, BROKEN_OFF  # until it is settled
    return True


def _due() -> ColumnElement[bool]:
    moment: datetime = now()
    free = or_(Delivery.lease_until.is_(None), Delivery.lease_until < moment)
    return and_(Delivery.state == "waiting", Delivery.next_at <= moment, free)


def _same_try(claimed: Delivery) -> ColumnElement[bool]:
    return and_(Delivery.id == claimed.id, Delivery.attempts == claimed.attempts, Delivery.state == "waiting")


def _leased(delivery: Delivery) -> bool:
    return delivery.lease_until is not None and delivery.lease_until > now()


def _drawn_out(seconds: int) -> timedelta:
    return timedelta(seconds=seconds * (1 + SPREAD * _random.random()))
