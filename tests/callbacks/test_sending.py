"""One try, against real receivers: what arrives, and what never hinders or misleads the sender.

The receivers are Python's own ``http.server``, ``ssl`` and bare sockets.
"""

from __future__ import annotations

import json
import socket
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.callbacks.authority import authority_for
from tests.callbacks.receiver import answering, receiving
from worker.callbacks.address import Allowed
from worker.callbacks.sending import MOST_ANSWER, Outcome, Sender

HERE = Allowed.of("SETTING", "127.0.0.1")
BODY = json.dumps({"type": "inspection.done"}).encode()
NAME = "desk.tern.example"


def _sender(seconds: float = 5) -> Sender:
    return Sender(HERE, seconds=seconds)


def test_it_arrives_whole() -> None:
    with receiving(204) as receiver:
        outcome = _sender().send(receiver.url, {"webhook-id": "dlv_1"}, BODY)
        (came,) = receiver.came
    assert outcome == Outcome(status=204)
    assert outcome.taken
    assert (came.path, came.body) == ("/inspected?book=7", BODY)
    assert came.headers["Host"] == f"127.0.0.1:{receiver.port}"
    assert came.headers["Content-Type"] == "application/json"
    assert came.headers["webhook-id"] == "dlv_1"
    assert came.headers["User-Agent"].startswith("Pressworthy/")


@pytest.mark.parametrize(
    ("status", "taken"), [(200, True), (202, True), (299, True), (400, False), (410, False), (503, False)]
)
def test_any_2xx_is_success_and_nothing_else(status: int, taken: bool) -> None:
    """Standard Webhooks: a receiver says with a status of 2xx that it has the message."""
    with receiving(status) as receiver:
        outcome = _sender().send(receiver.url, {}, BODY)
    assert (outcome.status, outcome.taken, outcome.unwanted) == (status, taken, status == 410)


@pytest.mark.parametrize("status", [301, 302, 303, 307, 308])
def test_a_redirect_is_not_followed(status: int) -> None:
    with receiving(204) as elsewhere, receiving(status) as receiver:
        receiver.headers["Location"] = elsewhere.url
        outcome = _sender().send(receiver.url, {}, BODY)
        assert elsewhere.came == []
    assert (outcome.status, outcome.taken) == (status, False)


def test_no_proxy_of_the_environment_is_used(monkeypatch: pytest.MonkeyPatch) -> None:
    with receiving(204) as proxy, receiving(204) as receiver:
        for name in ("http_proxy", "HTTP_PROXY", "https_proxy", "all_proxy", "ALL_PROXY"):
            monkeypatch.setenv(name, proxy.url)
        assert _sender().send(receiver.url, {}, BODY).taken
        assert proxy.came == []


def test_a_name_is_looked_up_once_and_that_very_address_is_called() -> None:
    """DNS rebinding: a name server that says a public address first and this machine's afterwards, and one that does
    it the other way round. 198.51.100.7 is RFC 5737's, so that the public address is not reached either."""
    asked: list[str] = []

    def rebinding(*answers: str) -> Callable[[str, int], list[str]]:
        left = list(answers)

        def resolve(host: str, _port: int) -> list[str]:
            asked.append(host)
            return [left.pop(0)]

        return resolve

    allowed = Allowed.of("SETTING", "198.51.100.0/24")
    with receiving(204) as receiver:
        url = f"https://{NAME}:{receiver.port}/"
        first = Sender(allowed, rebinding("198.51.100.7", "127.0.0.1"), seconds=0.5).send(url, {}, BODY)
        assert asked == [NAME]
        assert first.status is None
        second = Sender(allowed, rebinding("127.0.0.1", "198.51.100.7")).send(url, {}, BODY)
        assert second == Outcome(problem="the name leads to no address that this service calls")
        assert receiver.came == []
    assert asked == [NAME, NAME]


def test_a_name_that_leads_into_the_network_is_not_called_and_not_told_of() -> None:
    found = ["10.0.0.7", "fd00::7", "::ffff:127.0.0.1", "169.254.169.254"]
    outcome = Sender(Allowed(), lambda *_: found).send(f"https://{NAME}/", {}, BODY)
    assert outcome.problem == "the name leads to no address that this service calls"


def test_a_systems_own_lookup_is_held_against_the_same_table() -> None:
    """``localhost`` is this machine (RFC 6761, section 6.3); the name is refused, and so is what it leads to."""
    with receiving(204) as receiver:
        for host in ("localhost", "127.0.0.1", "[::1]", "[::ffff:127.0.0.1]"):
            assert Sender(Allowed()).send(f"https://{host}:{receiver.port}/", {}, BODY).status is None
        assert receiver.came == []


