"""The row of an inspection, in SQLite and in PostgreSQL alike."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.store.conftest import new
from worker.settings import ATTEMPTS
from worker.store import BadCursor, Failure, Finished, Inspection, NewInspection, Store
from worker.store.cursor import place_of
from worker.store.models import TERMINAL, now
from worker.store.rows import DaysKept

DONE = Finished(verdict="pressworthy", reader="1", measured_at=now(), pages=12, title="Second Harbour")
BROKEN = Failure(code="limit", message="page 212 inflates past 1 GB", help="Split it.", page=212)


def claimed(store: Store) -> Inspection:
    """A row in a worker's hands."""
    row = store.rows.claim(store.rows.create(new()).id)
    assert row is not None
    return row


def ended(store: Store, state: str) -> Inspection:
    """A row in that final state."""
    row = claimed(store)
    endings: dict[str, Callable[[], object]] = {
        "done": lambda: store.rows.finish(row, DONE),
        "failed": lambda: store.rows.fail(row, BROKEN),
        "cancelled": lambda: store.rows.cancel(row.id),
    }
    endings[state]()
    return row


def test_from_intake_to_done(store: Store) -> None:
    row = store.rows.create(new(title="Proof of May"))
    assert (row.state, row.attempts, row.finished) == ("queued", 0, False)
    assert timedelta(days=29) < row.expires_at - now() <= timedelta(days=30)
    begun = store.rows.claim(row.id)
    assert begun is not None
    assert (begun.state, begun.attempts) == ("measuring", 1)
    assert store.rows.renew(begun, done=7, total=12)
    seen = store.rows.get(row.id)
    assert seen is not None
    assert (seen.progress_done, seen.progress_total) == (7, 12)
    assert store.rows.judging(begun, "1", now())
    assert store.rows.finish(begun, DONE)
    seen = store.rows.get(row.id)
    assert seen is not None
    assert (seen.state, seen.verdict, seen.reader, seen.finished) == ("done", "pressworthy", "1", True)
    assert (seen.title, seen.lease_until) == ("Proof of May", None)
    assert seen.measured_at == DONE.measured_at


def test_the_documents_title_serves_where_none_was_given(store: Store) -> None:
    row = store.rows.get(ended(store, "done").id)
    assert row is not None
    assert row.title == "Second Harbour"


def test_a_failure_keeps_its_reason_and_its_attempt(store: Store) -> None:
    row = store.rows.get(ended(store, "failed").id)
    assert row is not None
    assert row.failure == {
        "code": "limit",
        "message": "page 212 inflates past 1 GB",
        "help": "Split it.",
        "page": 212,
        "attempt": 1,
    }


@pytest.mark.parametrize("state", TERMINAL)
def test_a_final_state_stays(store: Store, state: str) -> None:
    row = ended(store, state)
    assert not store.rows.renew(row)
    assert not store.rows.judging(row, "1", now())
    assert not store.rows.finish(row, DONE)
    assert not store.rows.fail(row, BROKEN)
    assert not store.rows.give_back(row, counts=True)
    assert store.rows.claim(row.id) is None
    cancelled = store.rows.cancel(row.id)
    assert cancelled is not None
    assert cancelled.state == state


def test_only_its_owner_sees_it(store: Store) -> None:
    row = store.rows.create(new("tok_a"))
    assert store.rows.get(row.id, "tok_a") is not None
    assert store.rows.get(row.id, "tok_b") is None
    assert store.rows.cancel(row.id, "tok_b") is None
    assert not store.delete(row.id, "tok_b")
    assert store.rows.page("tok_b").items == []
    seen = store.rows.get(row.id)
    assert seen is not None
    assert seen.state == "queued"
    assert store.delete(row.id, "tok_a")
    assert store.rows.get(row.id) is None


def test_of_many_claims_one_succeeds(store: Store) -> None:
    row = store.rows.create(new())
    at_once = threading.Barrier(6)

    def claim(_: int) -> bool:
        at_once.wait()
        return store.rows.claim(row.id) is not None

    with ThreadPoolExecutor(6) as pool:
        assert sum(pool.map(claim, range(6))) == 1


def test_a_lapsed_lease_is_taken_over_and_the_late_one_writes_nothing(store: Store) -> None:
    late = claimed(store)
    assert store.rows.claim(late.id) is None
    _let_lapse(store, late)
    successor = store.rows.claim(late.id)
    assert successor is not None
    assert successor.attempts == 2
    assert not store.rows.renew(late)
    assert not store.rows.finish(late, DONE)
    assert not store.rows.fail(late, BROKEN)
    assert store.rows.finish(successor, DONE)


def test_after_three_attempts_it_fails_with_the_reason(store: Store) -> None:
    row = store.rows.create(new())
    for attempt in range(1, ATTEMPTS + 1):
        begun = store.rows.claim(row.id)
        assert begun is not None
        assert begun.attempts == attempt
        _let_lapse(store, begun)
    assert store.rows.claim(row.id) is None
    seen = store.rows.get(row.id)
    assert seen is not None
    assert seen.failure is not None
    assert seen.state == "failed"
    assert seen.failure["message"] == "the file stopped the worker three times"
    assert seen.failure["attempt"] == ATTEMPTS


def test_what_a_stopping_worker_gives_back_costs_no_attempt(store: Store) -> None:
    row = claimed(store)
    assert store.rows.give_back(row, counts=False)
    again = store.rows.claim(row.id)
    assert again is not None
    assert again.attempts == 1
    assert store.rows.give_back(again, counts=True)
    third = store.rows.claim(row.id)
    assert third is not None
    assert third.attempts == 2


