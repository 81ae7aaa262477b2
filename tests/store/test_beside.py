"""Rows that are made beside an inspection's own: all of them or none, whoever comes first (SQLite and PostgreSQL)."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest

from tests.store.conftest import new
from worker.store import Clash, Inspection, Store, asked_for, key_taken_by

DAY = timedelta(days=1)


def _create(store: Store, key: str, *, owner: str = "local", kept: timedelta = DAY) -> Inspection:
    wished = new(owner)
    taken = key_taken_by(wished.id, owner=owner, key=key, fingerprint="f" * 64, kept=kept)
    call = asked_for(wished.id, owner=owner, signer=owner, key_mark="m" * 16, url="https://desk.tern.example/")
    return store.rows.create(wished, beside=[taken, call])


def test_a_key_makes_one_inspection(store: Store) -> None:
    first = _create(store, "a")
    with pytest.raises(Clash):
        _create(store, "a")
    assert [row.id for row in store.rows.page("local").items] == [first.id]
    found = store.idempotency.find("local", "a")
    assert found is not None
    assert (found.inspection_id, found.fingerprint) == (first.id, "f" * 64)
    assert store.callbacks.of_inspection(first.id) is not None
    assert _create(store, "b").id != first.id
    assert _create(store, "a", owner="tok_other").id != first.id


def test_of_many_at_once_one_is_made_and_the_others_are_told(store: Store) -> None:
    ready = Barrier(8)

    def attempt(_: int) -> bool:
        ready.wait(60)
        try:
            _create(store, "a")
        except Clash:
            return store.idempotency.find("local", "a") is None
        return True

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(attempt, range(8))) == 1
    assert len(store.rows.page("local").items) == 1


def test_a_key_whose_time_is_over_is_free(store: Store) -> None:
    _create(store, "old", kept=timedelta(seconds=-1))
    assert store.idempotency.find("local", "old") is None
    _create(store, "old")
    store.idempotency.forget_expired()
    assert store.idempotency.find("local", "old") is not None


def test_a_key_outlives_its_inspection(store: Store) -> None:
    row = _create(store, "a")
    store.delete(row.id)
    found = store.idempotency.find("local", "a")
    assert found is not None
    assert store.rows.get(found.inspection_id) is None
