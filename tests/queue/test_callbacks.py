"""Callbacks by real workers: a receiver hears of every end, through killed workers and an emptied broker."""

from __future__ import annotations

import json
import os
import signal
import time
from collections.abc import Iterator
from dataclasses import replace

import pytest
from standardwebhooks.webhooks import Webhook

from tests.callbacks.receiver import Receiver, receiving
from tests.queue.workshop import PATIENCE, Workshop
from worker import queue
from worker.callbacks.signing import callback_secret, key_mark
from worker.house_key import house_key
from worker.profiles import builtin_profiles
from worker.store import Beside, Delivery, Inspection, NewInspection, asked_for, file_key, new_inspection_id


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    with receiving() as found:
        yield found


@pytest.fixture
def workshop(workshop: Workshop) -> Workshop:
    """Its workers may call this machine; the waits are short."""
    more = {"PRESSWORTHY_CALLBACK_HOSTS": "127.0.0.1", "PRESSWORTHY_CALLBACK_WAITS": "1 1 1 60"}
    return replace(workshop, environment=workshop.environment | more)


def _upload(workshop: Workshop, behaviour: str, url: str) -> Inspection:
    """A file whose reader behaves so, and a call for it."""
    inspection_id, profile = new_inspection_id(), builtin_profiles()["common-paperback"]
    kept = workshop.store.bytes.write(file_key(inspection_id), f"%PDF-1.7 {behaviour}\n".encode())
    new = NewInspection(
        id=inspection_id,
        owner="local",
        file_name="second-harbour.pdf",
        sha256=kept.sha256,
        bytes=kept.bytes,
        profile_id=profile.id,
        profile_json=profile.model_dump_json(),
    )
    mark = key_mark(house_key(workshop.settings.data))
    call = asked_for(inspection_id, owner="local", signer="local", key_mark=mark, url=url)
    row = workshop.store.rows.create(new, Beside(call=call))
    queue.ring(row.id)
    return row


def _delivery(workshop: Workshop, row: Inspection) -> Delivery:
    found = workshop.store.callbacks.of_inspection(row.id)
    assert found is not None
    return found


def test_a_worker_tells_of_every_end(workshop: Workshop, receiver: Receiver) -> None:
    workshop.start_broker()
    workshop.start_worker()
    done, failed = _upload(workshop, "works", receiver.url), _upload(workshop, "names-a-limit", receiver.url)
    slow = _upload(workshop, "sleeps", receiver.url)
    workshop.in_the_middle(slow)
    workshop.store.rows.cancel(slow.id)
    queue.ring_calls()
    workshop.until(lambda: all(_delivery(workshop, row).state == "delivered" for row in (done, failed, slow)))
    secret = callback_secret(house_key(workshop.settings.data), "local")
    said = [Webhook(secret).verify(came.body, came.headers) for came in receiver.came]
    assert {(each["data"]["id"], each["type"]) for each in said} == {
        (done.id, "inspection.done"),
        (failed.id, "inspection.failed"),
        (slow.id, "inspection.cancelled"),
    }
    assert len(said) == 3
    one = next(each for each in said if each["type"] == "inspection.failed")
    assert one["data"]["failure"]["page"] == 212


def test_a_worker_that_is_killed_between_two_tries_is_replaced(workshop: Workshop, receiver: Receiver) -> None:
    """No message of the broker is left either: the row alone knows of the call."""
    receiver.statuses = [503, 204]
    workshop.start_broker()
    first = workshop.start_worker()
    row = _upload(workshop, "works", receiver.url)
    receiver.wait_for(1)
    workshop.until(lambda: _delivery(workshop, row).lease_until is None)
    os.killpg(first.pid, signal.SIGKILL)
    first.wait(PATIENCE)
    workshop.flush_broker()
    workshop.start_worker()
    workshop.until(lambda: _delivery(workshop, row).state == "delivered")
    assert len(receiver.came) == _delivery(workshop, row).attempts == 2
    assert len({came.headers["webhook-id"] for came in receiver.came}) == 1


def test_two_workers_make_one_call(workshop: Workshop, receiver: Receiver) -> None:
    receiver.seconds = 0.5
    workshop.start_broker()
    for _ in range(2):
        workshop.start_worker()
    rows = [_upload(workshop, "works", receiver.url) for _ in range(6)]
    workshop.until(lambda: all(_delivery(workshop, row).state == "delivered" for row in rows))
    time.sleep(1.5)  # a sweep of each
    told = sorted(json.loads(came.body)["data"]["id"] for came in receiver.came)
    assert told == sorted(row.id for row in rows)


def test_no_inspection_waits_for_a_slow_receiver(workshop: Workshop, receiver: Receiver) -> None:
    """The one worker takes one inspection at a time; receivers that let it wait do not stand in its way."""
    receiver.seconds = 60
    workshop.start_broker()
    workshop.start_worker()
    rows = [workshop.wait(_upload(workshop, "works", receiver.url), state="done") for _ in range(4)]
    receiver.wait_for(2)
    rows.append(workshop.wait(_upload(workshop, "works", receiver.url), state="done"))
    assert {_delivery(workshop, row).state for row in rows} == {"waiting"}
