"""Counts of rows, as whoever runs the service sees them; on both databases."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from tests.store.conftest import new
from worker.store import Failure, Finished, Store, file_key, report_key
from worker.store.models import now

WHEN = datetime(2026, 11, 25, tzinfo=UTC)


def _done(store: Store, verdict: str) -> None:
    store.rows.create_done(new(), Finished(verdict, "test", WHEN, 12))


def _failed(store: Store, code: str) -> None:
    row = store.rows.claim(store.rows.create(new()).id)
    assert row is not None
    assert store.rows.fail(row, Failure(code, "what happened", "what to do"))


def test_an_empty_store_has_nothing_to_tell(store: Store) -> None:
    queued = store.overview.queued()
    assert (queued.waiting, queued.oldest, queued.running) == (0, None, 0)
    assert store.overview.ended(since=now() - timedelta(days=7)) == []
    assert store.overview.kept() == 0
    assert (store.bytes.usage().objects, store.bytes.usage().bytes) == (0, 0)


def test_what_waits_and_since_when(store: Store) -> None:
    first = store.rows.create(new())
    store.rows.create(new("tok_other"))
    running = store.rows.claim(store.rows.create(new()).id)
    assert running is not None
    queued = store.overview.queued()
    assert (queued.waiting, queued.oldest, queued.running) == (2, first.created_at, 1)


def test_how_inspections_ended(store: Store) -> None:
    for verdict in ("pressworthy", "not-pressworthy", "not-pressworthy"):
        _done(store, verdict)
    for code in ("limit", "limit", "reader"):
        _failed(store, code)
    store.rows.cancel(store.rows.create(new()).id)
    store.rows.create(new())
    told = {(each.state, each.verdict, each.failure): each.count for each in store.overview.ended(since=WHEN)}
    assert told == {
        ("done", "pressworthy", None): 1,
        ("done", "not-pressworthy", None): 2,
        ("failed", None, "limit"): 2,
        ("failed", None, "reader"): 1,
        ("cancelled", None, None): 1,
    }
    assert store.overview.ended(since=now() + timedelta(minutes=1)) == []
    assert store.overview.kept() == 8


def test_what_is_kept_is_counted_once(store: Store) -> None:
    row, again = store.rows.create(new()), store.rows.create(new())
    store.bytes.write(file_key(row.id), b"x" * 1000)
    store.bytes.write(report_key(row.id), b"y" * 10)
    usage = store.bytes.usage()
    assert (usage.objects, usage.bytes) == (2, 1010)
    store.bytes.copy(file_key(row.id), file_key(again.id))
    assert store.bytes.usage().objects == 3
