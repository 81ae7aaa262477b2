"""The bell: Celery on Redis or Valkey carries an inspection's id to a worker, and nothing else.

The row is the truth. A message that is lost, or that arrives twice, delays an inspection or is ignored; so a bell that
cannot be rung is no failed upload, and the functions here say ``False`` instead of raising.

Why the settings are as they are:

* no result backend: the row is the result, and publishing to a dead broker with one blocks for a long time;
* threads: a task only watches its fenced child, and libraries in C do not like to be forked;
* late acknowledgement, one message at a time: a worker that is killed leaves its message to be delivered again;
* no rejection of a lost worker's message: a file that crashes would go round for ever. The rows count the attempts;
* a visibility timeout far beyond the longest inspection: otherwise one is begun again beside itself. The way back from
  a killed worker is the lease and the sweep, which are faster.
"""

from __future__ import annotations

import logging

from celery import Celery
from kombu.exceptions import KombuError, OperationalError
from redis.exceptions import RedisError

from worker.settings import Settings

log = logging.getLogger(__name__)

QUEUE = "inspections"
DRAWINGS = "drawings"
INSPECT = "pressworthy.inspect"
DRAW = "pressworthy.draw"
PICTURE = "pressworthy.picture"
PROVE = "pressworthy.prove"

PATIENCE = 2
"""Seconds within which a broker answers, or is taken for absent."""

LEAST_VISIBILITY = 3600
"""Seconds; and at least six times the longest inspection."""

_IMPATIENT = {"socket_timeout": PATIENCE}
"""For a caller that waits; the worker's own connection may be silent for longer."""

_TROUBLE = (KombuError, OperationalError, RedisError, OSError)

app = Celery("pressworthy", include=["worker.tasks"])
app.conf.update(
    result_backend=None,
    task_ignore_result=True,
    task_default_queue=QUEUE,
    task_serializer="json",
    accept_content=["json"],
    task_acks_late=True,
    task_acks_on_failure_or_timeout=True,
    task_reject_on_worker_lost=False,
    task_publish_retry=False,
    worker_prefetch_multiplier=1,
    worker_hijack_root_logger=False,
    worker_send_task_events=False,
    worker_enable_remote_control=False,
    broker_connection_timeout=PATIENCE,
    broker_connection_retry=True,
    broker_connection_retry_on_startup=True,
    broker_connection_max_retries=None,
    enable_utc=True,
)


def configure(settings: Settings) -> Celery:
    """The Celery app, set to this machine's broker. The web process and the worker call it once as they start."""
    app.conf.broker_url = settings.broker_url
    app.conf.worker_concurrency = settings.workers
    app.conf.broker_transport_options = {
        "visibility_timeout": max(LEAST_VISIBILITY, 6 * settings.limits.seconds),
        "queue_order_strategy": "priority",  # as the worker names them: pictures wait for inspections
        "max_retries": 0,
        "socket_connect_timeout": PATIENCE,
        "socket_keepalive": True,
        "health_check_interval": 10,
    }
    return app


def ring(inspection_id: str) -> bool:
    """Tell a worker that an inspection waits. Call it after the row is committed.

    False, within about two seconds, where the broker does not answer: the sweep rings again later.
    """
    return _send(QUEUE, INSPECT, inspection_id)


def ring_drawing(inspection_id: str, page: int) -> bool:
    """Ask for the picture of ``page`` (from 1) of a finished inspection; see :func:`ring`."""
    return _send(DRAWINGS, DRAW, inspection_id, page)


def ring_pictures(inspection_id: str) -> bool:
    """Ask for the report of a finished inspection with pictures in it; see :func:`ring`."""
    return _send(DRAWINGS, PICTURE, inspection_id)


def ring_proof(inspection_id: str) -> bool:
    """Ask for the proof of a finished inspection; see :func:`ring`."""
    return _send(DRAWINGS, PROVE, inspection_id)


def broker_answers() -> bool:
    """Whether the broker can be reached, within about two seconds."""
    return messages_waiting() is not None


def messages_waiting() -> int | None:
    """How many inspections' messages no worker has taken yet; None where the broker does not answer."""
    try:
        with app.connection_for_read(transport_options=_IMPATIENT) as connection:
            return int(connection.default_channel.client.llen(QUEUE))
    except _TROUBLE:
        return None


def _send(queue: str, task: str, *arguments: object) -> bool:
    """Publish on a connection of its own: one that was pooled may have died unseen."""
    try:
        with app.connection_for_write(transport_options=_IMPATIENT) as connection:
            app.send_task(task, args=arguments, queue=queue, connection=connection, retry=False)
    except _TROUBLE as error:
        log.warning("the broker does not answer, the sweep will ring again: %s", error)
        return False
    return True
