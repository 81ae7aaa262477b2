"""The report, the data and the pictures of one inspection, as its page embeds them and offers them to keep."""

from __future__ import annotations

from flask import Response, make_response, send_file
from flask.typing import ResponseReturnValue

from service.days import need_file, need_pictures
from service.house import store
from service.names import name_to_keep
from service.pictured import report_page
from service.proofs import proof_sent
from service.web.room import blueprint
from service.web.troubles import NoInspection, NoPage, NoPicture
from service.web.visitor import own_inspection
from worker.picturing import why_undrawn
from worker.queue import ring_drawing
from worker.store import Inspection, Missing, measurements_key, picture_key, report_key

__all__ = [
    "measurements_json",
    "picture",
    "picture_sent",
    "proof",
    "report",
    "report_json",
    "report_sent",
    "to_keep",
]

REPORT_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'self'; sandbox allow-same-origin"
)
"""Around a report of whichever version: nothing is fetched, nothing runs. The file's own policy is narrower still: it
names its one style by hash."""


@blueprint.get("/inspections/<inspection_id>/report")
def report(inspection_id: str) -> ResponseReturnValue:
    """The report, one HTML file that stands alone."""
    return report_sent(own_inspection(inspection_id))


def report_sent(row: Inspection) -> Response:
    """The report's page. Raises :class:`NoInspection`."""
    try:
        response = make_response(report_page(row))
    except Missing:
        raise NoInspection from None
    response.headers["Content-Security-Policy"] = REPORT_POLICY
    return response


@blueprint.get("/inspections/<inspection_id>/report.json")
def report_json(inspection_id: str) -> ResponseReturnValue:
    """The report as data, to keep."""
    row = own_inspection(inspection_id)
    return to_keep(row, report_key(row.id), "report")


@blueprint.get("/inspections/<inspection_id>/measurements.json")
def measurements_json(inspection_id: str) -> ResponseReturnValue:
    """The measurements as data, to keep."""
    row = own_inspection(inspection_id)
    return to_keep(row, measurements_key(row.id), "measurements")


@blueprint.get("/inspections/<inspection_id>/pages/<int:page>.png")
def picture(inspection_id: str, page: int) -> ResponseReturnValue:
    """A page of the book, drawn; one that is not drawn yet is asked for."""
    row = own_inspection(inspection_id)
    if row.state != "done" or not 1 <= page <= (row.progress_total or 0):
        raise NoPage(page)
    return picture_sent(row, page)


def picture_sent(row: Inspection, page: int) -> Response:
    """The picture of a page of a finished inspection. Raises :class:`NoPicture`, and :class:`Problem` where it is no
    longer kept."""
    need_pictures(row)
    try:
        return send_file(store().bytes.open(picture_key(row.id, page)), mimetype="image/png")
    except Missing:
        undrawn = why_undrawn(store(), row.id, page)
    if undrawn is None:
        need_file(row)
        ring_drawing(row.id, page)
    raise NoPicture(page, cannot=undrawn.message if undrawn else None)


@blueprint.get("/inspections/<inspection_id>/proof.pdf")
def proof(inspection_id: str) -> ResponseReturnValue:
    """The book with its marks and notes, to keep; one that is not made yet is made now."""
    row = own_inspection(inspection_id)
    if row.state != "done":
        raise NoInspection
    return proof_sent(row)


def to_keep(row: Inspection, key: str, what: str) -> Response:
    """An object of an inspection as a file to keep, named after the book's. Raises :class:`NoInspection`."""
    try:
        file = store().bytes.open(key)
    except Missing:
        raise NoInspection from None
    name = name_to_keep(row.file_name, f"{what}.json")
    return send_file(file, mimetype="application/json", as_attachment=True, download_name=name)
