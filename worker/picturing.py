"""The pictures of pages, once their inspection is done: later tasks, and ones that may be asked for again at any time.

:func:`draw_once` makes one page's picture, :func:`picture_once` those of the report's plates, and the report with them,
:func:`draw_unasked` the pages that a reader of the report will turn to.
A page that cannot be drawn is remembered as such beside the place of its picture: whoever asks is told once and for
all, and no worker tries for nothing. What may go better next time (a full disk, a worker that ends) is not remembered.
"""

from __future__ import annotations

import logging
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict

from worker.attempt import Bench
from worker.fence import FenceError, LimitCrossed, Pictured, draw_fenced, picture_fenced
from worker.in_hand import InHand
from worker.judge.live_area import live_area
from worker.keeping import kept_facts
from worker.measure.models import Measurements
from worker.profiles import Profile
from worker.report.drawing import Drawing, PageDrawing, bound_at, drawing_of
from worker.report.models import Report
from worker.report.underlay import PictureOrder, picture_order
from worker.reporting import pages_to_draw, set_page
from worker.store import Inspection, Missing, Store, file_key, picture_key, pictured_key, report_key, undrawn_key

log = logging.getLogger(__name__)

_in_hand = InHand()


class Undrawn(BaseModel):
    """Why a page has no picture and will have none: a ``limit`` that it crosses, or a drawing that broke off."""

    model_config = ConfigDict(frozen=True)

    code: Literal["limit", "drawing"]
    message: str


def draw_once(bench: Bench, inspection_id: str, page: int) -> bool:
    """Draw a page (from 1) of a finished inspection, unless it is drawn; whether its picture is there now.

    Raises :class:`FenceError` where it cannot be drawn this time, and :class:`Missing` where the inspection is going
    away.
    """
    store, row = bench.store, bench.store.rows.get(inspection_id)
    if row is None or row.state != "done":
        return False
    if store.bytes.size(picture_key(row.id, page)) is not None:
        return True
    if not (row.has_file and row.has_pictures) or why_undrawn(store, row.id, page) is not None:
        return False
    drawing = _drawing_of(row, _kept_report(store, row), kept_facts(store, row), page)
    if drawing is None:
        return False
    try:
        keep(store, row, picture_key(row.id, page), _drawn(bench, row, page, drawing))
    except FenceError as error:
        if not error.passes:
            keep(store, row, undrawn_key(row.id, page), remembered(error))
        raise
    return store.rows.get(row.id) is not None


def picture_once(bench: Bench, inspection_id: str) -> bool:
    """Set the report of a finished inspection with pictures, unless it is so already or in hand; whether it is now.

    A page that cannot be drawn, also for a limit, is left out for good. Raises :class:`FenceError` where all may fare
    better another time, and :class:`Missing` where the inspection is going away.
    """
    store, row = bench.store, bench.store.rows.get(inspection_id)
    if row is None or row.state != "done" or not (row.has_file and row.has_pictures):
        return False
    with _in_hand.hold(row.id) as held:
        if not held:
            return False
        if store.bytes.size(pictured_key(row.id)) is not None:
            return True
        keep(store, row, pictured_key(row.id), set_page(store, row, _pictures(bench, row)))
    return store.rows.get(row.id) is not None


def draw_unasked(bench: Bench, inspection_id: str) -> None:
    """Draw the pages of a finished inspection that its report speaks of, in one child, those that are not drawn yet.

    One that is left out, for whatever reason, is drawn when it is asked for: see :func:`draw_once`. Raises
    :class:`FenceError` for what ended it early, and :class:`Missing` where the inspection is going away.
    """
    store, row = bench.store, bench.store.rows.get(inspection_id)
    if row is None or row.state != "done" or not (row.has_file and row.has_pictures):
        return
    report, facts = _kept_report(store, row), kept_facts(store, row)
    wanted = [page for page in pages_to_draw(report) if store.bytes.size(picture_key(row.id, page)) is None]
    drawings = ((page, _drawing_of(row, report, facts, page)) for page in wanted)
    order = PictureOrder(pages=tuple(PageDrawing(page=page, drawing=each) for page, each in drawings if each))
    made = _fenced(bench, row, order)
    for page, picture in made.pictures.items():
        keep(store, row, picture_key(row.id, page), picture)
    if made.trouble is not None:
        raise made.trouble


def why_undrawn(store: Store, inspection_id: str, page: int) -> Undrawn | None:
    """Why the page cannot be drawn; None where nobody has found that it cannot."""
    try:
        return Undrawn.model_validate_json(store.bytes.read(undrawn_key(inspection_id, page)))
    except Missing:
        return None


def keep(store: Store, row: Inspection, key: str, data: bytes) -> None:
    """Keep a picture, or what is said of a picture or a proof, unless it may not be there any more."""
    store.bytes.write(key, data)
    delete_if_gone(store, row)


def delete_if_gone(store: Store, row: Inspection) -> None:
    """Take away what has just been made of a file, where meanwhile its inspection was deleted or its own day came."""
    current = store.rows.get(row.id)
    if current is None:
        store.bytes.delete_all(row.id)
    elif not current.has_pictures:
        store.bytes.delete_pictures(row.id)


def remembered(error: FenceError) -> bytes:
    """What is kept of why something cannot be had."""
    code: Literal["limit", "drawing"] = "limit" if isinstance(error, LimitCrossed) else "drawing"
    return Undrawn(code=code, message=str(error)).model_dump_json().encode()


def _pictures(bench: Bench, row: Inspection) -> Mapping[int, bytes]:
    """The pictures that the report's plates want, as far as they can be had."""
    order = picture_order(_kept_report(bench.store, row), kept_facts(bench.store, row))
    made = _fenced(bench, row, order)
    if made.trouble is not None:
        if made.trouble.passes:
            raise made.trouble
        log.info("%s: %d of %d pages are pictured: %s", row.id, len(made.pictures), len(order.pages), made.trouble)
    return made.pictures


def _fenced(bench: Bench, row: Inspection, order: PictureOrder) -> Pictured:
    with bench.store.bytes.local(file_key(row.id)) as path:
        return picture_fenced(path, order, limits=bench.limits, cancelled=bench.stopping.is_set)


def _kept_report(store: Store, row: Inspection) -> Report:
    return Report.model_validate_json(store.bytes.read(report_key(row.id)))


def _drawing_of(row: Inspection, report: Report, measurements: Measurements, page: int) -> Drawing | None:
    """What goes over the page; None where the file has no such page."""
    measured = next((found for found in measurements.pages if found.page == page), None)
    if measured is None:
        return None
    profile = Profile.model_validate_json(row.profile_json)
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
