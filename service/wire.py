"""gunicorn's worker, whose own refusals (of what is no HTTP, or too long a line) have the one shape of the service."""

from __future__ import annotations

import json
import re
import socket
from contextlib import suppress
from http import HTTPStatus
from typing import Any

from gunicorn.workers.gthread import ThreadWorker

from service.problems import FAULT, MALFORMED, MEDIA_TYPE

__all__ = ["Worker"]

DETAILS = {
    HTTPStatus.REQUEST_URI_TOO_LONG: "The address is too long. Ask for less in it, or send it in the body.",
    HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE: "The headers are too long. Send fewer or shorter ones.",
    HTTPStatus.EXPECTATION_FAILED: "Leave the header `Expect` out, or expect `100-continue`.",
    HTTPStatus.NOT_IMPLEMENTED: "Send the body as it is, or chunked.",
}
OTHERWISE = "This is no request that HTTP/1.1 allows (RFC 9112). Compare what was sent with /openapi.json."


class Worker(ThreadWorker):
    """Threads, and problem details instead of gunicorn's page."""

    def handle_error(self, req: Any, client: socket.socket, addr: Any, exc: BaseException) -> None:
        """Let gunicorn log what is wrong and choose the status; say it in our own words."""
        overheard = _Overheard()
        super().handle_error(req, overheard, addr, exc)  # type: ignore[no-untyped-call]
        with suppress(OSError):  # whoever sent it may have gone
            client.sendall(_refusal(overheard.status))


class _Overheard:
    """Stands in for the connection while gunicorn answers, and keeps the status that it chose."""

    def __init__(self) -> None:
        self.status = HTTPStatus.INTERNAL_SERVER_ERROR

    def gettimeout(self) -> float:
        return 0.0  # it never blocks

    def sendall(self, data: bytes) -> None:
        found = re.match(rb"HTTP/1\.1 (\d{3})", data)
        self.status = HTTPStatus(int(found[1])) if found else self.status


def _refusal(status: HTTPStatus) -> bytes:
    kind = {HTTPStatus.BAD_REQUEST: MALFORMED, HTTPStatus.INTERNAL_SERVER_ERROR: FAULT}.get(status)
    problem = {
        "type": kind.type if kind else "about:blank",
        "title": kind.title if kind else status.phrase,
        "status": status.value,
        "detail": DETAILS.get(status, FAULT.remedy if kind is FAULT else OTHERWISE),
    }
    body = json.dumps(problem).encode() + b"\n"
    head = (
        f"HTTP/1.1 {status.value} {status.phrase}\r\nConnection: close\r\nContent-Type: {MEDIA_TYPE}\r\n"
        f"Content-Length: {len(body)}\r\nX-Content-Type-Options: nosniff\r\n\r\n"
    )
    return head.encode() + body
