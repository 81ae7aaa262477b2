"""How slowly a caller may send or read: nobody holds a thread for ever, and nobody on a slow line is cut off.

A bound on the whole time would either cut off a large book on a slow line or let a byte a second hold a thread for
hours. So a rate is asked for, after a grace: whoever sends may fall behind the least rate by so many seconds in all,
and catches up by sending faster; what was sent early buys no more than that. Only the time in which we wait for the
caller counts, whatever we do ourselves in between. Headers and bodies of every address are paced alike.
"""

from __future__ import annotations

import errno
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

__all__ = ["Pace", "Paced", "TooSlow", "within"]


class TooSlow(Exception):
    """A caller has fallen behind; the message says how slow that is, and what to do."""


@dataclass(frozen=True)
class Pace:
    """``rate`` in bytes a second, behind which a caller may fall by ``grace`` seconds."""

    rate: int
    grace: int

    def allowance(self, size: int) -> float:
        """Seconds that so many bytes may take."""
        return self.grace + size / self.rate


class Paced:
    """A connection to a caller who keeps up, or is let go of; in all else it is the socket itself."""

    def __init__(self, connection: socket.socket, pace: Pace) -> None:
        self._connection = connection
        self._pace = pace
        self._behind = 0.0
        self._set: float | None = None
        self._until: float | None = None

    def __getattr__(self, name: str) -> Any:
        return getattr(self._connection, name)

    def begin(self) -> None:
        """A new request: whatever was owed is forgotten."""
        self._behind = 0.0

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
        """What comes next. Raises :class:`TooSlow`, and ``TimeoutError`` past the time that was set."""
        began = time.monotonic()
        piece = self._waited_for(size, flags, began)
        self._behind = max(0.0, self._behind + time.monotonic() - began - len(piece) / self._pace.rate)
        return piece

    def sendall(self, data: bytes, flags: int = 0) -> None:
        """Send it all; whoever takes it too slowly is taken to have gone."""
        self._connection.settimeout(self._pace.allowance(len(data)))
        try:
            self._connection.sendall(data, flags)
        except TimeoutError:
            raise BrokenPipeError(errno.EPIPE, "the caller reads too slowly") from None

    def sendfile(self, *arguments: Any, **named: Any) -> int:
        """Send a file, waiting no longer than the grace for each next part to be taken."""
        self._connection.settimeout(self._pace.grace)
        try:
            return self._connection.sendfile(*arguments, **named)
        except TimeoutError:
            raise BrokenPipeError(errno.EPIPE, "the caller reads too slowly") from None

    def _waited_for(self, size: int, flags: int, began: float) -> bytes:
        left = self._pace.grace - self._behind
        hurried = self._until is not None and self._until - began < left
        patience = self._until - began if hurried and self._until is not None else left
        if patience > 0:
            self._connection.settimeout(patience)
            try:
                return self._connection.recv(size, flags)
            except TimeoutError:
                pass
        if hurried:
            raise TimeoutError("timed out")
        raise TooSlow(
            f"What was sent came more than {self._pace.grace} seconds behind {self._pace.rate} bytes a second, "
            "the slowest that is waited for. Send it again over a steadier line."
        )


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
