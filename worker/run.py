"""A worker process: ``python -m worker.run``. Ends on SIGTERM or Ctrl-C, giving back what it was doing."""

from __future__ import annotations

import os
import sys
import warnings
from collections.abc import Sequence
from datetime import timedelta

from celery.exceptions import SecurityWarning
from celery.signals import worker_ready, worker_shutting_down

from worker import queue
from worker.exporter import tell_own_figures, told_together
from worker.fence import READ
from worker.logs import set_up_logs
from worker.settings import Settings, SettingsError
from worker.store import StoreDown
from worker.sweep import Sweep
from worker.tasks import courier, set_up

READY_PIPE = "PRESSWORTHY_READY_PIPE"
"""Names the file descriptor on which a worker says that it takes work."""


def run_worker(settings: Settings, *, reader: Sequence[str] = READ) -> None:
    """Take inspections and drawings from the broker until the process is asked to end.

    Children are then ended and their inspections given back, so that the worker itself ends at once. ``reader`` is the
    module that measures, as a child, and its first arguments.
    """
    set_up_logs(settings, "worker")
    # Celery warns of root because of pickled messages; ours are JSON, and hold an id.
    warnings.simplefilter("ignore", SecurityWarning)
    app = queue.configure(settings)
    bench = set_up(settings, reader=reader)
    stopping = bench.stopping
    sweep = Sweep(
        bench.store,
        stopping,
        lease_seconds=settings.lease_seconds,
        look_for_calls=courier().look,
        deliveries_kept=timedelta(days=settings.days_kept),
    )
    if settings.metrics_port and not told_together():
        tell_own_figures(settings)
    worker_ready.connect(lambda **_: courier().start(), weak=False)
    worker_ready.connect(lambda **_: sweep.start(), weak=False)
    if bench.pulse is not None:
        worker_ready.connect(lambda **_: bench.pulse.start(), weak=False)
    worker_ready.connect(lambda **_: _say_ready(), weak=False)
    worker_shutting_down.connect(lambda **_: stopping.set(), weak=False)
    queues = f"{queue.QUEUE},{queue.DRAWINGS}"
    alone = ("--without-gossip", "--without-mingle", "--without-heartbeat")
    how = ["--pool", "threads", "--loglevel", settings.log_level, "--queues", queues]
    app.worker_main(["--quiet", "worker", *how, *alone])


def _say_ready() -> None:
    """Tell the process that started this one, on the pipe that it named, if it did."""
    pipe = os.environ.get(READY_PIPE)
    if pipe:
        os.write(int(pipe), b"ready\n")
        os.close(int(pipe))


if __name__ == "__main__":
    try:
        run_worker(Settings.from_environment())
    except (SettingsError, StoreDown) as error:
        sys.exit(str(error))
