"""Uploads with one ``Idempotency-Key`` at the same moment, through a real gunicorn, on both databases.

That there is one inspection, and one answer for all, is what draft-ietf-httpapi-idempotency-key-header asks for.
"""

from __future__ import annotations

import http.client
import json
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from threading import Barrier

from tests.api import books
from tests.api.server import serving
from worker.settings import Settings
from worker.store import Store, open_store

TO = "/v1/inspections"
PDF = "application/pdf"
AT_ONCE = 8
ROUNDS = 5


def test_of_many_at_once_one_makes_the_inspection(database_url: str, tmp_path: Path) -> None:
    """A real gunicorn, as many threads, one key: one inspection, one file, the same answer for all."""
    with serving(tmp_path, PRESSWORTHY_DATABASE_URL=database_url) as web, ThreadPoolExecutor(AT_ONCE) as pool:
        for number in range(ROUNDS):
            ready = Barrier(AT_ONCE)
            told = list(
                pool.map(lambda _, n=number, b=ready: _over_the_wire(web.port, f'"round-{n}"', b), range(AT_ONCE))
            )
            assert {status for status, _, _ in told} == {202}
            assert len({body["id"] for _, _, body in told}) == 1
            assert Counter(replayed for _, replayed, _ in told) == {None: 1, "true": AT_ONCE - 1}
    store = open_store(Settings.from_environment(tmp_path, {"PRESSWORTHY_DATABASE_URL": database_url}))
    assert len(_ids(store)) == len(store.bytes.inspections(untouched_for=-1)) == ROUNDS
    store.close()


def test_of_many_different_ones_at_once_one_has_the_key(database_url: str, tmp_path: Path) -> None:
    with serving(tmp_path, PRESSWORTHY_DATABASE_URL=database_url) as web, ThreadPoolExecutor(AT_ONCE) as pool:
        ready = Barrier(AT_ONCE)
        told = list(pool.map(lambda n: _over_the_wire(web.port, '"one"', ready, pages=n + 1), range(AT_ONCE)))
    statuses = Counter(status for status, _, _ in told)
    assert statuses == {202: 1, 422: AT_ONCE - 1}
    assert {body["type"] for status, _, body in told if status == 422} == {"/problems/idempotency-key-reused"}
    store = open_store(Settings.from_environment(tmp_path, {"PRESSWORTHY_DATABASE_URL": database_url}))
    assert len(_ids(store)) == len(store.bytes.inspections(untouched_for=-1)) == 1
    store.close()


def _over_the_wire(port: int, key: str, ready: Barrier, *, pages: int = 3) -> tuple[int, str | None, dict[str, str]]:
    """The answer's status, what it says of the repetition, and its body."""
    headers = {"Content-Type": PDF, "Idempotency-Key": key}
    content = books.book(pages)
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=60)) as connection:
        connection.connect()
        ready.wait(60)
        connection.request("POST", f"{TO}?profile=ternhaven-mono", content, headers)
        answer = connection.getresponse()
        return answer.status, answer.headers.get("Idempotent-Replayed"), json.loads(answer.read())


def _ids(store: Store) -> list[str]:
    return [row.id for row in store.rows.page("local", size=200).items]