def test_the_place_in_the_queue(store: Store) -> None:
    first, second, third = (store.rows.create(new()) for _ in range(3))
    assert [store.rows.position(row) for row in (first, second, third)] == [1, 2, 3]
    begun = store.rows.claim(first.id)
    assert begun is not None
    assert store.rows.position(begun) is None
    assert [store.rows.position(row) for row in (second, third)] == [1, 2]


def test_a_list_is_paged_newest_first_and_misses_none(store: Store) -> None:
    rows = [store.rows.create(new()) for _ in range(7)]
    store.rows.create(new("somebody-else"))
    seen: list[str] = []
    cursor = None
    while True:
        page = store.rows.page("local", after=cursor, size=3)
        assert len(page.items) <= 3
        seen += [row.id for row in page.items]
        if page.next is None:
            break
        cursor = page.next
        store.rows.create(new())  # what is new meanwhile does not shift the rest
    assert seen == [row.id for row in reversed(rows)]


def test_a_list_is_filtered(store: Store) -> None:
    harbour = store.rows.create(new(title="Second Harbour, 100% proofed"))
    tables = store.rows.create(new(file_name="Tide_Tables.pdf", profile_id="gull-rock-offset"))
    store.rows.cancel(tables.id)

    def found(**asked: str) -> list[str]:
        return [row.id for row in store.rows.page("local", **asked).items]  # type: ignore[arg-type]

    assert found(title="second HARBOUR") == [harbour.id]
    assert found(title="tide_") == [tables.id]
    assert found(title="100%") == [harbour.id]
    assert found(title="%") == [harbour.id]
    assert found(title="t_ble") == []
    assert found(profile="gull-rock-offset") == [tables.id]
    assert found(state="cancelled") == [tables.id]
    assert found(state="queued", profile="gull-rock-offset") == []
    assert found(verdict="pressworthy") == []


@given(st.text())
def test_any_other_cursor_is_refused_by_name(text: str) -> None:
    with pytest.raises(BadCursor, match="not one of ours"):
        place_of(text)


def test_who_has_measured_the_same_bytes(store: Store) -> None:
    assert store.rows.measured_before("ab" * 32, "1") is None
    other = store.rows.create(new("somebody-else"))
    begun = store.rows.claim(other.id)
    assert begun is not None
    assert store.rows.measured_before("ab" * 32, "1") is None
    store.rows.judging(begun, "1", now())
    found = store.rows.measured_before("ab" * 32, "1")
    assert found is not None
    assert found.id == other.id
    assert store.rows.measured_before("ab" * 32, "2") is None
    assert store.rows.measured_before("cd" * 32, "1") is None


def test_each_ringing_is_given_to_one_sweep(store: Store) -> None:
    waits, silent = store.rows.create(new()), claimed(store)
    assert store.rows.waiting(rung_before=now() - timedelta(seconds=10)) == []
    assert store.rows.waiting(rung_before=now()) == [waits.id]
    assert store.rows.waiting(rung_before=now() - timedelta(seconds=1)) == []
    assert store.rows.lapsed(rung_before=now()) == []
    _let_lapse(store, silent)
    assert store.rows.lapsed(rung_before=now()) == [silent.id]
    assert store.rows.lapsed(rung_before=now() - timedelta(seconds=1)) == []
    assert store.rows.queued() == 1


def test_what_a_worker_has_in_hand_does_not_expire(database_url: str, store: Store) -> None:
    store.rows._kept = DaysKept(*[timedelta(seconds=-1)] * 3)
    waits, over = store.rows.create(new()), ended(store, "done")
    in_hand = store.rows.claim(store.rows.create(new()).id)
    assert in_hand is not None
    assert store.rows.expired() == sorted([waits.id, over.id])
    assert store.rows.file_expired() == sorted([waits.id, over.id])
    assert not store.rows.give_up_file(in_hand.id)


def test_judged_again_is_done_at_once(store: Store) -> None:
    row = store.rows.create_done(new(profile_id="gull-rock-offset"), DONE)
    assert (row.state, row.verdict, row.progress_done, row.progress_total) == ("done", "pressworthy", 12, 12)
    assert store.rows.claim(row.id) is None


@pytest.mark.parametrize("owner", ["local", "'; DROP TABLE inspections; --"])
def test_text_is_only_text(store: Store, owner: str) -> None:
    name = "<script>\N{RIGHT-TO-LEFT OVERRIDE} \N{OPEN BOOK} ' \" %.pdf"
    row = store.rows.create(new(owner, file_name=name))
    seen = store.rows.get(row.id, owner)
    assert seen is not None
    assert seen.file_name == name


def test_four_writers_lose_nothing(store: Store) -> None:
    """Reading and then writing, side by side: in SQLite with a deferred begin most of these would fail."""
    each = 15

    def write(_: int) -> None:
        for _ in range(each):
            row = store.rows.claim(store.rows.create(new()).id)
            assert row is not None
            assert store.rows.renew(row, done=1, total=2)
            assert store.rows.finish(row, DONE)

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(write, range(4)))
    assert len(store.rows.page("local", state="done", size=200).items) == 4 * each


def _let_lapse(store: Store, row: Inspection) -> None:
    """Wait out the lease of a second."""
    assert row.lease_until is not None
    while now() <= row.lease_until:
        time.sleep(0.05)


def test_a_new_inspection_is_complete() -> None:
    """Every fact of intake has its column, so that none is dropped on the way."""
    assert set(NewInspection.__dataclass_fields__) <= set(Inspection.__table__.columns.keys())
