"""One attempt at an inspection, from the claim to the row's end. Every step may be repeated without harm."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass

from worker.fence import READ, Cancelled, LimitCrossed, MeasuringFailed, read_fenced
from worker.hold import Hold
from worker.keeping import Known, keep_reading, known_before
from worker.limits import Limits
from worker.logs import working_for
from worker.measure.version import READER_VERSION
from worker.metrics import count_child, count_inspection, count_measuring
from worker.profiles import Profile
from worker.pulse import Pulse
from worker.report.models import Report
from worker.reporting import earlier_of, finished, keep_report, kept_page, pages_to_draw
from worker.settings import ATTEMPTS
from worker.store import Failure, Inspection, Missing, Store, file_key
from worker.store.models import now

log = logging.getLogger(__name__)

LIMIT_HELP = (
    "Split the book, or make its pictures smaller, and upload it again; "
    "or ask whoever runs this service for a larger limit."
)
FAULT_HELP = "The fault is this service's own. Try once more; if it fails again, tell whoever runs it."


@dataclass(frozen=True)
class Bench:
    """What every attempt works with. ``stopping`` is set when the worker is asked to end; ``reader`` is the child."""

    store: Store
    limits: Limits
    stopping: threading.Event
    reader: Sequence[str] = READ
    pulse: Pulse | None = None
    """What tells others that this worker is alive, where anybody asks."""


def inspect_once(bench: Bench, inspection_id: str) -> bool:
    """Claim the inspection and see it through; whether there is a report now whose pictures come next.

    Raises only what the store itself raises; the row is then left to its lease.
    """
    row = bench.store.rows.claim(inspection_id)
    if row is None:
        return False
    with working_for(row.request_id):
        return _attempt(bench, row)


def _attempt(bench: Bench, row: Inspection) -> bool:
    log.info("%s: attempt %d", row.id, row.attempts)
    with Hold(bench.store.rows, row) as hold:
        try:
            report = _see_through(bench, row, hold)
            _ended(row, report.verdict.value)
            return bool(pages_to_draw(report))
        except Cancelled:
            if bench.stopping.is_set():
                bench.store.rows.give_back(row, counts=False)
            _ended(row, "given-back" if bench.stopping.is_set() else "cancelled")
        except LimitCrossed as crossed:
            count_child(crossed.limit)
            _ended(row, "limit", str(crossed))
            bench.store.rows.fail(row, Failure("limit", str(crossed), LIMIT_HELP, crossed.page))
        except MeasuringFailed as failed:
            count_child("fault")
            _ended(row, "reader", str(failed))
            bench.store.rows.fail(row, Failure("reader", str(failed), FAULT_HELP, failed.page))
        except Missing:
            _ended(row, "file-gone")
            bench.store.rows.fail(row, Failure("file-gone", "the uploaded file is no longer there", "Upload it again."))
        except Exception:
            log.exception("%s: attempt %d broke off", row.id, row.attempts)
            count_inspection("fault")
            _try_later(bench.store, row)
    _clear_if_gone(bench.store, row)
    return False


def _ended(row: Inspection, outcome: str, why: str = "") -> None:
    """Say and count how the attempt ended: with a verdict, the code of a failure, cancelled or given back."""
    log.info("%s: %s%s", row.id, outcome, f" ({why})" if why else "")
    count_inspection(outcome)


def _see_through(bench: Bench, row: Inspection, hold: Hold) -> Report:
    """The report, once it is kept. Raises :class:`Cancelled` once the hold is lost."""
    store = bench.store
    known = known_before(store, row, READER_VERSION) or _measure(bench, row, hold)
    if not store.rows.judging(row, known.facts.reader, known.measured_at):
        raise Cancelled
    profile = Profile.model_validate_json(row.profile_json)
    earlier = earlier_of(store, row)
    report = keep_report(store, row.id, known, profile, judged_as_pages=row.judged_as_pages, earlier=earlier)
    kept_page(store, row)
    if not store.rows.finish(row, finished(report, known.facts)):
        raise Cancelled
    return report


def _measure(bench: Bench, row: Inspection, hold: Hold) -> Known:
    """Measure behind the fence, and keep it; another worker's claim, a cancellation or the worker's end stops it."""
    with bench.store.bytes.local(file_key(row.id)) as path:
        begun = time.monotonic()
        try:
            reading = read_fenced(
                path,
                name=row.file_name,
                limits=bench.limits,
                on_progress=hold.note,
                cancelled=lambda: hold.lost.is_set() or bench.stopping.is_set(),
                module=bench.reader,
            )
        finally:
            count_measuring(time.monotonic() - begun)
    return keep_reading(bench.store, row.id, reading, now())


def _try_later(store: Store, row: Inspection) -> None:
    """After trouble that may pass (a full disk, a database that went away): the sweep rings again, so often at most."""
    if row.attempts < ATTEMPTS:
        store.rows.give_back(row, counts=True)
        return
    store.rows.fail(row, Failure("fault", f"the inspection broke off {ATTEMPTS} times", FAULT_HELP))


def _clear_if_gone(store: Store, row: Inspection) -> None:
    """Delete what was written while the inspection was being deleted."""
    if store.rows.get(row.id) is None:
        store.bytes.delete_all(row.id)
