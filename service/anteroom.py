"""Where connections wait without a thread: for a request to come, and for a caller to have read the last answer.

gunicorn's threads wait themselves: five seconds for a new connection's first byte, as long as the pace allows for the
rest of a head or of a form; and the one loop that hands out the work waits two seconds for each caller who does not
hang up. A few dozen silent connections would then keep everybody else out. In here they cost a descriptor each and what
they have sent, and when the room is full, whoever has been in it longest goes.
"""

from __future__ import annotations

import selectors
import socket
import time
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from typing import Any

__all__ = ["Anteroom"]

LINGER_SECONDS = 2.0
"""How long what a caller still sends is passed over, so that it can read the last answer (RFC 9112, section 9.6)."""

Connection = Any
"""gunicorn's, whose ``sock`` is a :class:`service.pace.Paced`."""


class Anteroom:
    """The connections that wait. All of it happens in the loop that owns ``poller``, and nothing here blocks.

    ``admit`` hands a connection over to a thread, ``lost`` is told of each that was closed while it waited. At most
    ``room`` wait for a request, and as many for their end; one on which nothing comes waits for ``idle`` seconds.
    """

    def __init__(
        self,
        poller: selectors.BaseSelector,
        *,
        admit: Callable[[Connection], None],
        lost: Callable[[], None],
        room: int,
        idle: float,
    ) -> None:
        self._poller = poller
        self._admit = admit
        self._lost = lost
        self._room = room
        self._idle = idle
        self._waiting: dict[Connection, None] = {}
        self._leaving: dict[Connection, float] = {}
        """Until when each is listened to."""

    def enter(self, connection: Connection) -> None:
        """A request is expected on it, or has begun."""
        connection.sock.take_in()
        if self._goes_on(connection):
            return
        self._waiting[connection] = None
        self._poller.register(connection.sock, selectors.EVENT_READ, partial(self._readable, connection))
        if len(self._waiting) > self._room:
            self._drop(next(iter(self._waiting)))

    def see_off(self, connection: Connection) -> None:
        """The last answer has been sent on it."""
        try:
            connection.sock.shutdown(socket.SHUT_WR)
            self._poller.register(connection.sock, selectors.EVENT_READ, partial(self._pass_over, connection))
        except OSError:
            _close(connection)
            return
        self._leaving[connection] = time.monotonic() + LINGER_SECONDS
        if len(self._leaving) > self._room:
            self._hang_up(next(iter(self._leaving)))

    def look_round(self, *, closing: bool) -> None:
        """See to those whose time is over. Call it every second or so; ``closing``: no new request is waited for."""
        for connection in list(self._waiting):
            patient = connection.sock.begun or (not closing and connection.sock.waited() < self._idle)
            if not patient:
                self._drop(connection)
            elif connection.sock.begun and connection.sock.ready:
                self._leave(connection)
                self._hand_over(connection)
        for connection, until in list(self._leaving.items()):
            if closing or until < time.monotonic():
                self._hang_up(connection)

    def _readable(self, connection: Connection, _: object) -> None:
        connection.sock.take_in()
        if connection.sock.ready:
            self._leave(connection)
            self._goes_on(connection)

    def _goes_on(self, connection: Connection) -> bool:
        """Whether it waits no longer: a thread takes it up, or its caller has gone without a word."""
        if not connection.sock.ready:
            return False
        if connection.sock.begun:
            self._hand_over(connection)
        else:
            _close(connection)
            self._lost()
        return True

    def _hand_over(self, connection: Connection) -> None:
        connection.sock.take_up()
        self._admit(connection)

    def _leave(self, connection: Connection) -> None:
        del self._waiting[connection]
        self._poller.unregister(connection.sock)

    def _drop(self, connection: Connection) -> None:
        self._leave(connection)
        _close(connection)
        self._lost()

    def _pass_over(self, connection: Connection, _: object) -> None:
        if not connection.sock.pass_over():
            self._hang_up(connection)

    def _hang_up(self, connection: Connection) -> None:
        del self._leaving[connection]
        self._poller.unregister(connection.sock)
        _close(connection)


def _close(connection: Connection) -> None:
    with suppress(OSError):
        connection.sock.close()