def test_tls_is_the_names_though_the_address_is_called(tmp_path: Path) -> None:
    served, trusts = authority_for(NAME, tmp_path)
    asked: list[str | None] = []
    served.sni_callback = lambda _socket, name, _context: asked.append(name)
    with receiving(204, tls=served) as receiver:
        resolve = lambda *_: ["127.0.0.1"]  # noqa: E731
        sender = Sender(HERE, resolve, trusts)
        assert sender.send(f"https://{NAME}:{receiver.port}/", {}, BODY) == Outcome(status=204)
        assert asked == [NAME]
        other = sender.send(f"https://other.tern.example:{receiver.port}/", {}, BODY)
        assert other.problem is not None
        assert "certificate is not trusted" in other.problem
        stranger = Sender(HERE, resolve).send(f"https://{NAME}:{receiver.port}/", {}, BODY)
        assert stranger.problem is not None
        assert "certificate is not trusted" in stranger.problem
        assert len(receiver.came) == 1


def test_plain_http_is_no_tls() -> None:
    with receiving(204) as receiver:
        url = receiver.url.replace("http:", "https:")
        assert _sender().send(url, {}, BODY) == Outcome(problem="no secure connection could be made")


def _drip(connection: socket.socket) -> None:
    for sign in b"HTTP/1.1 200 OK\r\n" + b"X-Slow: " + b"x" * 1000:
        connection.sendall(bytes([sign]))
        time.sleep(0.05)


def _sleep(_connection: socket.socket) -> None:
    time.sleep(3)


@pytest.mark.parametrize("answer", [_drip, _sleep])
def test_a_slow_answer_is_waited_for_so_long_and_no_longer(answer: Callable[[socket.socket], None]) -> None:
    with answering(answer) as port:
        outcome = _sender(0.5).send(f"http://127.0.0.1:{port}/", {}, BODY)
    assert outcome == Outcome(problem="no answer within 0.5 seconds")


def _endless(connection: socket.socket) -> None:
    connection.sendall(b"HTTP/1.1 200 OK\r\n")
    while True:
        connection.sendall(b"X-More: of the same\r\n" * 100)


def _nonsense(connection: socket.socket) -> None:
    connection.sendall(b"220 mail.tern.example ESMTP\r\n")


def _nothing(connection: socket.socket) -> None:
    connection.shutdown(socket.SHUT_RDWR)


def _odd_status(connection: socket.socket) -> None:
    connection.sendall(b"HTTP/1.1 2xx OK\r\n\r\n")


@pytest.mark.parametrize("answer", [_endless, _nonsense, _nothing, _odd_status])
def test_what_is_no_answer_is_a_try_that_failed(answer: Callable[[socket.socket], None]) -> None:
    with answering(answer) as port:
        outcome = _sender().send(f"http://127.0.0.1:{port}/", {}, BODY)
    assert outcome.status is None
    assert outcome.problem in {"what was answered is not HTTP", "the connection could not be made, or broke off"}


def test_no_more_of_an_answer_is_read_than_is_wanted() -> None:
    """The status is known from the first bytes; what a receiver sends after its headers costs nothing."""
    sent: list[int] = []

    def answer(connection: socket.socket) -> None:
        connection.sendall(b"HTTP/1.1 200 OK\r\nContent-Length: 1000000000\r\n\r\n")
        for _ in range(10_000):
            sent.append(connection.send(b"x" * 100_000))

    with answering(answer) as port:
        assert _sender().send(f"http://127.0.0.1:{port}/", {}, BODY).taken
        time.sleep(0.2)
    assert sum(sent) < 1_000_000_000
    assert MOST_ANSWER <= 65_536


def test_announcements_before_the_answer_are_passed_over() -> None:
    """RFC 9110, section 15.2: a client takes any number of 1xx answers before the final one."""

    def answer(connection: socket.socket) -> None:
        connection.sendall(b"HTTP/1.1 100 Continue\r\n\r\nHTTP/1.1 103 Early Hints\r\nLink: </a>\r\n\r\n")
        connection.sendall(b"HTTP/1.1 102 Processing\r\n\r\nHTTP/1.1 204 No Content\r\n\r\n")

    with answering(answer) as port:
        assert _sender().send(f"http://127.0.0.1:{port}/", {}, BODY) == Outcome(status=204)


def test_nobody_there() -> None:
    with socket.create_server(("127.0.0.1", 0)) as closed:
        port = closed.getsockname()[1]
    assert _sender().send(f"http://127.0.0.1:{port}/", {}, BODY) == Outcome(problem="the connection was refused")

    def nowhere(_host: str, _port: int) -> list[str]:
        raise socket.gaierror

    assert Sender(HERE, nowhere).send(f"https://{NAME}/", {}, BODY) == Outcome(problem="the host's name leads nowhere")


def test_a_second_address_is_tried_where_the_first_takes_no_connection() -> None:
    allowed = Allowed.of("SETTING", f"127.0.0.0/8 {NAME}")
    with receiving(204) as receiver:
        resolve = lambda *_: ["127.0.0.2", "127.0.0.1"]  # noqa: E731
        assert Sender(allowed, resolve).send(f"http://{NAME}:{receiver.port}/", {}, BODY).taken
