"""Which workers are alive: each says so at the broker every few seconds, and is forgotten once it no longer does.

One hash holds them all, by an id of their own, so that workers on many hosts need agree on nothing: the broker's own
clock says when each was heard.
"""

from __future__ import annotations

import json
import logging
import os
import secrets
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from typing import Any

from worker import queue

__all__ = ["AtWork", "Pulse", "workers_at_work"]

log = logging.getLogger(__name__)

KEY = "pressworthy:workers"
BEAT_SECONDS = 5.0
SILENT_SECONDS = 20
"""After so long without a word a worker is taken for gone."""


@dataclass(frozen=True)
class AtWork:
    """A worker: where it runs, how many inspections it takes side by side, how many it has, and how long it is up."""

    host: str
    process: int
    places: int
    taken: int
    since: int
    """Seconds since the epoch, by the broker's clock."""
    seen: int
    """The same, of its last word."""


class Pulse(threading.Thread):
    """Says that this worker is alive, until ``stopping`` is set, and then that it is gone."""

    def __init__(self, stopping: threading.Event, *, places: int) -> None:
        super().__init__(name="pulse", daemon=True)
        self._stopping = stopping
        self._places = places
        self._id = secrets.token_hex(8)
        self._since: int | None = None
        self._taken = 0
        self._counting = threading.Lock()

    @contextmanager
    def one_more(self) -> Iterator[None]:
        """An inspection is in hand for as long as this lasts."""
        self._count(1)
        try:
            yield
        finally:
            self._count(-1)

    def run(self) -> None:
        self._say()
        while not self._stopping.wait(BEAT_SECONDS):
            self._say()
        self._leave()

    def _count(self, more: int) -> None:
        with self._counting:
            self._taken += more

    def _say(self) -> None:
        try:
            with queue.broker() as client:
                seen = int(client.time()[0])
                self._since = self._since or seen
                me = AtWork(socket.gethostname(), os.getpid(), self._places, self._taken, self._since, seen)
                client.hset(KEY, self._id, json.dumps(asdict(me)))
        except queue.TROUBLE as error:
            log.debug("the broker does not hear that this worker is alive: %s", error)

    def _leave(self) -> None:
        try:
            with queue.broker() as client:
                client.hdel(KEY, self._id)
        except queue.TROUBLE:
            pass  # it is forgotten in a while


def workers_at_work() -> list[AtWork] | None:
    """Those that have been heard of lately, the longest at work first; None where the broker does not answer."""
    try:
        with queue.broker() as client:
            now, told = int(client.time()[0]), client.hgetall(KEY)
            found = {worker_id: _read(text) for worker_id, text in told.items()}
            gone = [worker_id for worker_id, each in found.items() if each is None or now - each.seen > SILENT_SECONDS]
            if gone:
                client.hdel(KEY, *gone)
    except queue.TROUBLE:
        return None
    at_work = [each for worker_id, each in found.items() if each is not None and worker_id not in gone]
    return sorted(at_work, key=lambda each: (each.since, each.host, each.process))


def _read(text: bytes | str) -> AtWork | None:
    """What a worker said; None where it is of another version, and makes no sense here."""
    try:
        told: dict[str, Any] = json.loads(text)
        return AtWork(**told)
    except (ValueError, TypeError):
        return None
