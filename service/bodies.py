"""Request bodies as they arrive: piece by piece, at the sender's pace, and taken to their end when refused."""

from __future__ import annotations

import time
from collections.abc import Iterator

from flask import Request, Response
from gunicorn.http.errors import ParseException
from werkzeug.exceptions import ClientDisconnected

from service.pace import TooSlow, within
from service.problems import MALFORMED, TOO_SLOW, Problem

__all__ = ["PIECE", "pieces", "take_the_rest"]

PIECE = 64 * 1024
"""Bytes that are held in memory at a time."""

REST_SECONDS = 5.0
"""How long the rest of a refused body is listened to, so that its sender reads the refusal and not a broken line."""

LISTEN_NO_LONGER = {408, 503}
"""Refusals after which no rest is listened to: its sender is too slow, or threads are short."""

_BROKEN = (OSError, ParseException, ClientDisconnected)


def pieces(request: Request) -> Iterator[bytes]:
    """The body. Raises :class:`Problem` where it breaks off or comes too slowly.

    A server may end a body early without a word, so what has come is held against what was announced.
    """
    come = 0
    while piece := _next(request):
        come += len(piece)
        yield piece
    if come < (request.content_length or 0):
        raise _broken_off()


def take_the_rest(request: Request, response: Response) -> None:
    """Let go of what is still coming, for a while: most senders read no answer before they have sent everything."""
    refused = response.status_code >= 400 and response.status_code not in LISTEN_NO_LONGER
    if not refused or request.method in {"GET", "HEAD", "OPTIONS"}:
        return
    request.max_content_length = None  # a limit that the body crossed is no reason to stop listening
    until = time.monotonic() + REST_SECONDS
    try:
        with within(REST_SECONDS, request.environ.get("gunicorn.socket")):
            while time.monotonic() < until and request.stream.read(PIECE):
                pass
    except (*_BROKEN, TooSlow):
        return


def _next(request: Request) -> bytes:
    try:
        return request.stream.read(PIECE)
    except TooSlow as slow:
        raise Problem(TOO_SLOW, str(slow)) from None
    except _BROKEN:
        raise _broken_off() from None


def _broken_off() -> Problem:
    return Problem(MALFORMED, "The body ended before its end, or its chunks are broken. Send it again.")
