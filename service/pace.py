"""How slowly a caller may send or read: nobody holds a thread for ever, and nobody on a slow line is cut off.

A bound on the whole time would either cut off a large book on a slow line or let a byte a second hold a thread for
hours. So a rate is asked for, after a grace: whoever sends may fall behind the least rate by so many seconds in all,
and catches up by sending faster; what was sent early buys no more than that. Only the time in which we wait for the
caller counts, whatever we do ourselves in between. Headers and bodies of every address are paced alike, and so is
whoever reads an answer.

A request begins without a thread (:mod:`service.anteroom`). Only so many threads wait for callers after that: uploads
have places of their own (:mod:`service.intake`), a few more wait for what is left of other bodies, and a share of all
for those who read. Beyond them a caller who is waited for is waited for two seconds, and no longer.
"""

from __future__ import annotations

import errno
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import Any, BinaryIO

from service.opening import Opening

__all__ = ["MOST_READERS", "MOST_STRAGGLERS", "Pace", "Paced", "TooSlow", "with_a_place", "within"]

MOST_STRAGGLERS = 4
"""Threads that wait for the rest of a body which is no upload's."""

MOST_READERS = 24
"""Threads that wait for whoever reads an answer."""

HURRIED_SECONDS = 2.0
"""How long a caller is waited for when as many threads wait as may."""

PIECE = 64 * 1024

_stragglers = threading.BoundedSemaphore(MOST_STRAGGLERS)
_readers = threading.BoundedSemaphore(MOST_READERS)


class TooSlow(Exception):
    """A caller has fallen behind; the message says how slow that is, and what to do."""


@dataclass(frozen=True)
class Pace:
    """``rate`` in bytes a second, behind which a caller may fall by ``grace`` seconds."""

    rate: int
    grace: int


