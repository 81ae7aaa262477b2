"""The port on which Prometheus reads the figures.

A worker that was started by itself tells its own. Under ``pressworthy serve`` several processes count, each in files of
a folder that they share (``prometheus_client``'s multiprocess mode), and the process that started them tells it all,
with how the service stands looked up at that moment.
"""

from __future__ import annotations

import logging
import os
import shutil
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

from prometheus_client import REGISTRY, CollectorRegistry, start_http_server
from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import Collector
from sqlalchemy.exc import SQLAlchemyError

from worker import metrics
from worker.settings import Settings, SettingsError
from worker.standing import Kept, kept_of, queue_of, workers_of
from worker.store import Store, StoreError
from worker.store.models import now

__all__ = ["SHARED", "HowItStands", "folder_to_share", "tell_all_figures", "tell_own_figures", "told_together"]

SHARED = "PROMETHEUS_MULTIPROC_DIR"
"""Names the folder that processes count in together; the library's own name for it."""

LOOKED_UP_EVERY = 300.0
"""Seconds between two looks at every object that is kept."""

log = logging.getLogger(__name__)


def told_together() -> bool:
    """Whether another process tells what this one counts."""
    return SHARED in os.environ


def tell_own_figures(settings: Settings) -> None:
    """Answer Prometheus with what this process counts, until it ends. Raises :class:`SettingsError`."""
    _listen(settings, REGISTRY)


def folder_to_share(settings: Settings) -> Path:
    """An empty folder for processes to count in; what an earlier run counted is gone."""
    folder = settings.data / "metrics"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(mode=0o700)
    return folder


def tell_all_figures(settings: Settings, store: Store, folder: Path) -> None:
    """Answer Prometheus with what the processes that share ``folder`` count, and how the service stands.

    Raises :class:`SettingsError`.
    """
    registry = CollectorRegistry()
    MultiProcessCollector(registry, path=str(folder))  # type: ignore[no-untyped-call]
    registry.register(HowItStands(store))
    _listen(settings, registry)


class HowItStands(Collector):
    """Gauges that are looked up when they are asked for. One that cannot be, is left out and said to be."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._kept: Kept | None = None
        self._kept_at = 0.0

    def describe(self) -> Iterable[Metric]:
        return ()  # nothing is looked up before it is asked for

    def collect(self) -> Iterator[Metric]:
        try:
            found = [*self._of_rows(), *self._of_objects()]
        except (SQLAlchemyError, StoreError, OSError) as error:
            log.warning("the store does not answer: %s", error)
            found = []
        yield _gauge("store_up", "Whether the database and the files answer.", bool(found))
        yield from found
        workers = workers_of(now())
        yield _gauge("broker_up", "Whether the broker answers.", workers is not None)
        if workers is not None:
            yield _gauge("workers", "Workers that are alive.", len(workers))
            yield _gauge("worker_places", "Inspections that all of them take.", sum(each.places for each in workers))

    def _of_rows(self) -> Iterator[Metric]:
        queue = queue_of(self._store, now())
        yield _gauge("queue_waiting", "Inspections that wait for a worker.", queue.waiting)
        yield _gauge("queue_oldest_age_seconds", "How long the first of them has waited.", queue.oldest_seconds or 0)
        yield _gauge("inspections_running", "Inspections that a worker has in hand.", queue.running)

    def _of_objects(self) -> Iterator[Metric]:
        if self._kept is None or time.monotonic() - self._kept_at > LOOKED_UP_EVERY:
            self._kept, self._kept_at = kept_of(self._store), time.monotonic()
        yield _gauge("kept_inspections", "Inspections that are kept.", self._kept.inspections)
        yield _gauge("kept_objects", "Files, reports and pictures that are kept.", self._kept.objects)
        yield _gauge("kept_bytes", "Bytes of these.", self._kept.bytes)
        if self._kept.bytes_free is not None:
            yield _gauge("disk_free_bytes", "Bytes that are free where they are kept.", self._kept.bytes_free)


def _gauge(name: str, words: str, value: float) -> Metric:
    return GaugeMetricFamily(f"{metrics.PREFIX}_{name}", words, value=float(value))


def _listen(settings: Settings, registry: CollectorRegistry) -> None:
    host, port = settings.metrics_host, settings.metrics_port
    if port is None:
        return
    try:
        start_http_server(port, host, registry)
    except OSError as error:
        raise SettingsError(
            f"PRESSWORTHY_METRICS_PORT: {host}, port {port}, cannot be listened on ({error.strerror}); choose another"
        ) from error
    log.info("figures for Prometheus at http://%s:%d/metrics", host, port)
