"""Many small requests, of each kind a little: a real gunicorn answers all of them, and neither its memory nor its
descriptors grow with their number (VmHWM, /proc/PID/fd; proc(5))."""

from __future__ import annotations

import http.client
import json
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path

import pytest

from tests.api.server import Web, serving

REQUESTS = 1_200
"""How many are sent; with ten thousand the figures are the same, and it takes longer."""
CALLERS = 12
MOST_GROWTH = 48 * 1024 * 1024
"""Bytes that the process may grow by, once every kind of request has been answered: common practice, no source."""

KINDS: list[tuple[str, str, bytes | None, dict[str, str]]] = [
    ("GET", "/v1/inspections", None, {}),
    ("GET", "/v1/inspections?title=" + "x" * 300, None, {}),
    ("GET", "/v1/inspections/ins_" + "a" * 26, None, {}),
    ("GET", "/inspections/ins_" + "a" * 26, None, {"Accept": "text/html"}),
    ("GET", "/", None, {"Accept": "text/html"}),
    ("GET", "/shared/" + "A" * 43, None, {}),
    ("GET", "/v1/quota", None, {}),
    ("GET", "/nowhere/" + "y" * 2_000, None, {}),
    ("DELETE", "/v1/inspections/ins_" + "a" * 26, None, {}),
    ("POST", "/v1/inspections?profile=nobody", b"%PDF-1.4", {"Content-Type": "application/pdf"}),
    ("POST", "/v1/inspections?profile=ternhaven-mono", b"no book", {"Content-Type": "application/pdf"}),
    ("POST", "/v1/inspections", b"--x", {"Content-Type": "multipart/form-data; boundary=x"}),
    (
        "POST",
        f"/v1/inspections/ins_{'a' * 26}/shares",
        json.dumps({"days": 3}).encode(),
        {"Content-Type": "application/json"},
    ),
    ("POST", "/sign-in", b"token=pw_x&form_secret=x", {"Content-Type": "application/x-www-form-urlencoded"}),
]


@pytest.fixture(scope="module")
def web(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Web]:
    data: Path = tmp_path_factory.mktemp("many")
    with serving(
        data, PRESSWORTHY_BROKER_URL=f"redis+socket://{data}/nobody.sock", PRESSWORTHY_MAX_REQUESTS="1000000"
    ) as found:
        yield found


def _caller(web: Web, requests: int, first: int) -> Counter[int]:
    """What one caller is answered, on one connection for as long as it is kept open."""
    statuses: Counter[int] = Counter()
    with closing(http.client.HTTPConnection("127.0.0.1", web.port, timeout=60)) as connection:
        for number in range(first, first + requests):
            method, address, body, headers = KINDS[number % len(KINDS)]
            connection.request(method, address, body, headers)
            answer = connection.getresponse()
            answer.read()
            statuses[answer.status] += 1
    return statuses


def _all(web: Web, requests: int) -> Counter[int]:
    share = requests // CALLERS
    with ThreadPoolExecutor(CALLERS) as threads:
        answered = threads.map(lambda number: _caller(web, share, number * 5), range(CALLERS))
        return sum(answered, Counter())


def test_many_small_requests_are_all_answered_in_bounded_memory(web: Web) -> None:
    _all(web, CALLERS * len(KINDS) * 2)
    before, opened = max(web.peaks()), web.descriptors()
    statuses = _all(web, REQUESTS)
    assert sum(statuses.values()) == REQUESTS
    assert set(statuses) <= {200, 400, 403, 404, 415, 422, 503}, statuses
    assert max(web.peaks()) - before < MOST_GROWTH
    assert web.descriptors() - opened < CALLERS * 4
