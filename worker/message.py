"""A message whose acknowledgement was lost with the broker must not make its worker deaf.

Kombu keeps count of the messages that a worker holds and asks for no other while it holds one. An acknowledgement that
fails with the connection is logged and the count stays: the worker then asks for nothing more, so that it never finds
out that the connection is gone, nor connects again. Here the count is put right whatever became of the
acknowledgement. The broker may deliver the message again, which is work once all the same: the row is the truth.
"""

from __future__ import annotations

from typing import Any

from celery import Task
from celery.worker.request import Request
from kombu.transport.virtual import QoS

from worker.logs import working_for
from worker.queue import REQUEST_ID


class CountedRequest(Request):
    """A task's message that is held no longer once its work is done."""

    def acknowledge(self) -> None:
        """Tell the broker that the work is done, and this worker that it may ask for more."""
        super().acknowledge()  # type: ignore[no-untyped-call]
        if not self.message.acknowledged:
            QoS.ack(self.message.channel.qos, self.message.delivery_tag)


class BellTask(Task):
    """The base of the tasks that the bell rings for."""

    Request = "worker.message:CountedRequest"

    def __call__(self, *arguments: Any, **named: Any) -> Any:
        """Do the work in the name of the request that the message was sent for."""
        with working_for(self.request.get(REQUEST_ID)):
            return super().__call__(*arguments, **named)  # type: ignore[no-untyped-call]
