"""What is made beside an inspection's row: all of it or nothing, whoever comes first (SQLite and PostgreSQL)."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest

from service.idempotency import Once
from tests.store.conftest import new
from worker.limits import Quota
from worker.store import Beside, Inspection, KeyTaken, Store, asked_for, key_taken_by

DAY = timedelta(days=1)
OVER = timedelta(seconds=-1)


def _create(store: Store, key: str, *, owner: str = "local", kept: timedelta = DAY) -> Inspection:
    wished = new(owner)
    taken = key_taken_by(wished.id, owner=owner, key=key, fingerprint="f" * 64, kept=kept)
    call = asked_for(wished.id, owner=owner, signer=owner, key_mark="m" * 16, url="https://desk.tern.example/")
    return store.rows.create(wished, Beside(taken, call))


def test_a_key_makes_one_inspection(store: Store) -> None:
    first = _create(store, "a")
    with pytest.raises(KeyTaken) as told:
        _create(store, "a")
    assert (told.value.taken.inspection_id, told.value.taken.fingerprint) == (first.id, "f" * 64)
    assert [row.id for row in store.rows.page("local").items] == [first.id]
    found = store.idempotency.find("local", "a")
    assert found is not None
    assert (found.inspection_id, found.fingerprint) == (first.id, "f" * 64)
    assert store.callbacks.of_inspection(first.id) is not None
    assert _create(store, "b").id != first.id
    assert _create(store, "a", owner="tok_other").id != first.id


@pytest.mark.parametrize("before", [None, OVER], ids=["a new key", "a key whose time is over"])
def test_of_many_at_once_one_is_made_and_the_others_are_told(store: Store, before: timedelta | None) -> None:
    if before is not None:
        _create(store, "a", kept=before)
    ready = Barrier(8)

    def attempt(_: int) -> tuple[str, bool]:
        ready.wait(60)
        once = Once(store, "local", "a", "f" * 64, DAY)
        row, told = once.admit(lambda: _create(store, "a"))
        return row.id, told

    with ThreadPoolExecutor(8) as pool:
        answered = list(pool.map(attempt, range(8)))
    assert len({each for each, _ in answered}) == 1
    assert [told for _, told in answered].count(False) == 1
    assert len(store.rows.page("local").items) == (1 if before is None else 2)


def test_a_key_whose_time_is_over_is_free(store: Store) -> None:
    """Also where nobody has looked it up, or swept, since."""
    _create(store, "old", kept=OVER)
    assert store.idempotency.find("local", "old") is None
    second = _create(store, "old")
    store.idempotency.forget_expired()
    found = store.idempotency.find("local", "old")
    assert found is not None
    assert found.inspection_id == second.id


def test_a_key_that_ends_between_look_up_and_row_is_answered_all_the_same(store: Store) -> None:
    """Another upload takes it after the look-up, and by the time of the answer nothing of it is left."""
    other: list[str] = []

    def overtaken() -> Inspection:
        other.append(_create(store, "a").id)
        try:
            return _create(store, "a")
        finally:
            _forget(store, "a")

    row, told = Once(store, "local", "a", "f" * 64, DAY).admit(overtaken)
    assert ([row.id], told) == (other, True)


def _forget(store: Store, key: str) -> None:
    """The key's time ends, and a sweep comes by."""
    with store._database.write() as session:
        session.merge(key_taken_by("ins", owner="local", key=key, fingerprint="", kept=OVER))
    store.idempotency.forget_expired()
    assert store.idempotency.find("local", key) is None


def test_what_is_sent_again_takes_no_place(store: Store) -> None:
    """The quota is spent by the first of two at once; the second is told which that is."""
    store.rows._quota = Quota(at_once=1, a_day=1, bytes=10**9)
    first = _create(store, "a")
    with pytest.raises(KeyTaken) as told:
        _create(store, "a")
    assert told.value.taken.inspection_id == first.id


def test_a_key_outlives_its_inspection(store: Store) -> None:
    row = _create(store, "a")
    store.delete(row.id)
    found = store.idempotency.find("local", "a")
    assert found is not None
    assert store.rows.get(found.inspection_id) is None
