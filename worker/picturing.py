"""The picture of a page, once its inspection is done: a later task, and one that may be asked for again at any time."""

from __future__ import annotations

import tempfile
from pathlib import Path

from worker.attempt import Bench
from worker.fence import draw_fenced
from worker.judge.live_area import live_area
from worker.keeping import kept_facts
from worker.profiles import Profile
from worker.report.drawing import Drawing, bound_at, drawing_of
from worker.report.models import Report
from worker.store import Inspection, Store, file_key, picture_key, report_key


def draw_once(bench: Bench, inspection_id: str, page: int) -> bool:
    """Draw a page (from 1) of a finished inspection, unless it is drawn; whether its picture is there now.

    Raises :class:`FenceError` where it cannot be drawn, and :class:`Missing` where the inspection is going away.
    """
    store, row = bench.store, bench.store.rows.get(inspection_id)
    if row is None or row.state != "done":
        return False
    key = picture_key(row.id, page)
    if store.bytes.size(key) is not None:
        return True
    drawing = _drawing(store, row, page)
    if drawing is None:
        return False
    store.bytes.write(key, _drawn(bench, row, page, drawing))
    if store.rows.get(row.id) is None:
        store.bytes.delete_all(row.id)
        return False
    return True


def _drawing(store: Store, row: Inspection, page: int) -> Drawing | None:
    """What goes over the page; None where the file has no such page."""
    measurements = kept_facts(store, row)
    measured = {found.page: found for found in measurements.pages}.get(page)
    if measured is None:
        return None
    profile = Profile.model_validate_json(row.profile_json)
    report = Report.model_validate_json(store.bytes.read(report_key(row.id)))
    return drawing_of(
        measured,
        live_area=live_area(measured, profile, report.judged_as_pages),
        findings=report.findings,
        binding_edge=bound_at(measurements, profile),
    )


def _drawn(bench: Bench, row: Inspection, page: int, drawing: Drawing) -> bytes:
    with (
        tempfile.TemporaryDirectory(prefix="pressworthy-") as folder,
        bench.store.bytes.local(file_key(row.id)) as path,
    ):
        out = Path(folder) / "page.png"
        draw_fenced(path, page, drawing=drawing, out=out, limits=bench.limits, cancelled=bench.stopping.is_set)
        return out.read_bytes()
