"""The call of an inspection in words: whom it goes to, how its tries went, when the next one is due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.house import store
from worker.report.words import shown
from worker.store import Delivery, Inspection
from worker.store.models import now

__all__ = ["Call", "call_of"]

STATES = {
    "asked": "It is made once the inspection has ended",
    "waiting": "It is on its way",
    "delivered": "It was taken",
    "given-up": "It was given up",
}
SENDING = "It is being sent just now"
AGAIN = "It has not been taken yet"


@dataclass(frozen=True)
class Call:
    """A call in words. ``went`` says how the last try failed; empty where it did not, or one is on its way."""

    url: str
    state: str
    attempts: int
    last_at: datetime | None
    went: str
    next_at: datetime | None
    repeatable: bool


def call_of(row: Inspection) -> Call | None:
    """The call that was asked for with an inspection; None where none was."""
    found = store().callbacks.of_inspection(row.id)
    if found is None:
        return None
    sending = found.lease_until is not None and found.lease_until > now()
    return Call(
        url=shown(found.url),
        state=SENDING if sending else _state(found),
        attempts=found.attempts,
        last_at=found.last_at,
        went="" if sending else _went(found),
        next_at=found.next_at if found.state == "waiting" and found.attempts and not sending else None,
        repeatable=found.state != "asked" and not sending,
    )


def _state(found: Delivery) -> str:
    return AGAIN if found.state == "waiting" and found.attempts else STATES[found.state]


def _went(found: Delivery) -> str:
    if found.last_at is None or found.state == "delivered":
        return ""
    status = f"status {found.last_status}" if found.last_status is not None else ""
    return shown(", ".join(part for part in (status, found.last_problem or "") if part))
