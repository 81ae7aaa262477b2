"""How the service stands, for whoever runs it: the queue, the workers, what is kept, and how inspections ended."""

from __future__ import annotations

from collections import Counter
from datetime import datetime, timedelta
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from worker.pulse import workers_at_work
from worker.queue import messages_waiting
from worker.store import Store
from worker.store.models import now

__all__ = ["EndedSince", "Kept", "Queue", "Standing", "WorkerSeen", "standing_of"]

DAY, WEEK = timedelta(days=1), timedelta(days=7)


class _Told(BaseModel):
    model_config = ConfigDict(frozen=True)


class Queue(_Told):
    """What waits and what runs. ``messages`` is the broker's count, None where it does not answer."""

    waiting: int
    oldest_seconds: float | None
    running: int
    messages: int | None


class WorkerSeen(_Told):
    """A worker that is alive: how many inspections it takes side by side (``places``), and how many it has."""

    host: str
    process: int
    places: int
    taken: int
    since: datetime
    seen_seconds_ago: int


class Kept(_Told):
    """What is kept. ``bytes_free`` is None in a bucket."""

    inspections: int
    objects: int
    bytes: int
    bytes_free: int | None


class EndedSince(_Told):
    """How inspections ended, of those that are still kept: by verdict, by the code of their failure, cancelled."""

    since: datetime
    verdicts: dict[str, int]
    failures: dict[str, int]
    cancelled: int


class Standing(_Told):
    """How the service stands. ``workers`` is None where the broker does not answer."""

    schema_: Literal["pressworthy.standing/1"] = Field("pressworthy.standing/1", alias="schema")
    at: datetime
    queue: Queue
    workers: tuple[WorkerSeen, ...] | None
    kept: Kept
    last_day: EndedSince
    last_week: EndedSince


def standing_of(store: Store) -> Standing:
    """Look everything up. Raises what the database raises; a broker that is away is said to be."""
    at = now()
    return Standing(
        at=at,
        queue=queue_of(store, at),
        workers=workers_of(at),
        kept=kept_of(store),
        last_day=ended_since(store, at - DAY),
        last_week=ended_since(store, at - WEEK),
    )


def queue_of(store: Store, at: datetime) -> Queue:
    """The queue at that moment."""
    queued = store.overview.queued()
    waits = None if queued.oldest is None else max(0.0, round((at - queued.oldest).total_seconds(), 1))
    return Queue(waiting=queued.waiting, oldest_seconds=waits, running=queued.running, messages=messages_waiting())


def workers_of(at: datetime) -> tuple[WorkerSeen, ...] | None:
    """The workers that are alive; None where the broker does not answer."""
    found = workers_at_work()
    if found is None:
        return None
    return tuple(
        WorkerSeen(
            host=each.host,
            process=each.process,
            places=each.places,
            taken=each.taken,
            since=datetime.fromtimestamp(each.since, at.tzinfo),
            seen_seconds_ago=max(0, int(at.timestamp()) - each.seen),
        )
        for each in found
    )


def kept_of(store: Store) -> Kept:
    """What is kept. It looks at every object: not to be asked many times a minute."""
    usage = store.bytes.usage()
    return Kept(inspections=store.overview.kept(), objects=usage.objects, bytes=usage.bytes, bytes_free=usage.free)


def ended_since(store: Store, since: datetime) -> EndedSince:
    """How inspections have ended since then."""
    verdicts, failures, cancelled = Counter[str](), Counter[str](), 0
    for each in store.overview.ended(since=since):
        if each.state == "cancelled":
            cancelled += each.count
        elif each.state == "failed":
            failures[each.failure or "unknown"] += each.count
        else:
            verdicts[each.verdict or "unknown"] += each.count
    return EndedSince(since=since, verdicts=dict(verdicts), failures=dict(failures), cancelled=cancelled)
