"""What an owner may have, on both databases. The last place is one place, however many come at once: each thread's own
transaction is a connection of its own, as two web processes have them."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.store.conftest import a_store, new
from worker.limits import Quota
from worker.store import Finished, Intake, OverQuota, Store, Used
from worker.store.models import now
from worker.store.quotas import next_day, today

DONE = Finished("pressworthy", "test", datetime(2026, 11, 25, tzinfo=UTC), 12)


def _allow(store: Store, *, at_once: int = 100, a_day: int = 100, size: int = 100_000) -> None:
    store.rows._quota = Quota(at_once, a_day, size)


def _tries(store: Store, tries: int) -> int:
    """How many of so many uploads at once are let in."""

    def upload(_: int) -> bool:
        try:
            store.rows.create(new())
        except OverQuota:
            return False
        return True

    with ThreadPoolExecutor(tries) as threads:
        return sum(threads.map(upload, range(tries)))


def test_what_is_used_is_counted_for_each_owner(store: Store) -> None:
    store.rows.create(new())
    store.rows.cancel(store.rows.create(new()).id)
    store.rows.create(new(owner="mem_other"))
    assert store.quotas.used("local") == Used(at_once=1, a_day=2, bytes=2000)
    assert store.quotas.used("mem_other") == Used(at_once=1, a_day=1, bytes=1000)
    assert store.quotas.used("mem_nobody") == Used(0, 0, 0)


def test_files_at_once(store: Store) -> None:
    _allow(store, at_once=2)
    first = store.rows.create(new())
    assert store.rows.claim(store.rows.create(new()).id) is not None
    with pytest.raises(OverQuota) as over:
        store.rows.create(new())
    assert (over.value.which, over.value.used, over.value.most) == ("at-once", 2, 2)
    store.rows.create(new(owner="mem_other"))
    store.rows.cancel(first.id)
    store.rows.create(new())


def test_files_a_day_count_when_they_are_deleted_too(store: Store) -> None:
    _allow(store, a_day=2)
    for _ in range(2):
        store.delete(store.rows.create(new()).id)
    with pytest.raises(OverQuota) as over:
        store.rows.create(new())
    assert over.value.which == "a-day"
    assert store.quotas.used("local").at_once == 0


def test_the_day_before_does_not_count_and_is_forgotten(store: Store) -> None:
    _allow(store, a_day=2)
    with store._database.write() as session:
        session.add(Intake(owner="local", day=today() - timedelta(days=1), files=2))
        session.add(Intake(owner="local", day=today() - timedelta(days=2), files=2))
    store.rows.create(new())
    store.quotas.forget_past_days()
    with store._database.read() as session:
        assert session.get(Intake, ("local", today() - timedelta(days=2))) is None
        assert session.get(Intake, ("local", today())) is not None
    assert timedelta(0) < next_day() - now() <= timedelta(days=1)


def test_bytes_of_files_that_are_kept(store: Store) -> None:
    _allow(store, size=2500)
    first = store.rows.create(new())
    store.rows.create(new())
    with pytest.raises(OverQuota) as over:
        store.rows.create(new())
    assert (over.value.which, over.value.used, over.value.most) == ("bytes", 2000, 2500)
    store.rows.note_deleted(first.id, file=True)
    store.rows.create(new())


def test_judging_again_takes_room_and_nothing_else(store: Store) -> None:
    _allow(store, at_once=1, a_day=1, size=2500)
    store.rows.create(new())
    store.rows.create_done(new(), DONE)
    with pytest.raises(OverQuota):
        store.rows.create_done(new(), DONE)
    store.rows.create_done(new(file_deleted_at=now()), DONE)
    assert store.quotas.used("local") == Used(at_once=1, a_day=1, bytes=2000)


@pytest.mark.parametrize("allowed", [{"at_once": 3}, {"a_day": 3}, {"size": 3999}])
def test_uploads_at_once_do_not_share_the_last_place(store: Store, allowed: dict[str, int]) -> None:
    _allow(store, **allowed)
    assert _tries(store, 12) == 3
    used = store.quotas.used("local")
    assert (used.at_once, used.a_day, used.bytes) == (3, 3, 3000)


def test_what_is_refused_is_not_counted(database_url: str, tmp_path: Path) -> None:
    store = a_store(database_url, tmp_path / "files")
    _allow(store, at_once=1)
    assert _tries(store, 8) == 1
    again = a_store(database_url, tmp_path / "files")  # as another process sees it
    assert again.quotas.used("local") == Used(1, 1, 1000)
    again.close()
    store.close()
