"""One try: connect to an address that was looked up and checked, send, and read how it was answered.

No redirect is followed, no proxy of the environment is used, and of the answer only its status is kept.
"""

from __future__ import annotations

import http.client
import io
import socket
import ssl
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import cast

from worker import version
from worker.callbacks.address import Allowed, Refused, Target, target_of

__all__ = ["MOST_ANSWER", "TRY_SECONDS", "Outcome", "Resolver", "Sender", "look_up"]

TRY_SECONDS = 15.0
"""How long one try may take, from looking up the name to the answer's status."""

MOST_ANSWER = 16 * 1024
"""Bytes of an answer that are read; its status comes long before."""

Resolver = Callable[[str, int], list[str]]
"""From a host's name and a port to the addresses that it leads to."""


@dataclass(frozen=True)
class Outcome:
    """How a try ended: the answer's ``status``, or the ``problem`` that kept an answer from coming."""

    status: int | None = None
    problem: str | None = None

    @property
    def taken(self) -> bool:
        """Whether the receiver has it: any status of 2xx."""
        return self.status is not None and 200 <= self.status < 300

    @property
    def unwanted(self) -> bool:
        """Whether the receiver wants no more of it (410, Gone)."""
        return self.status == http.HTTPStatus.GONE


def look_up(host: str, port: int) -> list[str]:
    """The addresses of a host, as the system finds them. Raises :class:`OSError`."""
    return [str(place[4][0]) for place in socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)]


@dataclass(frozen=True)
class Sender:
    """Sends to what ``allowed`` lets it. ``resolve`` looks up names, ``tls`` says which certificates are trusted."""

    allowed: Allowed = field(default_factory=Allowed)
    resolve: Resolver = look_up
    tls: ssl.SSLContext = field(default_factory=ssl.create_default_context)
    seconds: float = TRY_SECONDS

    def send(self, url: str, headers: Mapping[str, str], body: bytes) -> Outcome:
        """Make one try. Whatever goes wrong on the way is an outcome too."""
        until = time.monotonic() + self.seconds
        try:
            target = target_of(url, self.allowed)
            return Outcome(status=self._answered(target, dict(headers), body, until))
        except Refused as refused:
            return Outcome(problem=str(refused))
        except TimeoutError:
            return Outcome(problem=f"no answer within {self.seconds:g} seconds")
        except socket.gaierror:
            return Outcome(problem="the host's name leads nowhere")
        except ssl.SSLCertVerificationError as error:
            return Outcome(problem=f"the certificate is not trusted: {error.verify_message}")
        except ssl.SSLError:
            return Outcome(problem="no secure connection could be made")
        except ConnectionRefusedError:
            return Outcome(problem="the connection was refused")
        except (http.client.HTTPException, ValueError):
            return Outcome(problem="what was answered is not HTTP")
        except OSError:
            return Outcome(problem="the connection could not be made, or broke off")

    def _answered(self, target: Target, headers: dict[str, str], body: bytes, until: float) -> int:
        literal = target.literal
        found = [str(literal)] if literal is not None else self.resolve(target.host, target.port)
        may = self.allowed.callable_of(target, found)
        with _connected(may, target.port, until) as plain, self._secured(plain, target, until) as connection:
            connection.settimeout(_left(until))
            connection.sendall(_request(target, headers, body))
            return _status(connection, until)

    def _secured(self, plain: socket.socket, target: Target, until: float) -> socket.socket:
        """The connection, by TLS where it is https; the certificate has to be the name's, not the address's."""
        if not target.https:
            return plain
        plain.settimeout(_left(until))
        return self.tls.wrap_socket(plain, server_hostname=target.host.rstrip("."))


def _connected(addresses: list[str], port: int, until: float) -> socket.socket:
    """A connection to the first of the addresses that takes one. Raises :class:`OSError`."""
    trouble: OSError = OSError("there is no address")
    for address in addresses:
        try:
            return socket.create_connection((address, port), timeout=_left(until))
        except TimeoutError:
            raise
        except OSError as error:
            trouble = error
    raise trouble


def _request(target: Target, headers: dict[str, str], body: bytes) -> bytes:
    """The whole request (RFC 9112), on a connection that is used once."""
    host = f"[{target.host}]" if ":" in target.host else target.host
    usual = 443 if target.https else 80
    lines = {
        "Host": host if target.port == usual else f"{host}:{target.port}",
        "User-Agent": f"Pressworthy/{version()}",
        "Content-Type": "application/json",
        "Content-Length": str(len(body)),
        "Connection": "close",
        **headers,
    }
    head = "".join(f"{name}: {value}\r\n" for name, value in lines.items())
    return f"POST {target.path} HTTP/1.1\r\n{head}\r\n".encode("ascii") + body


def _status(connection: socket.socket, until: float) -> int:
    """The status of the final answer; announcements before it (1xx) are passed over."""
    source = _Source(io.BufferedReader(_Answer(connection, until)))
    read: list[http.client.HTTPResponse] = []  # one that is let go of closes what the next is read from
    while not read or read[-1].status < 200:
        read.append(http.client.HTTPResponse(cast(socket.socket, source), method="POST"))
        read[-1].begin()
    return read[-1].status


class _Source:
    """What ``http.client`` reads an answer from."""

    def __init__(self, file: io.BufferedReader) -> None:
        self._file = file

    def makefile(self, _mode: str) -> io.BufferedReader:
        """The same file each time: the answer goes on where the announcement before it ended."""
        return self._file


class _Answer(io.RawIOBase):
    """What comes of an answer: no byte after the last moment, and not more of them than are wanted."""

    def __init__(self, connection: socket.socket, until: float) -> None:
        super().__init__()
        self._connection = connection
        self._until = until
        self._left = MOST_ANSWER

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: bytearray | memoryview) -> int:  # type: ignore[override]
        if self._left <= 0:
            return 0
        self._connection.settimeout(_left(self._until))
        come = self._connection.recv_into(buffer, min(len(buffer), self._left))
        self._left -= come
        return come


def _left(until: float) -> float:
    """The seconds that are left. Raises :class:`TimeoutError` where there are none."""
    left = until - time.monotonic()
    if left <= 0:
        raise TimeoutError
    return left
