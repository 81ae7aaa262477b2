"""Workers that say that they are alive: two real ones, one that ends in order, one that is killed."""

from __future__ import annotations

import json
import signal
import threading

import pytest
from redis import Redis

from tests.queue.workshop import Workshop
from worker import pulse, queue
from worker.pulse import Pulse, workers_at_work
from worker.standing import standing_of


def test_workers_are_seen_while_they_live(workshop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    assert workers_at_work() is None, "the broker is not up yet"
    workshop.start_broker()
    assert workers_at_work() == []
    first, second = workshop.start_worker(), workshop.start_worker()
    workshop.until(lambda: len(workers_at_work() or ()) == 2)
    assert {each.process for each in workers_at_work() or ()} == {first.pid, second.pid}
    first.send_signal(signal.SIGTERM)
    first.wait(40)
    workshop.until(lambda: [each.process for each in workers_at_work() or ()] == [second.pid])
    second.kill()
    second.wait()
    assert len(workers_at_work() or ()) == 1, "nobody knows yet"
    monkeypatch.setattr(pulse, "SILENT_SECONDS", 0)
    workshop.until(lambda: workers_at_work() == [])


def test_it_says_how_much_is_in_hand(workshop: Workshop) -> None:
    workshop.start_broker()
    stopping = threading.Event()
    alive = Pulse(stopping, places=4)
    with alive.one_more(), alive.one_more():
        alive.start()
        workshop.until(lambda: [each.taken for each in workers_at_work() or ()] == [2])
        found = standing_of(workshop.store).workers
        assert found is not None
        assert [(each.places, each.taken) for each in found] == [(4, 2)]
    stopping.set()
    alive.join(10)
    assert workers_at_work() == []


def test_what_makes_no_sense_is_forgotten(workshop: Workshop) -> None:
    workshop.start_broker()
    with Redis(unix_socket_path=str(workshop.settings.broker_socket)) as client:
        client.hset(pulse.KEY, mapping={"a": "no json", "b": json.dumps({"host": "h"}), "c": "[]"})
        assert workers_at_work() == []
        assert client.hlen(pulse.KEY) == 0


def test_a_queue_that_waits_is_told(workshop: Workshop) -> None:
    workshop.start_broker()
    workshop.upload()
    workshop.upload()
    told = standing_of(workshop.store)
    assert (told.queue.waiting, told.queue.running, told.queue.messages) == (2, 0, queue.messages_waiting())
    assert told.queue.messages == 2
    assert told.queue.oldest_seconds is not None
    assert told.kept.objects == 2
    assert told.workers == ()
