"""From the end of an inspection to its receiver, in SQLite and PostgreSQL: one call, repeated until it is taken.

Signatures are verified by the package standardwebhooks, the reference of the Standard Webhooks specification.
"""

from __future__ import annotations

import json
import logging
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import create_engine, make_url, text
from standardwebhooks.webhooks import Webhook, WebhookVerificationError

from tests.callbacks.receiver import Receiver, receiving
from tests.store.conftest import a_store, new
from worker.callbacks.address import Allowed
from worker.callbacks.courier import Courier
from worker.callbacks.message import body_of
from worker.callbacks.sending import Sender
from worker.callbacks.signing import callback_secret, key_mark
from worker.logs import request_id
from worker.settings import ATTEMPTS
from worker.store import Beside, Delivery, Failure, Finished, Inspection, Store, asked_for
from worker.store.models import now

KEY = "k" * 64
MINE = "tok_mine"
HERE = Allowed.of("SETTING", "127.0.0.1")
FINISHED = Finished("reservations", "3", datetime(2026, 11, 25, tzinfo=UTC), 240, "The Long Mole")
FAILURE = Failure("limit", "page 212 inflates past 1 GB", "Make its pictures smaller.", 212)
WAITS = (5, 300)


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    with receiving() as found:
        yield found


def _courier(store: Store, *, key: str = KEY, waits: tuple[int, ...] = WAITS, seconds: float = 5) -> Courier:
    return Courier(store, key, waits, Sender(HERE, seconds=seconds), threading.Event())


def _upload(store: Store, url: str, *, owner: str = "local") -> Inspection:
    wished = new(owner)
    call = asked_for(wished.id, owner=owner, signer=MINE, key_mark=key_mark(KEY), url=url)
    return store.rows.create(wished, Beside(call=call))


def _done(store: Store, url: str, *, owner: str = "local") -> Inspection:
    row = store.rows.claim(_upload(store, url, owner=owner).id)
    assert row is not None
    assert store.rows.finish(row, FINISHED)
    return row


def _delivery(store: Store, row: Inspection) -> Delivery:
    found = store.callbacks.of_inspection(row.id)
    assert found is not None
    return found


def _make_due(url: str) -> None:
    """The time of the next try has come, and every lease has lapsed."""
    driver = "sqlite" if url.startswith("sqlite") else "postgresql+psycopg"
    engine = create_engine(make_url(url).set(drivername=driver))
    past = "2026-01-01 00:00:00+00:00"
    with engine.begin() as connection:
        connection.execute(text(f"UPDATE deliveries SET next_at = '{past}' WHERE next_at IS NOT NULL"))  # noqa: S608
        connection.execute(text(f"UPDATE deliveries SET lease_until = '{past}' WHERE lease_until IS NOT NULL"))  # noqa: S608
    engine.dispose()


def test_one_call_verified_by_the_reference(store: Store, receiver: Receiver) -> None:
    row, courier = _done(store, receiver.url), _courier(store)
    assert courier.make_next()
    assert not courier.make_next()
    (came,) = receiver.came
    said = Webhook(callback_secret(KEY, MINE)).verify(came.body, came.headers)
    assert (said["type"], said["data"]["id"], said["data"]["state"]) == ("inspection.done", row.id, "done")
    assert datetime.fromisoformat(said["timestamp"]) <= datetime.now(UTC)
    found = _delivery(store, row)
    assert (found.state, found.attempts, found.last_status, found.next_at) == ("delivered", 1, 204, None)
    assert came.headers["webhook-id"] == found.id


