"""A message held by a worker, a broker that dies before it is acknowledged: Kombu and a real Valkey, no worker."""

from __future__ import annotations

import logging

import pytest
from celery.worker.request import Request
from kombu.message import Message
from redis.exceptions import ConnectionError as BrokerGone

from tests.queue.workshop import Workshop
from worker import queue
from worker.message import CountedRequest


@pytest.fixture(autouse=True)
def tasks() -> None:
    """The tasks are there, as they are in a worker."""
    queue.app.loader.import_default_modules()


def test_the_tasks_hold_their_messages_so() -> None:
    for name in (queue.INSPECT, queue.DRAW, queue.PROVE):
        assert queue.app.tasks[name].Request == "worker.message:CountedRequest"


@pytest.mark.parametrize(("request_class", "asks_again"), [(CountedRequest, True), (Request, False)])
def test_an_acknowledgement_lost_with_the_broker(
    workshop: Workshop, request_class: type[Request], asks_again: bool
) -> None:
    """The library's own request shows the fault that ours mends; should it be mended there, ours may go."""
    workshop.start_broker()
    assert queue.ring("ins_held")
    with queue.app.connection_for_read() as connection:
        channel = connection.default_channel
        channel.basic_qos(0, 1, False)
        (message,) = _taken(channel, connection)
        assert not channel.qos.can_consume()
        workshop.kill_broker()
        _request(request_class, message).acknowledge()
        assert channel.qos.can_consume() is asks_again


def test_an_acknowledgement_that_arrives(workshop: Workshop) -> None:
    workshop.start_broker()
    assert queue.ring("ins_held")
    with queue.app.connection_for_read() as connection:
        channel = connection.default_channel
        channel.basic_qos(0, 1, False)
        (message,) = _taken(channel, connection)
        _request(CountedRequest, message).acknowledge()
        assert message.acknowledged
        assert channel.qos.can_consume()
        assert not channel.client.exists(channel.unacked_key)


def _taken(channel: object, connection: object) -> list[Message]:
    taken: list[Message] = []
    queues = [queue.app.amqp.queues[queue.QUEUE]]
    with queue.app.amqp.TaskConsumer(channel, queues=queues, on_message=taken.append):
        connection.drain_events(timeout=10)  # type: ignore[attr-defined]
    return taken


def _request(request_class: type[Request], message: Message) -> Request:
    return request_class(
        message,
        app=queue.app,
        on_ack=message.ack_log_error,
        connection_errors=(BrokerGone, OSError),
        task=queue.app.tasks[queue.INSPECT],
        on_reject=logging.getLogger(__name__).error,
    )
