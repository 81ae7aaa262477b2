"""Request bodies as they arrive: piece by piece, never waited for without end, and taken to their end when refused."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager

from flask import Request, Response
from gunicorn.http.errors import ParseException
from werkzeug.exceptions import ClientDisconnected

from service.problems import MALFORMED, TOO_SLOW, Problem

__all__ = ["PIECE", "pieces", "take_the_rest"]

PIECE = 64 * 1024
"""Bytes that are held in memory at a time."""

SILENCE_SECONDS = 30.0
"""How long a sender may be silent in the middle of a body."""

REST_SECONDS = 5.0
"""How long the rest of a refused body is listened to, so that its sender reads the refusal and not a broken line."""

_BROKEN = (OSError, ParseException, ClientDisconnected)


def pieces(request: Request) -> Iterator[bytes]:
    """The body. Raises :class:`Problem` where it breaks off or stops arriving.

    A server may end a body early without a word, so what has come is held against what was announced.
    """
    come = 0
    with _at_most(SILENCE_SECONDS, request):
        while piece := _next(request):
            come += len(piece)
            yield piece
    if come < (request.content_length or 0):
        raise _broken_off()


def take_the_rest(request: Request, response: Response) -> None:
    """Let go of what is still coming, for a while: most senders read no answer before they have sent everything."""
    if response.status_code < 400 or request.method in {"GET", "HEAD", "OPTIONS"}:
        return
    request.max_content_length = None  # a limit that the body crossed is no reason to stop listening
    until = time.monotonic() + REST_SECONDS
    try:
        with _at_most(REST_SECONDS, request):
            while time.monotonic() < until and request.stream.read(PIECE):
                pass
    except _BROKEN:
        return


def _next(request: Request) -> bytes:
    try:
        return request.stream.read(PIECE)
    except _BROKEN as error:
        if isinstance(error, TimeoutError) or isinstance(error.__context__, TimeoutError):
            raise Problem(TOO_SLOW, f"Nothing arrived for {SILENCE_SECONDS:.0f} seconds. Send it again.") from None
        raise _broken_off() from None


def _broken_off() -> Problem:
    return Problem(MALFORMED, "The body ended before its end, or its chunks are broken. Send it again.")


@contextmanager
def _at_most(seconds: float, request: Request) -> Iterator[None]:
    """Wait no longer than so for the next bytes; gunicorn lends the connection for that."""
    connection = request.environ.get("gunicorn.socket")
    if connection is None:
        yield
        return
    before = connection.gettimeout()
    connection.settimeout(seconds)
    try:
        yield
    finally:
        connection.settimeout(before)
