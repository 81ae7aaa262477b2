"""The few thin tasks behind the bell. The work itself is in :mod:`worker.attempt`,
:mod:`worker.picturing` and :mod:`worker.proving`."""

from __future__ import annotations

import logging
import threading
from collections.abc import Sequence

from worker import queue
from worker.attempt import Bench, inspect_once
from worker.fence import READ, FenceError
from worker.message import BellTask
from worker.picturing import draw_once, picture_once
from worker.proving import prove_once
from worker.settings import Settings
from worker.store import Missing, open_store

log = logging.getLogger(__name__)

_bench: Bench | None = None


def set_up(settings: Settings, *, reader: Sequence[str] = READ) -> Bench:
    """Open what the tasks of this process work with; once, before it takes any."""
    global _bench  # noqa: PLW0603 - Celery's tasks are functions of a module
    _bench = Bench(open_store(settings), settings.limits, threading.Event(), reader)
    return _bench


def bench() -> Bench:
    """What the tasks of this process work with."""
    if _bench is None:
        raise RuntimeError("this process is no worker: worker.tasks.set_up has not been called")
    return _bench


def inspect_task(inspection_id: str) -> None:
    """See one inspection through. Nothing escapes: a MemoryError that did would end the whole worker."""
    try:
        pages = inspect_once(bench(), inspection_id)
        if pages:
            queue.ring_pictures(inspection_id)
        for page in pages:
            queue.ring_drawing(inspection_id, page)
    except Exception:
        log.exception("%s: left to its lease", inspection_id)


def draw_task(inspection_id: str, page: int) -> None:
    """Draw one page's picture. A picture that cannot be drawn is missing from the report, and that is all."""
    try:
        draw_once(bench(), inspection_id, page)
    except (FenceError, Missing) as error:
        log.info("%s: page %d is not drawn: %s", inspection_id, page, error)
    except Exception:
        log.exception("%s: page %d is not drawn", inspection_id, page)


def picture_task(inspection_id: str) -> None:
    """Set one report with pictures. Where that breaks off it stays as it is without, and that is all."""
    try:
        picture_once(bench(), inspection_id)
    except (FenceError, Missing) as error:
        log.info("%s: its report has no pictures yet: %s", inspection_id, error)
    except Exception:
        log.exception("%s: its report has no pictures yet", inspection_id)


def prove_task(inspection_id: str) -> None:
    """Make one proof. One that cannot be made is missing beside the report, and that is all."""
    try:
        prove_once(bench(), inspection_id)
    except (FenceError, Missing) as error:
        log.info("%s: there is no proof: %s", inspection_id, error)
    except Exception:
        log.exception("%s: there is no proof", inspection_id)


queue.app.task(name=queue.INSPECT, base=BellTask)(inspect_task)
queue.app.task(name=queue.DRAW, base=BellTask)(draw_task)
queue.app.task(name=queue.PICTURE, base=BellTask)(picture_task)
queue.app.task(name=queue.PROVE, base=BellTask)(prove_task)
