"""A long book read by two processes side by side: this one its first pages, a twin of it the others.

The twin is forked from the fenced child before the file is opened, and lives within the same fence. Both get half of
the memory. Sharing is only for speed: whatever goes wrong in it, one process reads the whole with all of the memory,
and what that says counts.
"""

from __future__ import annotations

import mmap
import os
import pickle
import resource
import select
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from worker.measure import whereabouts
from worker.measure.gathered import Gathered
from worker.measure.limits import LimitReached

_GLANCE_SECONDS = 0.1
_PIECE = 1 << 16

Note = Callable[[int], None]
"""Told how many pages are read so far."""
Work = Callable[[Note], Gathered]


class Lost(Exception):
    """The twin ended without a word, or for want of memory."""


class Twin:
    """A process that does ``work`` and hands over what it gathered."""

    def __init__(self, work: Work) -> None:
        self._count = mmap.mmap(-1, 8)
        self._pipe, write_end = os.pipe()
        sys.stdout.flush()
        self._pid = os.fork()
        if not self._pid:
            whereabouts.note_no_more()
            _be_the_twin(work, write_end, self._count)
        os.close(write_end)

    @property
    def done(self) -> int:
        """How many pages it has read."""
        return int.from_bytes(self._count[:8], "little")

    def result(self, glance: Callable[[], None]) -> Gathered:
        """Wait for what it gathered; ``glance`` is called now and then. Raises ``LimitReached`` and :class:`Lost`."""
        pieces = []
        while True:
            if not select.select([self._pipe], [], [], _GLANCE_SECONDS)[0]:
                glance()
                continue
            piece = os.read(self._pipe, _PIECE)
            if not piece:
                break
            pieces.append(piece)
        try:
            answer: Any = pickle.loads(b"".join(pieces))  # noqa: S301 - it is this very process, within the same fence
        except (EOFError, pickle.UnpicklingError) as error:
            raise Lost from error
        if isinstance(answer, LimitReached):
            raise answer
        if not isinstance(answer, Gathered):
            raise Lost
        return answer

    def stop(self) -> None:
        """End it, whatever it is at."""
        os.close(self._pipe)
        os.kill(self._pid, signal.SIGKILL)
        os.waitpid(self._pid, 0)


def _be_the_twin(work: Work, write_end: int, count: mmap.mmap) -> None:
    """Work, hand over, and end without what Python does at its end: that is the other one's business."""

    def note(done: int) -> None:
        count[:8] = done.to_bytes(8, "little")

    answer: object = None
    try:
        answer = work(note)
    except LimitReached as crossed:
        answer = crossed
    except BaseException:
        answer = None
    try:
        with os.fdopen(write_end, "wb") as pipe:
            pickle.dump(answer, pipe, protocol=pickle.HIGHEST_PROTOCOL)
    finally:
        os._exit(0)


@contextmanager
def half_the_memory() -> Iterator[None]:
    """This process, and one that it forks meanwhile, may use half of the address space each."""
    soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    if soft == resource.RLIM_INFINITY:
        yield
        return
    resource.setrlimit(resource.RLIMIT_AS, (soft // 2, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_AS, (soft, hard))


def cores() -> int:
    """How many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
