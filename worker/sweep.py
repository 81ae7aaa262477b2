"""The sweep: what a lost message, a killed worker or an emptied broker left behind is taken up again.

Every worker sweeps; the rows see to it that each inspection is rung for once.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from datetime import timedelta
from functools import partial

from worker import queue
from worker.store import Store
from worker.store.models import now

log = logging.getLogger(__name__)

BROKEN_OFF_EVERY = 3600.0


def ring_again(store: Store, *, waits_too_long: timedelta, rung_in_vain: timedelta) -> list[str]:
    """Ring for leases that have lapsed, and for inspections that wait while the broker has fewer messages than them.

    The first are rung for again after ``rung_in_vain``. A message is taken for lost after ``waits_too_long``. Returns
    the ids that were rung for. A broker that is away is waited for.
    """
    messages = queue.messages_waiting()
    if messages is None:
        return []
    overdue = store.rows.lapsed(rung_before=now() - rung_in_vain)
    if store.rows.queued() > messages:
        overdue += store.rows.waiting(rung_before=now() - waits_too_long)
    for inspection_id in overdue:
        log.info("%s: rung for again", inspection_id)
        queue.ring(inspection_id)
    return overdue


def delete_expired(store: Store, stopping: threading.Event | None = None) -> int:
    """Delete all whose day has come, however much there is: inspections, files, pictures and share links; how many.

    The bytes go before the row says so, and whatever breaks off is found again by the next sweep. Something that cannot
    be deleted holds up nothing else.
    """
    rows, steps = store.rows, 0
    for due, delete in (
        (rows.expired, store.expire),
        (rows.file_expired, store.expire_file),
        (rows.pictures_expired, store.expire_pictures),
    ):
        steps += _each(due, delete, stopping or threading.Event())
    store.shares.delete_expired()
    store.quotas.forget_past_days()
    store.forget()
    return steps


def _each(due: Callable[..., list[str]], delete: Callable[[str], None], stopping: threading.Event) -> int:
    """Delete what is due, a batch of ids at a time; how many were deleted."""
    last, deleted = "", 0
    while not stopping.is_set() and (batch := due(after=last)):
        last = batch[-1]
        for inspection_id in batch:
            try:
                delete(inspection_id)
                deleted += 1
            except Exception:  # the next sweep may fare better
                log.exception("%s: what was to be deleted is not", inspection_id)
    return deleted


class Sweep(threading.Thread):
    """Sweeps at once, and then several times in the length of a lease, until ``stopping`` is set."""

    def __init__(
        self,
        store: Store,
        stopping: threading.Event,
        *,
        lease_seconds: float,
        look_for_calls: Callable[[], None] = lambda: None,
        deliveries_kept: timedelta = timedelta(days=30),
    ) -> None:
        """``look_for_calls`` has the callbacks made that are due; it does not wait for them."""
        super().__init__(name="sweep", daemon=True)
        self._look_for_calls = look_for_calls
        self._store = store
        self._stopping = stopping
        self._lease_seconds = lease_seconds
        self._deliveries_kept = deliveries_kept
        self._broken_off_at: float | None = None

    def run(self) -> None:
        waits_too_long = timedelta(0)  # at the start whatever waits is rung for
        while not self._stopping.is_set():
            ring = partial(
                ring_again,
                self._store,
                waits_too_long=waits_too_long,
                rung_in_vain=timedelta(seconds=self._lease_seconds / 3),
            )
            for step in (
                self._look_for_calls,
                ring,
                partial(delete_expired, self._store, self._stopping),
                self._store.idempotency.forget_expired,
                self._forget_deliveries,
                self._delete_broken_off,
            ):
                try:
                    step()
                except Exception:  # the next sweep may fare better; without sweeps nothing would be taken up
                    log.exception("a sweep broke off")
            waits_too_long = timedelta(seconds=self._lease_seconds)
            self._stopping.wait(self._lease_seconds / 6)

    def _forget_deliveries(self) -> None:
        self._store.arrivals.forget(before=now() - self._deliveries_kept)

    def _delete_broken_off(self) -> None:
        last = self._broken_off_at
        if last is None or time.monotonic() - last > BROKEN_OFF_EVERY:
            self._broken_off_at = time.monotonic()
            self._store.delete_broken_off()
