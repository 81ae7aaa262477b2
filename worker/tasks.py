"""The few thin tasks behind the bell. The work itself is in :mod:`worker.attempt`,
:mod:`worker.picturing` and :mod:`worker.proving`."""

from __future__ import annotations

import logging
import threading
from collections.abc import Sequence
from contextlib import nullcontext

from worker import queue
from worker.attempt import Bench, inspect_once
from worker.callbacks.courier import Courier
from worker.fence import READ, FenceError, LimitCrossed, MeasuringFailed
from worker.message import BellTask
from worker.metrics import count_child
from worker.picturing import draw_once, draw_unasked, picture_once
from worker.proving import prove_once
from worker.pulse import Pulse
from worker.settings import Settings
from worker.store import Missing, open_store

log = logging.getLogger(__name__)

_bench: Bench | None = None
_courier: Courier | None = None


def set_up(settings: Settings, *, reader: Sequence[str] = READ) -> Bench:
    """Open what the tasks of this process work with; once, before it takes any."""
    global _bench, _courier  # noqa: PLW0603 - Celery's tasks are functions of a module
    stopping = threading.Event()
    pulse = Pulse(stopping, places=settings.workers)
    _bench = Bench(open_store(settings), settings.limits, stopping, reader, pulse)
    _courier = Courier.of(settings, _bench.store, _bench.stopping)
    return _bench


def bench() -> Bench:
    """What the tasks of this process work with."""
    if _bench is None:
        raise RuntimeError("this process is no worker: worker.tasks.set_up has not been called")
    return _bench


def courier() -> Courier:
    """Who makes the callbacks of this process."""
    if _courier is None:
        raise RuntimeError("this process is no worker: worker.tasks.set_up has not been called")
    return _courier


def inspect_task(inspection_id: str) -> None:
    """See one inspection through. Nothing escapes: a MemoryError that did would end the whole worker."""
    pulse = bench().pulse
    try:
        with pulse.one_more() if pulse else nullcontext():
            pictured = inspect_once(bench(), inspection_id)
        if pictured:
            queue.ring_pictures(inspection_id)
    except Exception:
        log.exception("%s: left to its lease", inspection_id)
    courier().look()  # whether or not it ended: a look costs little


def draw_task(inspection_id: str, page: int) -> None:
    """Draw one page's picture. A picture that cannot be drawn is missing from the report, and that is all."""
    try:
        draw_once(bench(), inspection_id, page)
    except (FenceError, Missing) as error:
        log.info("%s: page %d is not drawn: %s", inspection_id, page, error)
        _count(error)
    except Exception:
        log.exception("%s: page %d is not drawn", inspection_id, page)


def picture_task(inspection_id: str) -> None:
    """Set one report with pictures, then draw its pages. What breaks off is missing from it, and that is all."""
    try:
        if picture_once(bench(), inspection_id):
            draw_unasked(bench(), inspection_id)
    except (FenceError, Missing) as error:
        log.info("%s: not all of its pictures are there: %s", inspection_id, error)
        _count(error)
    except Exception:
        log.exception("%s: not all of its pictures are there", inspection_id)


def prove_task(inspection_id: str) -> None:
    """Make one proof. One that cannot be made is missing beside the report, and that is all."""
    try:
        prove_once(bench(), inspection_id)
    except (FenceError, Missing) as error:
        log.info("%s: there is no proof: %s", inspection_id, error)
        _count(error)
    except Exception:
        log.exception("%s: there is no proof", inspection_id)


def _count(error: FenceError | Missing) -> None:
    """Count a child that a limit ended, or that broke off."""
    if isinstance(error, LimitCrossed):
        count_child(error.limit)
    elif isinstance(error, MeasuringFailed):
        count_child("fault")


def call_task() -> None:
    """Make the callbacks that are due; their own threads do, so that no inspection waits for a stranger's answer."""
    courier().look()


queue.app.task(name=queue.INSPECT, base=BellTask)(inspect_task)
queue.app.task(name=queue.DRAW, base=BellTask)(draw_task)
queue.app.task(name=queue.PICTURE, base=BellTask)(picture_task)
queue.app.task(name=queue.PROVE, base=BellTask)(prove_task)
queue.app.task(name=queue.CALL, base=BellTask)(call_task)
