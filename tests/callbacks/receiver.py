"""Receivers on this machine: Python's own HTTP server that keeps what comes, and one that answers as a test wants."""

from __future__ import annotations

import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

PATIENCE = 20.0


@dataclass(frozen=True)
class Came:
    """One request."""

    path: str
    headers: dict[str, str]
    body: bytes


@dataclass
class Receiver:
    """What came, and how the next ones are answered: the statuses in turn, the last of them for ever."""

    port: int
    statuses: list[int] = field(default_factory=lambda: [204])
    came: list[Came] = field(default_factory=list)
    headers: dict[str, str] = field(default_factory=dict)
    """Of every answer."""
    seconds: float = 0
    """Until it answers."""
    _lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}/inspected?book=7"

    def take(self, request: Came) -> int:
        with self._lock:
            self.came.append(request)
            status = self.statuses[0]
            if len(self.statuses) > 1:
                self.statuses.pop(0)
        time.sleep(self.seconds)
        return status

    def wait_for(self, many: int) -> list[Came]:
        """What came, once there is so much of it."""
        until = time.monotonic() + PATIENCE
        while len(self.came) < many:
            assert time.monotonic() < until, self.came
            time.sleep(0.02)
        return self.came


@contextmanager
def receiving(*statuses: int, tls: ssl.SSLContext | None = None) -> Iterator[Receiver]:
    """A receiver that listens on 127.0.0.1, by TLS where a context is given."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            status = receiver.take(Came(self.path, dict(self.headers.items()), body))
            self.send_response(status)
            for name, value in receiver.headers.items():
                self.send_header(name, value)
            self.end_headers()

        do_GET = do_POST  # noqa: N815 - http.server finds it by that name

        def log_message(self, *_: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    if tls is not None:
        server.socket = tls.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
    receiver = Receiver(server.server_address[1])
    if statuses:
        receiver.statuses = list(statuses)
    thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    try:
        yield receiver
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


@contextmanager
def answering(answer: Callable[[socket.socket], None]) -> Iterator[int]:
    """A server that reads a request and then does whatever ``answer`` does with the connection; its port."""
    with socket.create_server(("127.0.0.1", 0)) as listening:

        def serve() -> None:
            while True:
                try:
                    connection, _ = listening.accept()
                except OSError:
                    return
                with connection:
                    try:
                        connection.recv(65536)
                        answer(connection)
                    except OSError:  # the caller has had enough
                        pass

        thread = threading.Thread(target=serve, daemon=True)
        thread.start()
        yield listening.getsockname()[1]
        listening.shutdown(socket.SHUT_RDWR)
    thread.join(PATIENCE)
