"""Uploads over a real connection: what a 300 MB file costs in memory, and that whoever is refused can read why.

Memory is the kernel's own peak of each process (VmHWM, proc(5)).
"""

from __future__ import annotations

import hashlib
import json
import socket
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from tests.api.server import Web, serving
from worker.settings import Settings
from worker.store import file_key, open_store

pytestmark = pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs Linux's /proc")

MEGABYTE = 1_000_000
MOST_MEMORY = 200 * MEGABYTE
PIECE = bytes(range(256)) * 256
PIECES = 300 * MEGABYTE // len(PIECE)
HEAD = b"%PDF-1.7\n"
SIZE = len(HEAD) + PIECES * len(PIECE)

FORM_HEAD = (
    b'--tern\r\nContent-Disposition: form-data; name="profile"\r\n\r\nternhaven-mono\r\n'
    b'--tern\r\nContent-Disposition: form-data; name="file"; filename="long-mole.pdf"\r\n\r\n'
)
FORM_END = b"\r\n--tern--\r\n"
FORM = "multipart/form-data; boundary=tern"
PDF = "application/pdf"


def _file() -> Iterator[bytes]:
    yield HEAD
    for _ in range(PIECES):
        yield PIECE


def _form() -> Iterator[bytes]:
    yield FORM_HEAD
    yield from _file()
    yield FORM_END


@pytest.fixture(scope="module")
def sha256() -> str:
    whole = hashlib.sha256()
    for piece in _file():
        whole.update(piece)
    return whole.hexdigest()


@pytest.mark.parametrize("announced", [True, False], ids=["Content-Length", "chunked"])
@pytest.mark.parametrize("kind", [FORM, PDF], ids=["form", "body"])
def test_a_file_of_300_mb_is_never_whole_in_memory(tmp_path: Path, sha256: str, kind: str, announced: bool) -> None:
    body, size = (_form(), SIZE + len(FORM_HEAD) + len(FORM_END)) if kind == FORM else (_file(), SIZE)
    headers = {"Content-Type": kind} | ({"Content-Length": str(size)} if announced else {})
    target = "/v1/inspections" + ("" if kind == FORM else "?profile=ternhaven-mono")
    with serving(tmp_path) as web:
        answer = web.send(target, body, headers)
        peaks = web.peaks()
    told = json.loads(answer.body)  # type: ignore[attr-defined]
    assert (answer.status, told["file"]["sha256"], told["file"]["bytes"]) == (202, sha256, SIZE), told
    assert len(peaks) == 2  # gunicorn's arbiter and its one worker
    assert max(peaks) < MOST_MEMORY, peaks
    store = open_store(Settings.from_environment(tmp_path, {}))
    assert store.bytes.size(file_key(told["id"])) == SIZE
    store.delete(told["id"])
    store.close()


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Web]:
    """A service that takes a megabyte."""
    with serving(tmp_path_factory.mktemp("small"), PRESSWORTHY_MAX_BYTES=str(MEGABYTE)) as web:
        yield web


@pytest.fixture(scope="module")
def guarded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Web]:
    """A service that asks for a token."""
    with serving(tmp_path_factory.mktemp("guarded"), PRESSWORTHY_ASKS_FOR_TOKEN="yes") as web:
        yield web


def _thirty_megabytes() -> Iterator[bytes]:
    yield HEAD
    for _ in range(30 * MEGABYTE // len(PIECE)):
        yield PIECE


ANNOUNCED = {"Content-Length": str(len(HEAD) + 30 * MEGABYTE // len(PIECE) * len(PIECE))}
TO = "/v1/inspections?profile=ternhaven-mono"


@pytest.mark.parametrize("length", [ANNOUNCED, {}], ids=["Content-Length", "chunked"])
def test_whoever_sends_too_much_reads_so(small: Web, length: dict[str, str]) -> None:
    """The sender reads nothing before it has sent everything, as most do."""
    answer = small.send(TO, _thirty_megabytes(), length | {"Content-Type": PDF})
    told = json.loads(answer.body)  # type: ignore[attr-defined]
    assert (answer.status, told["type"], told["limit"]) == (413, "/problems/too-large", {"bytes": MEGABYTE})


@pytest.mark.parametrize("length", [ANNOUNCED, {}], ids=["Content-Length", "chunked"])
def test_whoever_has_no_token_reads_so(guarded: Web, length: dict[str, str]) -> None:
    answer = guarded.send(TO, _thirty_megabytes(), length | {"Content-Type": PDF})
    assert answer.status == 401
    assert answer.headers["Content-Type"] == "application/problem+json"


def test_another_media_type_is_refused_over_the_wire_too(small: Web) -> None:
    answer = small.send(TO, _thirty_megabytes(), ANNOUNCED | {"Content-Type": "text/plain"})
    assert answer.status == 415


def _raw(web: Web, request: bytes) -> bytes:
    with closing(socket.create_connection(("127.0.0.1", web.port), timeout=30)) as connection:
        connection.sendall(request)
        connection.shutdown(socket.SHUT_WR)
        answer = b""
        while piece := connection.recv(65536):
            answer += piece
    return answer


@pytest.mark.parametrize(
    "body",
    [
        b"Content-Length: 5000\r\n\r\n%PDF-1.7",
        b"Transfer-Encoding: chunked\r\n\r\n8\r\n%PDF-1.7\r\n",
        b"Transfer-Encoding: chunked\r\n\r\n8\r\n%PDF-1.7\r\nzz\r\n",
    ],
    ids=["cut", "cut in chunks", "broken chunk"],
)
def test_a_body_that_breaks_off_is_one_clear_refusal(small: Web, body: bytes) -> None:
    request = f"POST {TO} HTTP/1.1\r\nHost: localhost\r\nContent-Type: {PDF}\r\n".encode() + body
    head, _, told = _raw(small, request).partition(b"\r\n\r\n")
    assert head.startswith(b"HTTP/1.1 400 ")
    assert b"application/problem+json" in head
    assert json.loads(told)["type"] == "/problems/malformed-request"


@pytest.mark.parametrize(
    ("request_", "status"),
    [
        (b"nonsense\r\n\r\n", 400),
        (b"GET /v1/limits HTTP/9.9\r\nHost: localhost\r\n\r\n", 400),
        (b"GET /v1/limits HTTP/1.1\r\nHost: localhost\r\nContent-Length: x\r\n\r\n", 400),
        (b"GET /v1/inspections?title=" + b"x" * 9000 + b" HTTP/1.1\r\nHost: localhost\r\n\r\n", 414),
        (b"GET /v1/limits HTTP/1.1\r\nHost: localhost\r\nX-Long: " + b"x" * 90_000 + b"\r\n\r\n", 431),
        (b"POST /v1/limits HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: steam\r\n\r\n", 501),
    ],
    ids=["no HTTP", "version", "length", "long address", "long header", "coding"],
)
def test_what_never_reaches_the_service_is_refused_in_the_same_shape(small: Web, request_: bytes, status: int) -> None:
    head, _, told = _raw(small, request_).partition(b"\r\n\r\n")
    assert head.startswith(f"HTTP/1.1 {status} ".encode()), head
    assert b"application/problem+json" in head
    problem = json.loads(told)
    assert problem["status"] == status
    assert {"type", "title", "detail"} <= set(problem)


def test_nothing_of_what_was_refused_is_left(small: Web, tmp_path_factory: pytest.TempPathFactory) -> None:
    files = next(tmp_path_factory.getbasetemp().glob("small*")) / "files"
    assert [path for path in files.rglob("*") if path.is_file()] == []
