"""When a request has begun far enough for a thread, held against gunicorn's own parser: what is whole is read by it
without waiting for one byte more, and a byte before that it would have waited."""

from __future__ import annotations

import pytest
from gunicorn.config import Config
from gunicorn.http.parser import RequestParser

from service.opening import LONGEST_HEAD, SMALL_BODY, Opening

HEAD = b"POST /sign-in HTTP/1.1\r\nHost: localhost\r\n"
REQUESTS = {
    "no body": b"GET /v1/limits HTTP/1.1\r\nHost: localhost\r\n\r\n",
    "a length": HEAD + b"Content-Length: 5\r\n\r\nhello",
    "a length, oddly written": HEAD + b"content-LENGTH:5\r\nX-After: 1\r\n\r\nhello",
    "nothing, at length": HEAD + b"Content-Length: 0\r\n\r\n",
    "chunks": HEAD + b"Transfer-Encoding: chunked\r\n\r\n5\r\nhello\r\n0\r\n\r\n",
    "the end of a head in a body": HEAD + b"Content-Length: 8\r\n\r\n\r\n\r\n\r\n\r\n",
}


class WouldWait(Exception):
    """The parser has asked for a byte that has not come."""


def _reads(come: bytes) -> bool:
    """Whether gunicorn reads a whole request from what has come, and asks for no more."""

    def pieces() -> object:
        yield come
        raise WouldWait

    try:
        request = next(RequestParser(Config(), pieces(), ("127.0.0.1", 1)))  # type: ignore[no-untyped-call]
        while request.body.read(1024):
            pass
    except WouldWait:
        return False
    return True


@pytest.mark.parametrize("request_", REQUESTS.values(), ids=REQUESTS)
def test_it_is_whole_when_the_parser_waits_for_nothing(request_: bytes) -> None:
    opening = Opening()
    for number, each in enumerate(request_, start=1):
        opening.add(bytes([each]))
        assert opening.whole == _reads(request_[:number]), request_[:number]
    assert opening.take() == request_
    assert len(opening) == 0
    assert not opening.whole


@pytest.mark.parametrize("size", [1, 7, 64, 10_000])
def test_pieces_of_any_size_are_the_same(size: int) -> None:
    request = REQUESTS["a length"]
    opening = Opening()
    for start in range(0, len(request), size):
        assert not opening.whole
        opening.add(request[start : start + size])
    assert opening.whole


@pytest.mark.parametrize(
    ("told", "body"),
    [
        (b"Content-Length: 70000", b""),
        (b"Content-Length: 99999999999999999999", b""),
        (b"Content-Length: 5\r\nExpect: 100-continue", b""),
        (b"Content-Length: five", b""),
        (b"Transfer-Encoding: chunked", b"1\r\nx\r\n" * (SMALL_BODY // 6 + 1)),
    ],
    ids=["a book", "a library", "asks first", "no number", "a book in chunks"],
)
def test_what_a_thread_has_to_see_to_is_not_waited_for(told: bytes, body: bytes) -> None:
    opening = Opening()
    opening.add(HEAD + told + b"\r\n\r\n" + body)
    assert opening.whole


def test_a_head_without_an_end_is_not_gathered_for_ever() -> None:
    opening = Opening()
    while not opening.whole:
        assert len(opening) <= LONGEST_HEAD
        opening.add(b"X-Long: " + b"x" * 1_000 + b"\r\n")