class Paced:
    """A connection to a caller who keeps up, or is let go of; in all else it is the socket itself."""

    def __init__(self, connection: socket.socket, pace: Pace) -> None:
        self._connection = connection
        self._pace = pace
        self._opening = Opening()
        self._ended = False
        self._since = time.monotonic()
        self._behind = 0.0
        self._behind_reading = 0.0
        self._set: float | None = None
        self._until: float | None = None
        self.has_a_place = False
        """Whether its caller has one of the places of uploads."""

    def __getattr__(self, name: str) -> Any:
        return getattr(self._connection, name)

    def begin(self, come: bytes = b"") -> None:
        """A new request, of which this has ``come`` with the one before: whatever was owed is forgotten."""
        self._behind = self._behind_reading = 0.0
        self._since = time.monotonic()
        self._opening.add(come)

    @property
    def begun(self) -> bool:
        """Whether anything of the request has come."""
        return len(self._opening) > 0

    @property
    def ready(self) -> bool:
        """Whether a thread can take the request up; also where its caller has gone, or has fallen behind."""
        return self._opening.whole or self._ended or self._owed() > self._pace.grace

    def waited(self) -> float:
        """Seconds since something came."""
        return time.monotonic() - self._since

    def take_in(self) -> None:
        """Take what has come of a request, without waiting for it."""
        self._connection.settimeout(0)
        try:
            piece = self._connection.recv(PIECE)
        except BlockingIOError:
            return
        except OSError:
            piece = b""
        self._behind = max(0.0, self._owed() - len(piece) / self._pace.rate)
        self._since = time.monotonic()
        self._ended = not piece
        self._opening.add(piece)

    def pass_over(self) -> bool:
        """Let go of what has come, without waiting for it; whether the caller is still there."""
        self._connection.settimeout(0)
        try:
            return self._connection.recv(PIECE) != b""
        except BlockingIOError:
            return True
        except OSError:
            return False

    def take_up(self) -> None:
        """A thread takes the request up; what is owed so far stays owed."""
        self._behind = self._owed()

    def settimeout(self, seconds: float | None) -> None:
        """All that is read from here on has to come within so long altogether; None: as the pace allows."""
        self._set = seconds
        self._until = None if seconds is None else time.monotonic() + seconds
        self._connection.settimeout(seconds)

    def gettimeout(self) -> float | None:
        """What was set."""
        return self._set

    def setblocking(self, flag: bool) -> None:
        """As a socket understands it."""
        self.settimeout(None if flag else 0.0)

    def recv(self, size: int, flags: int = 0) -> bytes:
        """What comes next; first, all at once, what came before a thread took the request up.

        Raises :class:`TooSlow`, and ``TimeoutError`` past the time that was set.
        """
        if self.begun:
            return self._opening.take()
        if self._ended:
            return b""
        began = time.monotonic()
        if self._until is not None and began >= self._until:
            raise TimeoutError("timed out")
        self._connection.settimeout(0)
        with suppress(BlockingIOError):
            return self._counted(self._connection.recv(size, flags), 0.0)
        with _place(None if self.has_a_place else _stragglers) as granted:
            piece = self._waited_for(size, flags, began, granted)
        return self._counted(piece, time.monotonic() - began)

    def sendall(self, data: bytes, flags: int = 0) -> None:
        """Send it all; whoever takes it too slowly is taken to have gone."""
        rest = memoryview(data).cast("B")
        while rest:
            rest = rest[self._taken(rest, flags) :]

    def sendfile(self, file: BinaryIO, offset: int = 0, count: int | None = None) -> int:
        """Send a file, or ``count`` bytes of it, as :meth:`sendall` does; how many were sent."""
        file.seek(offset)
        sent = 0
        while piece := file.read(PIECE if count is None else min(PIECE, count - sent)):
            self.sendall(piece)
            sent += len(piece)
        return sent

    def _owed(self) -> float:
        """How far the caller is behind with a request that no thread has taken up."""
        return self._behind + self.waited()

    def _counted(self, piece: bytes, seconds: float) -> bytes:
        self._behind = max(0.0, self._behind + seconds - len(piece) / self._pace.rate)
        return piece

    def _patience(self, behind: float, granted: bool) -> float:
        return (self._pace.grace if granted else min(HURRIED_SECONDS, self._pace.grace)) - behind

    def _waited_for(self, size: int, flags: int, began: float, granted: bool) -> bytes:
        patience = self._patience(self._behind, granted)
        if self._until is not None:
            patience = min(patience, self._until - began)
        if patience > 0:
            self._connection.settimeout(patience)
            try:
                return self._connection.recv(size, flags)
            except TimeoutError:
                pass
        if self._until is not None:
            raise TimeoutError("timed out")
        raise TooSlow(
            f"What was sent came more than {self._pace.grace} seconds behind {self._pace.rate} bytes a second, "
            "the slowest that is waited for. Send it again over a steadier line."
        )

    def _taken(self, data: memoryview, flags: int) -> int:
        """How much of it was taken. One who has no place keeps no rate: all the waiting for it counts."""
        self._connection.settimeout(0)
        with suppress(BlockingIOError):
            return self._connection.send(data, flags)
        began = time.monotonic()
        with _place(_readers) as granted:
            patience = self._patience(self._behind_reading, granted)
            if patience <= 0:
                raise BrokenPipeError(errno.EPIPE, "the caller reads too slowly")
            self._connection.settimeout(patience)
            try:
                taken = self._connection.send(data, flags)
            except TimeoutError:
                raise BrokenPipeError(errno.EPIPE, "the caller reads too slowly") from None
        worth = taken / self._pace.rate if granted else 0.0
        self._behind_reading = max(0.0, self._behind_reading + time.monotonic() - began - worth)
        return taken


@contextmanager
def _place(places: threading.BoundedSemaphore | None) -> Iterator[bool]:
    """Whether there is one of these ``places`` left, for as long as it is needed; None: they are not counted here."""
    granted = places is None or places.acquire(blocking=False)
    try:
        yield granted
    finally:
        if places is not None and granted:
            places.release()


@contextmanager
def with_a_place(connection: Paced | None) -> Iterator[None]:
    """In here the caller has a place that was counted elsewhere."""
    if connection is None:
        yield
        return
    connection.has_a_place = True
    try:
        yield
    finally:
        connection.has_a_place = False


@contextmanager
def within(seconds: float, connection: Paced | None) -> Iterator[None]:
    """All that is read in here has to come within so long; the pace holds again afterwards."""
    if connection is None:
        yield
        return
    connection.settimeout(seconds)
    try:
        yield
    finally:
        connection.settimeout(None)
