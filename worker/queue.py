"""The bell: Celery on Redis or Valkey carries an inspection's id to a worker, and nothing else.

The row is the truth. A message that is lost, or that arrives twice, delays an inspection or is ignored; so a bell that
cannot be rung is no failed upload, and the functions here say ``False`` instead of raising.
"""

from __future__ import annotations

import logging

from celery import Celery
from kombu.exceptions import KombuError, OperationalError

from worker.settings import Settings

log = logging.getLogger(__name__)

QUEUE = "inspections"
INSPECT = "pressworthy.inspect"
DRAW = "pressworthy.draw"

app = Celery("pressworthy")


def configure(settings: Settings) -> Celery:
    """The Celery app, set to this machine's broker. The web process and the worker call it once as they start."""
    app.conf.broker_url = settings.broker_url
    return app


def ring(inspection_id: str) -> bool:
    """Tell a worker that an inspection waits. Call it after the row is committed.

    False, within about two seconds, where the broker does not answer: the sweep rings again later.
    """
    raise NotImplementedError


def ring_drawing(inspection_id: str, page: int) -> bool:
    """Ask for the picture of ``page`` (from 1) of a finished inspection; see :func:`ring`."""
    raise NotImplementedError


def broker_answers() -> bool:
    """Whether the broker can be reached, within about two seconds."""
    raise NotImplementedError


_ = (KombuError, OperationalError)
