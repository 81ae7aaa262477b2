"""Callers who are slow, on real sockets: each is waited for fairly, none for ever, and the others do not notice."""

from __future__ import annotations

import json
import socket
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, suppress

import pytest

from service import pace
from service.gunicorn_settings import threads
from service.intake import MOST_UPLOADS
from service.pace import Pace, Paced, TooSlow, with_a_place, within
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


@pytest.fixture(scope="module")
def patient(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Web]:
    """A service as it is set up by itself: half a minute of grace."""
    with serving(tmp_path_factory.mktemp("crowd")) as web:
        yield web


WAYS_TO_HOLD_A_THREAD = {
    "silence": b"",
    "half a line": b"GET /v1/lim",
    "half a head": b"GET /v1/limits HTTP/1.1\r\nHost: localhost\r\nX-Long: ",
    "half a form": b"POST /sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Length: 60000\r\n"
    b"Content-Type: application/x-www-form-urlencoded\r\n\r\nform_secret=",
    "half a form in chunks": b"POST /sign-in HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n"
    b"Content-Type: application/x-www-form-urlencoded\r\n\r\n5\r\nform_",
    "one request and half another": b"GET /v1/health HTTP/1.1\r\nHost: localhost\r\n\r\nGET /v1/he",
    "a large body that is refused": b"POST /sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Length: 900000\r\n\r\nform_",
    "not hanging up": b"GET /v1/health HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n",
}


@pytest.mark.parametrize("sent", WAYS_TO_HOLD_A_THREAD.values(), ids=WAYS_TO_HOLD_A_THREAD)
def test_more_slow_callers_than_threads_keep_nobody_out(patient: Web, sent: bytes) -> None:
    """The bound is far below what one of them may take (:data:`Settings.grace_seconds`)."""
    with ExitStack() as crowd:
        for connection in [crowd.enter_context(_calling(patient)) for _ in range(threads + 16)]:
            connection.sendall(sent)
        began = time.monotonic()
        assert patient.send("/v1/health", (), {"Content-Length": "0"}, method="GET").status == 200
        assert time.monotonic() - began < 15


def test_reading_goes_on_while_as_many_slow_uploads_arrive_as_may(patient: Web) -> None:
    web = patient
    with ExitStack() as crowd:
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


def test_a_reader_is_held_to_one_grace_for_the_whole_of_an_answer(pair: tuple[socket.socket, Paced]) -> None:
    """Not to one for each part of it, as a reader of a byte now and then would like."""
    caller, paced = pair
    caller.settimeout(PATIENCE)
    threading.Thread(target=_read_a_little_now_and_then, args=(caller,), daemon=True).start()
    began = time.monotonic()
    with pytest.raises(BrokenPipeError), tempfile.TemporaryFile() as file:
        file.truncate(200_000_000)
        paced.sendfile(file)
    assert time.monotonic() - began < PATIENCE


def _read_a_little_now_and_then(caller: socket.socket) -> None:
    with suppress(OSError):
        while caller.recv(1_000):
            time.sleep(0.3)


def test_a_file_is_sent_whole_or_in_part(pair: tuple[socket.socket, Paced]) -> None:
    caller, paced = pair
    with tempfile.TemporaryFile() as file:
        file.write(b"0123456789")
        assert (paced.sendfile(file, 2, 5), caller.recv(100)) == (5, b"23456")
        assert (paced.sendfile(file, 4), caller.recv(100)) == (6, b"456789")


@pytest.mark.parametrize("way", ["sends", "reads"])
def test_beyond_the_places_for_it_nobody_is_waited_for_long(monkeypatch: pytest.MonkeyPatch, way: str) -> None:
    monkeypatch.setattr(pace, "HURRIED_SECONDS", 0.2)
    ours, theirs = socket.socketpair()
    places = pace._stragglers if way == "sends" else pace._readers
    with closing(ours), closing(theirs), ExitStack() as taken:
        for _ in range(pace.MOST_STRAGGLERS if way == "sends" else pace.MOST_READERS):
            taken.enter_context(places)
        paced = Paced(ours, Pace(rate=1_000, grace=PATIENCE))
        began = time.monotonic()
        with pytest.raises(TooSlow if way == "sends" else BrokenPipeError):
            paced.recv(1) if way == "sends" else paced.sendall(bytes(8_000_000))
        assert time.monotonic() - began < PATIENCE / 2


def test_an_upload_has_a_place_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pace, "HURRIED_SECONDS", 0.2)
    ours, theirs = socket.socketpair()
    paced = Paced(ours, Pace(rate=1_000, grace=PATIENCE))
    with closing(ours), closing(theirs), ExitStack() as taken:
        for _ in range(pace.MOST_STRAGGLERS):
            taken.enter_context(pace._stragglers)
        later = threading.Timer(pace.HURRIED_SECONDS + 0.3, theirs.sendall, (b"x",))
        later.start()
        with with_a_place(paced):
            assert paced.recv(1) == b"x"
        assert not paced.has_a_place
