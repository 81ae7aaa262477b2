"""Callers who are slow, on real sockets: each is waited for fairly, none for ever, and the others do not notice."""

from __future__ import annotations

import json
import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, suppress

import pytest

from service.intake import MOST_UPLOADS
from service.pace import Pace, Paced, TooSlow, within
from tests.api.books import book, form
from tests.api.server import Web, serving

RATE, GRACE = 2_000, 1
PATIENCE = 60
"""Seconds after which a test gives up waiting; far more than anything here takes."""

TO = "POST /v1/inspections?profile=ternhaven-mono HTTP/1.1\r\nHost: localhost\r\n"
RAW = f"{TO}Content-Type: application/pdf\r\n".encode()
FORM_BODY, FORM_TYPE = form({}, [("file", "b.pdf", book())])
FORM = f"{TO}Content-Type: {FORM_TYPE}\r\n".encode()


@pytest.fixture(scope="module")
def impatient(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Web]:
    """A service that lets callers fall a second behind 2000 bytes a second."""
    settings = {"PRESSWORTHY_LEAST_RATE": str(RATE), "PRESSWORTHY_GRACE_SECONDS": str(GRACE)}
    with serving(tmp_path_factory.mktemp("impatient"), **settings) as web:
        yield web


def _calling(web: Web) -> closing[socket.socket]:
    return closing(socket.create_connection(("127.0.0.1", web.port), timeout=PATIENCE))


def _drip(connection: socket.socket, data: bytes, size: int, every: float) -> bytes:
    """Send it in small pieces until it is sent or answered; the answer."""
    connection.settimeout(every)
    for start in range(0, len(data), size):
        with suppress(TimeoutError):
            connection.sendall(data[start : start + size])
            return _answer(connection, connection.recv(65536))
    connection.settimeout(PATIENCE)
    return _answer(connection, connection.recv(65536))


def _answer(connection: socket.socket, begun: bytes) -> bytes:
    connection.settimeout(PATIENCE)
    with suppress(ConnectionError):
        while piece := connection.recv(65536):
            begun += piece
    return begun


@pytest.mark.parametrize(
    ("head", "body"),
    [
        (RAW + b"Content-Length: 100000\r\n\r\n%PDF-1.7\n", b"x" * 90_000),
        (RAW + b"Transfer-Encoding: chunked\r\n\r\n", b"1\r\nx\r\n" * 9_000),
        (FORM + b"Content-Length: 100000\r\n\r\n" + FORM_BODY[:200], b"x" * 90_000),
        (FORM + b"Transfer-Encoding: chunked\r\n\r\n", b"1\r\n-\r\n" * 9_000),
        (b"GET /v1/limits HTTP/1.1\r\nHost: localhost\r\nX-Long: ", b"x" * 9_000),
    ],
    ids=["body", "body in chunks", "form", "form in chunks", "headers"],
)
def test_a_byte_now_and_then_is_not_waited_for_without_end(impatient: Web, head: bytes, body: bytes) -> None:
    with _calling(impatient) as connection:
        connection.sendall(head)
        answered, _, told = _drip(connection, body, 1, 0.05).partition(b"\r\n\r\n")
    assert answered.startswith(b"HTTP/1.1 408 "), answered
    assert b"application/problem+json" in answered
    problem = json.loads(told)
    assert (problem["type"], problem["status"]) == ("/problems/too-slow", 408)
    assert "Send it again" in problem["detail"]


def test_whoever_says_nothing_more_is_told_so(impatient: Web) -> None:
    with _calling(impatient) as connection:
        connection.sendall(RAW + b"Content-Length: 100000\r\n\r\n%PDF-1.7\n")
        assert _answer(connection, b"").startswith(b"HTTP/1.1 408 ")


def test_a_slow_line_that_keeps_the_rate_is_waited_for_to_the_end(impatient: Web) -> None:
    """For several times the grace."""
    content = (book(3) + b"\n" * 10_000)[:10_000]
    with _calling(impatient) as connection:
        connection.sendall(RAW + f"Connection: close\r\nContent-Length: {len(content)}\r\n\r\n".encode())
        assert _drip(connection, content, 250, 0.1).startswith(b"HTTP/1.1 202 ")


def test_reading_goes_on_while_as_many_slow_uploads_arrive_as_may(tmp_path_factory: pytest.TempPathFactory) -> None:
    with serving(tmp_path_factory.mktemp("crowd")) as web, ExitStack() as crowd:
        slow = [crowd.enter_context(_calling(web)) for _ in range(MOST_UPLOADS + 4)]
        for connection in slow:
            connection.sendall(RAW + b"Content-Length: 100000\r\n\r\n%PDF-1.7\n")
        turned_away = _answered(slow, 4)
        assert len(turned_away) == 4
        for answer in turned_away:
            assert answer.startswith(b"HTTP/1.1 503 ")
            assert b"/problems/busy" in answer
            assert b"Retry-After" in answer
        for target in ("/v1/limits", "/v1/inspections", "/"):
            assert web.send(target, (), {"Content-Length": "0"}, method="GET").status == 200


def _answered(connections: list[socket.socket], number: int) -> list[bytes]:
    """What so many of them are answered; the others are not answered yet."""
    answers: dict[socket.socket, bytes] = {}
    until = time.monotonic() + PATIENCE
    while len(answers) < number and time.monotonic() < until:
        for connection in connections:
            connection.settimeout(0.05)
            with suppress(TimeoutError):
                if connection not in answers:
                    answers[connection] = _answer(connection, connection.recv(65536))
    return list(answers.values())


@pytest.fixture
def pair() -> Iterator[tuple[socket.socket, Paced]]:
    """A caller, and the service's side of the connection: a tenth of a second behind 10 MB a second at most."""
    ours, theirs = socket.socketpair()
    with closing(ours), closing(theirs):
        yield theirs, _Hasty(ours)


class _Hasty(Paced):
    def __init__(self, connection: socket.socket) -> None:
        super().__init__(connection, Pace(rate=10_000_000, grace=1))
        self._behind = 0.9


def test_what_came_early_buys_no_more_than_the_grace(pair: tuple[socket.socket, Paced]) -> None:
    caller, paced = pair
    for _ in range(400):  # worth ten seconds at this rate
        caller.sendall(bytes(60_000))
        came = 0
        while came < 60_000:
            came += len(paced.recv(60_000 - came))
    began = time.monotonic()
    with pytest.raises(TooSlow, match="10000000 bytes a second"):
        paced.recv(1)
    assert 0.5 < time.monotonic() - began < PATIENCE


def test_a_new_request_owes_nothing(pair: tuple[socket.socket, Paced]) -> None:
    caller, paced = pair
    with pytest.raises(TooSlow):
        paced.recv(1)
    caller.sendall(b"x")
    paced.begin()
    assert paced.recv(1) == b"x"


def test_a_time_that_is_set_holds_for_all_that_is_read_in_it(pair: tuple[socket.socket, Paced]) -> None:
    caller, paced = pair
    paced.begin()
    with pytest.raises(TimeoutError), within(0.2, paced):
        while True:
            caller.sendall(b"x")
            paced.recv(1)
    assert paced.gettimeout() is None


def test_whoever_reads_nothing_is_taken_to_have_gone(pair: tuple[socket.socket, Paced]) -> None:
    _, paced = pair
    with pytest.raises(BrokenPipeError):
        paced.sendall(bytes(8_000_000))
