"""gunicorn's worker: callers keep its pace and wait without a thread, and its own refusals (of what is no HTTP, or too
long a line) have the one shape of the service."""

from __future__ import annotations

import json
import re
import resource
import selectors
import socket
from contextlib import suppress
from functools import partial
from http import HTTPStatus
from typing import Any, cast

from flask import Flask
from gunicorn.workers.gthread import ThreadWorker

from service.anteroom import Anteroom
from service.house import settings
from service.pace import Pace, Paced, TooSlow
from service.problems import FAULT, MALFORMED, MEDIA_TYPE, TOO_SLOW

__all__ = ["Worker"]

KINDS = {
    HTTPStatus.BAD_REQUEST: MALFORMED,
    HTTPStatus.REQUEST_TIMEOUT: TOO_SLOW,
    HTTPStatus.INTERNAL_SERVER_ERROR: FAULT,
}
DETAILS = {
    HTTPStatus.REQUEST_URI_TOO_LONG: "The address is too long. Ask for less in it, or send it in the body.",
    HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE: "The headers are too long. Send fewer or shorter ones.",
    HTTPStatus.EXPECTATION_FAILED: "Leave the header `Expect` out, or expect `100-continue`.",
    HTTPStatus.NOT_IMPLEMENTED: "Send the body as it is, or chunked.",
}
OTHERWISE = "This is no request that HTTP/1.1 allows (RFC 9112). Compare what was sent with /openapi.json."


class Worker(ThreadWorker):
    """Threads that no slow caller holds, and problem details instead of gunicorn's page."""

    _anteroom: Anteroom

    def run(self) -> None:
        """Hand out requests until told to stop. As many connections are taken as there are descriptors for, half of
        them beside those that wait; a quarter may be kept for a next request."""
        descriptors, _ = resource.getrlimit(resource.RLIMIT_NOFILE)
        self.worker_connections = min(self.worker_connections, descriptors // 2)
        self.max_keepalived = self.worker_connections // 4
        self._anteroom = Anteroom(
            cast(selectors.BaseSelector, self.poller),
            admit=super().enqueue_req,
            lost=self._one_less,
            room=self.worker_connections // 2,
            idle=self.cfg.keepalive,
        )
        super().run()  # type: ignore[no-untyped-call]

    def enqueue_req(self, conn: Any) -> None:
        """Have a request wait until it has come; every connection on which one is expected comes by here."""
        if isinstance(conn.sock, Paced):
            conn.sock.begin(conn.parser.unreader.take_buffered())
        else:
            found = settings(cast(Flask, self.wsgi))
            conn.sock = Paced(conn.sock, Pace(found.least_rate, found.grace_seconds))
            conn.data_ready = True
            conn.close = partial(self._close, conn)
        self._anteroom.enter(conn)

    def murder_pending(self) -> None:
        """Once a second: see to those who wait too long."""
        self._anteroom.look_round(closing=not self.alive)

    def _close(self, conn: Any, graceful: bool = False) -> None:
        if graceful:
            self._anteroom.see_off(conn)
        else:
            conn.sock.close()

    def _one_less(self) -> None:
        self.nr_conns -= 1

    def handle_error(self, req: Any, client: socket.socket, addr: Any, exc: BaseException) -> None:
        """Let gunicorn log what is wrong and choose the status; say it in our own words."""
        if isinstance(exc, TooSlow):  # with its headers; a body is the app's to refuse
            refusal = _refusal(HTTPStatus.REQUEST_TIMEOUT, str(exc))
        else:
            overheard = _Overheard()
            super().handle_error(req, overheard, addr, exc)  # type: ignore[no-untyped-call]
            refusal = _refusal(overheard.status)
        with suppress(OSError):  # whoever sent it may have gone
            client.sendall(refusal)


class _Overheard:
    """Stands in for the connection while gunicorn answers, and keeps the status that it chose."""

    def __init__(self) -> None:
        self.status = HTTPStatus.INTERNAL_SERVER_ERROR

    def gettimeout(self) -> float:
        return 0.0  # it never blocks

    def sendall(self, data: bytes) -> None:
        found = re.match(rb"HTTP/1\.1 (\d{3})", data)
        self.status = HTTPStatus(int(found[1])) if found else self.status


def _refusal(status: HTTPStatus, detail: str | None = None) -> bytes:
    kind = KINDS.get(status)
    problem = {
        "type": kind.type if kind else "about:blank",
        "title": kind.title if kind else status.phrase,
        "status": status.value,
        "detail": detail or DETAILS.get(status, FAULT.remedy if kind is FAULT else OTHERWISE),
    }
    body = json.dumps(problem).encode() + b"\n"
    head = (
        f"HTTP/1.1 {status.value} {status.phrase}\r\nConnection: close\r\nContent-Type: {MEDIA_TYPE}\r\n"
        f"Content-Length: {len(body)}\r\nX-Content-Type-Options: nosniff\r\n\r\n"
    )
    return head.encode() + body