def test_a_try_is_logged_under_the_request_that_brought_the_file(
    store: Store, receiver: Receiver, caplog: pytest.LogCaptureFixture
) -> None:
    wished = replace(new("local"), request_id="tern-7")
    call = asked_for(wished.id, owner="local", signer=MINE, key_mark=key_mark(KEY), url=receiver.url)
    store.rows.create(wished, Beside(call=call))
    store.rows.cancel(wished.id)
    told: list[str | None] = []

    class Hears(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            told.append(request_id())

    caplog.set_level(logging.INFO, "worker.callbacks.courier")
    logging.getLogger("worker.callbacks.courier").addHandler(hears := Hears())
    try:
        assert _courier(store).make_next()
    finally:
        logging.getLogger("worker.callbacks.courier").removeHandler(hears)
    assert told == ["tern-7"]


def test_what_is_altered_or_old_or_anothers_is_told_from_it(store: Store, receiver: Receiver) -> None:
    _done(store, receiver.url)
    _courier(store).make_next()
    (came,) = receiver.came
    mine = Webhook(callback_secret(KEY, MINE))
    old = str(int(came.headers["webhook-timestamp"]) - 3600)
    wrong = [
        (mine, came.body.replace(b"done", b"fail"), came.headers),
        (mine, came.body, came.headers | {"webhook-id": "dlv_other"}),
        (mine, came.body, came.headers | {"webhook-timestamp": old}),
        (Webhook(callback_secret(KEY, "tok_other")), came.body, came.headers),
        (Webhook(callback_secret("j" * 64, MINE)), came.body, came.headers),
    ]
    for hook, body, headers in wrong:
        with pytest.raises(WebhookVerificationError):
            hook.verify(body, headers)


def _wear_out(store: Store, row: Inspection) -> None:
    for _ in range(ATTEMPTS):
        claimed = store.rows.claim(row.id)
        assert claimed is not None
        store.rows.give_back(claimed, counts=True)
    assert store.rows.claim(row.id) is None


def _fail(store: Store, row: Inspection) -> None:
    claimed = store.rows.claim(row.id)
    assert claimed is not None
    store.rows.fail(claimed, FAILURE)


ENDS: list[tuple[str, Callable[[Store, Inspection], object]]] = [
    ("failed", _fail),
    ("failed", _wear_out),
    ("cancelled", lambda store, row: store.rows.cancel(row.id)),
]


@pytest.mark.parametrize(("state", "end"), ENDS, ids=["failed", "worn out", "cancelled"])
def test_however_it_ends_it_is_told(
    store: Store, receiver: Receiver, state: str, end: Callable[[Store, Inspection], object]
) -> None:
    row, courier = _upload(store, receiver.url), _courier(store)
    assert not courier.make_next()  # it has not ended
    assert _delivery(store, row).state == "asked"
    end(store, row)
    store.rows.cancel(row.id)  # what has ended does not end again
    assert courier.make_next()
    assert not courier.make_next()
    said = json.loads(receiver.came[0].body)
    assert (said["type"], said["data"]["state"]) == (f"inspection.{state}", state)
    assert (said["data"]["failure"] is None) == (state == "cancelled")


def test_where_no_call_was_asked_for_none_is_made(store: Store) -> None:
    row = store.rows.create(new())
    store.rows.cancel(row.id)
    assert store.callbacks.of_inspection(row.id) is None
    assert not _courier(store).make_next()


def test_it_is_tried_again_later_and_later_and_given_up(store: Store, receiver: Receiver, database_url: str) -> None:
    receiver.statuses = [503]
    row, courier = _done(store, receiver.url), _courier(store)
    for tried, wait in enumerate(WAITS, 1):
        before = now()
        assert courier.make_next()
        assert not courier.make_next()  # not before its time
        found = _delivery(store, row)
        assert (found.state, found.attempts, found.last_status) == ("waiting", tried, 503)
        assert found.next_at is not None
        assert timedelta(seconds=wait) <= found.next_at - before <= timedelta(seconds=wait * 1.1 + 5)
        _make_due(database_url)
    assert courier.make_next()
    found = _delivery(store, row)
    assert (found.state, found.attempts, found.next_at) == ("given-up", 3, None)
    _make_due(database_url)
    assert not courier.make_next()
    assert len({came.headers["webhook-id"] for came in receiver.came}) == 1
    assert len({came.body for came in receiver.came}) == 1
    for came in receiver.came:
        Webhook(callback_secret(KEY, MINE)).verify(came.body, came.headers)


def test_one_that_is_taken_at_last_is_not_sent_again(store: Store, receiver: Receiver, database_url: str) -> None:
    receiver.statuses = [500, 200]
    row, courier = _done(store, receiver.url), _courier(store)
    courier.make_next()
    _make_due(database_url)
    courier.make_next()
    _make_due(database_url)
    assert not courier.make_next()
    found = _delivery(store, row)
    assert (found.state, found.attempts, found.last_status, found.last_problem) == ("delivered", 2, 200, None)
    assert found.delivered_at is not None


def test_a_receiver_that_is_gone_is_left_alone(store: Store, receiver: Receiver, database_url: str) -> None:
    """Standard Webhooks: 410 Gone says that no more is wanted."""
    receiver.statuses = [410]
    row = _done(store, receiver.url)
    _courier(store).make_next()
    _make_due(database_url)
    assert not _courier(store).make_next()
    assert _delivery(store, row).state == "given-up"


def test_it_can_be_repeated_by_hand_under_the_same_id(
    store: Store, receiver: Receiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each time at its own moment, signed anew: one that is replayed later is told from it by its age."""
    began = datetime.now(UTC)
    moments = iter(began + timedelta(minutes=number) for number in range(3))
    monkeypatch.setattr("worker.callbacks.courier.now", lambda: next(moments))
    receiver.statuses = [410, 204]
    row, courier = _done(store, receiver.url), _courier(store)
    courier.make_next()
    for _ in range(2):  # given up, and then delivered
        assert store.callbacks.repeat(row.id)
        assert courier.make_next()
    first, second, third = receiver.came
    assert first.headers["webhook-id"] == second.headers["webhook-id"] == third.headers["webhook-id"]
    assert first.body == second.body == third.body
    told = [int(each.headers["webhook-timestamp"]) - int(began.timestamp()) for each in receiver.came]
    assert told == [0, 60, 120]
    for each in receiver.came:
        Webhook(callback_secret(KEY, MINE)).verify(each.body, each.headers)
    assert (_delivery(store, row).state, _delivery(store, row).attempts) == ("delivered", 3)


def test_a_new_series_has_all_its_tries(store: Store, receiver: Receiver, database_url: str) -> None:
    receiver.statuses = [503]
    row, courier = _done(store, receiver.url), _courier(store)
    for _ in range(2):
        for _ in range(3):
            assert courier.make_next()
            _make_due(database_url)
        assert not courier.make_next()
        assert store.callbacks.repeat(row.id)
    assert len(receiver.came) == 6


def test_one_on_its_way_or_not_yet_due_is_not_repeated(store: Store, receiver: Receiver) -> None:
    waits = _upload(store, receiver.url)
    assert not store.callbacks.repeat(waits.id)
    row = _done(store, receiver.url)
    assert store.callbacks.claim(lambda _: "{}", most=3) is not None
    assert not store.callbacks.repeat(row.id)
    assert not store.callbacks.repeat("ins_nobody")


def test_a_deleted_inspection_calls_nobody(store: Store, receiver: Receiver) -> None:
    row = _done(store, receiver.url)
    assert store.delete(row.id)
    assert store.callbacks.of_inspection(row.id) is None
    assert not _courier(store).make_next()


def test_many_workers_make_each_call_once(store: Store, receiver: Receiver) -> None:
    receiver.seconds = 0.05
    rows = [_done(store, receiver.url, owner=f"tok_{number}") for number in range(20)]
    threads = [threading.Thread(target=_make_all, args=(_courier(store),)) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    _make_all(_courier(store))  # what was passed over because it was locked at that moment
    assert sorted(json.loads(came.body)["data"]["id"] for came in receiver.came) == sorted(row.id for row in rows)
    assert {_delivery(store, row).attempts for row in rows} == {1}


def _make_all(courier: Courier) -> None:
    while courier.make_next():
        pass


def test_one_owner_does_not_take_every_place(store: Store) -> None:
    for _ in range(4):
        _done(store, "https://desk.tern.example/", owner="tok_many")
    other = _done(store, "https://desk.tern.example/", owner="tok_one")
    claimed = [store.callbacks.claim(lambda _: "{}", most=3) for _ in range(4)]
    owners = [delivery.owner for delivery in claimed if delivery is not None]
    assert owners == ["tok_many", "tok_many", "tok_one"]
    assert _delivery(store, other).attempts == 1


def _dies_in_the_middle(url: str, files: Path) -> None:
    store = a_store(url, files)
    sender = Sender(HERE, lambda *_: os.kill(os.getpid(), signal.SIGKILL) or [])  # type: ignore[func-returns-value]
    Courier(store, KEY, WAITS, sender, threading.Event()).make_next()


def test_a_worker_that_is_killed_in_the_middle_costs_one_try(store: Store, database_url: str, tmp_path: Path) -> None:
    """It dies while it looks up the name; the lease holds the others off until it lapses."""
    row = _done(store, "https://desk.tern.example/")
    killed = multiprocessing.get_context("spawn").Process(
        target=_dies_in_the_middle, args=(database_url, tmp_path / "files")
    )
    killed.start()
    killed.join(60)
    assert killed.exitcode == -signal.SIGKILL
    courier = Courier(store, KEY, WAITS, Sender(HERE, lambda *_: ["10.0.0.7"]), threading.Event())
    assert not courier.make_next()
    found = _delivery(store, row)
    assert (found.state, found.attempts, found.last_problem) == ("waiting", 1, "the try broke off: its worker stopped")
    _make_due(database_url)
    assert courier.make_next()
    assert _delivery(store, row).attempts == 2


def test_a_call_that_was_taken_and_not_written_down_comes_again_as_the_same(
    store: Store, receiver: Receiver, database_url: str
) -> None:
    """Its worker is killed between sending and recording: nothing is lost, and the receiver knows it by its id."""
    row, courier = _done(store, receiver.url), _courier(store)
    sent = store.callbacks.claim(body_of, most=3)
    assert sent is not None
    assert courier._sent(sent).taken
    assert not courier.make_next()
    _make_due(database_url)
    assert courier.make_next()
    first, second = receiver.came
    assert first.body == second.body
    assert first.headers["webhook-id"] == second.headers["webhook-id"] == sent.id
    Webhook(callback_secret(KEY, MINE)).verify(second.body, second.headers)
    assert (_delivery(store, row).state, _delivery(store, row).attempts) == ("delivered", 2)
    _make_due(database_url)
    assert not courier.make_next()


def test_a_try_that_always_kills_its_worker_ends(store: Store, database_url: str) -> None:
    row = _done(store, "https://desk.tern.example/")
    for _ in range(3):
        assert store.callbacks.claim(lambda _: "{}", most=3) is not None
        _make_due(database_url)
    assert store.callbacks.claim(lambda _: "{}", most=3) is None
    assert _delivery(store, row).state == "given-up"


def test_a_late_worker_does_not_write_over_the_next_try(store: Store, database_url: str) -> None:
    row = _done(store, "https://desk.tern.example/")
    late = store.callbacks.claim(lambda _: "{}", most=3)
    _make_due(database_url)
    assert store.callbacks.claim(lambda _: "{}", most=3) is not None
    assert late is not None
    settled = store.callbacks.settle(late, waits=WAITS, status=500, problem=None, taken=False, unwanted=False)
    assert settled is None
    assert _delivery(store, row).lease_until is not None


def test_an_address_that_may_no_longer_be_called_is_not(store: Store, receiver: Receiver) -> None:
    row = _done(store, receiver.url)
    Courier(store, KEY, WAITS, Sender(Allowed()), threading.Event()).make_next()
    assert receiver.came == []
    assert "https" in str(_delivery(store, row).last_problem)


def test_a_worker_with_another_key_signs_nothing(store: Store, receiver: Receiver) -> None:
    row = _done(store, receiver.url)
    _courier(store, key="another " * 8).make_next()
    assert receiver.came == []
    assert "PRESSWORTHY_SESSION_KEY" in str(_delivery(store, row).last_problem)


def test_its_threads_make_what_is_due_and_wait(store: Store, receiver: Receiver) -> None:
    courier = _courier(store)
    courier.start()
    for many in (1, 2):
        _done(store, receiver.url)
        courier.look()
        receiver.wait_for(many)
    courier.stopping.set()
    courier.look()
