"""What an inspection has found: report, measurements, pages' pictures; and judging again from what was measured."""

from __future__ import annotations

import time
from hashlib import sha256

from flask import Response, json
from flask_openapi.blueprint import APIBlueprint

from service import problems
from service.access import guard_api, owner
from service.api import resources, shown
from service.api.accept import chosen
from service.api.described import BEARER, TAG, answers, body, given
from service.api.done import UNFINISHED, done_inspection
from service.api.json_body import json_body
from service.api.resources import InspectionPath, JudgementOrder, MeasurementsQuery, PicturePath, RangeHeader
from service.api.result_examples import JUDGED, MEASURED, REPORT
from service.api.shown import JSON, address_of, answer, cacheable
from service.days import need_file, need_pictures
from service.house import store
from service.intake import profile_named
from service.kept_files import file_sent
from service.pictured import ask_for_pictures, report_page
from service.problems import Problem
from service.proofs import PDF, NoProof, proof_sent
from service.quotas import quota_refusals
from service.waiters import may_wait
from worker.measure.models import Measurements
from worker.picturing import why_undrawn
from worker.queue import ring_drawing
from worker.report.models import Report
from worker.reporting import judge_again
from worker.store import Inspection, Missing, lines_key, measurements_key, picture_key, report_key

__all__ = ["blueprint"]

blueprint = APIBlueprint("results", __name__, url_prefix="/v1", abp_tags=[{"name": "results"}])
blueprint.before_request(guard_api)

HTML = "text/html"
PNG = "image/png"

REPORT_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'; sandbox"
)
"""The report's page stands alone: nothing is fetched, nothing runs, and it belongs to no origin."""

DRAWING_SECONDS = 8.0
GLANCE_SECONDS = 0.1

HTML_SCHEMA = {"type": "string", "description": "One HTML file that stands alone."}
PNG_SCHEMA = {"type": "string", "format": "binary"}
PDF_SCHEMA = PNG_SCHEMA


@blueprint.get(
    "/inspections/<id>/report",
    operation_id="getReport",
    security=BEARER,
    responses=answers(
        {200: given("The report", (JSON, Report), (HTML, HTML_SCHEMA), headers=TAG, examples=REPORT)},
        *UNFINISHED,
        problems.NOT_ACCEPTABLE,
        cached=True,
    ),
)
def report(path: InspectionPath) -> Response:
    """The report, in the form that `Accept` asks for"""
    row = done_inspection(path.id)
    made = _report_page(row) if chosen((JSON, HTML)) == HTML else _kept_json(report_key(row.id))
    made.headers["Vary"] = "Accept"
    return made


@blueprint.get(
    "/inspections/<id>/report.json",
    operation_id="getReportJson",
    security=BEARER,
    responses=answers(
        {200: given("The report", (JSON, Report), headers=TAG, examples=REPORT)}, *UNFINISHED, cached=True
    ),
)
def report_json(path: InspectionPath) -> Response:
    """The report as JSON"""
    return _kept_json(report_key(done_inspection(path.id).id))


@blueprint.get(
    "/inspections/<id>/report.html",
    operation_id="getReportHtml",
    security=BEARER,
    responses=answers({200: given("The report", (HTML, HTML_SCHEMA), headers=TAG)}, *UNFINISHED, cached=True),
)
def report_html(path: InspectionPath) -> Response:
    """The report as one HTML file that stands alone

    Pictures of the book's worst pages are in it as soon as they are made, a moment after the inspection is done.
    """
    return _report_page(done_inspection(path.id))


@blueprint.get(
    "/inspections/<id>/measurements",
    operation_id="getMeasurements",
    security=BEARER,
    responses=answers(
        {200: given("What was measured", (JSON, Measurements), headers=TAG, examples=MEASURED)},
        *UNFINISHED,
        problems.INVALID,
        cached=True,
    ),
)
def measurements(path: InspectionPath, query: MeasurementsQuery) -> Response:
    """Facts read from the PDF, without any opinion"""
    row = done_inspection(path.id)
    if not query.lines:
        return _kept_json(measurements_key(row.id))
    facts = json.loads(store().bytes.read(measurements_key(row.id)))
    every_line = json.loads(store().bytes.read(lines_key(row.id)))
    for page, lines in zip(facts["pages"], every_line, strict=True):
        page["lines"] = lines
    return cacheable(Response(json.dumps(facts) + "\n", mimetype=JSON))


@blueprint.get(
    "/inspections/<id>/pages/<int:page>.png",
    operation_id="getPagePicture",
    security=BEARER,
    responses=answers(
        {200: given("The page, with the live area and its marks drawn on it", (PNG, PNG_SCHEMA), headers=TAG)},
        *UNFINISHED,
        problems.NO_SUCH_PAGE,
        problems.NO_LONGER_KEPT,
        problems.CANNOT_BE_DRAWN,
        problems.NOT_DRAWN,
        cached=True,
    ),
)
def picture(path: PicturePath) -> Response:
    """A page as a picture

    One that is not drawn yet is drawn now, and waited for a while. One that cannot be drawn is said to be so for good.
    """
    row = done_inspection(path.id)
    if not 1 <= path.page <= (row.progress_total or 0):
        detail = f"The file has {row.progress_total or 0} pages, counted from 1. Ask for one of these."
        raise Problem(problems.NO_SUCH_PAGE, detail)
    need_pictures(row)
    return cacheable(Response(_drawn(row, path.page), mimetype=PNG))


@blueprint.get(
    "/inspections/<id>/proof.pdf",
    operation_id="getProof",
    security=BEARER,
    responses=answers(
        {
            200: given(
                "The book itself, marked, the findings as notes in it and listed before it",
                (PDF, PDF_SCHEMA),
                headers=TAG | {"Accept-Ranges": "`bytes`: a part may be asked for."},
            ),
            206: given(
                "The part of it that was asked for",
                (PDF, PDF_SCHEMA),
                headers=TAG | {"Content-Range": "Which bytes, of how many (RFC 9110, section 14.4)."},
            ),
        },
        problems.NO_SUCH_PART,
        *UNFINISHED,
        problems.NO_PROOF,
        problems.NO_LONGER_KEPT,
        problems.PROOF_NOT_MADE,
        cached=True,
    ),
)
def proof(header: RangeHeader, path: InspectionPath) -> Response:
    """The proof: the book with marks and notes

    The pages are the file's own; the marks are on a layer that can be switched off. One that is not made yet is made
    now, and waited for a while. A download that broke off can go on with `Range`.
    """
    row = done_inspection(path.id)
    try:
        return proof_sent(row)
    except NoProof as error:
        raise _no_proof(error) from None


@blueprint.post(
    "/inspections/<id>/judgements",
    operation_id="judgeAgain",
    security=BEARER,
    request_body=body(
        "The profile to judge by.",
        **{
            JSON: {
                "schema": {"$ref": "#/components/schemas/JudgementOrder"},
                "example": {"profile": "common-paperback", "pages": 240},
            }
        },
    ),
    responses=answers(
        {
            201: given(
                "A new inspection, with its report",
                (JSON, resources.JudgedInspection),
                headers={"Location": "Where the new inspection is found."},
                examples=JUDGED,
                links=dict.fromkeys(("getInspection", "getReport", "deleteInspection"), "id"),
            )
        },
        *UNFINISHED,
        problems.MALFORMED,
        problems.FOREIGN_ORIGIN,
        problems.TOO_SLOW,
        problems.TOO_LARGE,
        problems.UNSUPPORTED_MEDIA_TYPE,
        problems.INVALID,
        problems.UNKNOWN_PROFILE,
        problems.QUOTA_BYTES,
    ),
)
def judge(path: InspectionPath) -> Response:
    """Judge the kept measurements by another profile

    Nothing is measured again: the answer comes at once. It works also when the uploaded file is no longer kept. The
    file's day stays as it was; it counts once more among your kept bytes, and not among the files sent.
    """
    row = done_inspection(path.id)
    order = json_body(JudgementOrder)
    with quota_refusals():
        new, report = judge_again(store(), row, profile_named(order.profile, owner()), judged_as_pages=order.pages)
    ask_for_pictures(new.id)
    return answer(shown.judged(new, report), 201, Location=address_of(new.id))


def _kept_json(key: str) -> Response:
    """An object as it is kept. It never changes, so its key is validator enough; it is sent piece by piece."""
    return file_sent(store().bytes.open(key), JSON, tag=sha256(key.encode()).hexdigest())


def _report_page(row: Inspection) -> Response:
    made = cacheable(Response(report_page(row), mimetype=HTML))
    made.headers["Content-Security-Policy"] = REPORT_POLICY
    return made


def _drawn(row: Inspection, page: int) -> bytes:
    """The picture of a page, drawn now if need be. Raises :class:`Problem`."""
    picture = _found(row, page)
    if picture is None:
        need_file(row)
        if not ring_drawing(row.id, page):
            raise _not_drawn("The queue does not answer at the moment. Ask again in a minute.", 60)
        picture = _waited_for(row, page)
    if picture is None:
        raise _not_drawn(f"Page {page} is being drawn. Ask again in 5 seconds.", 5)
    return picture


def _found(row: Inspection, page: int) -> bytes | None:
    """The picture if it is there. Raises :class:`Problem` where it never will be."""
    try:
        return store().bytes.read(picture_key(row.id, page))
    except Missing:
        undrawn = why_undrawn(store(), row.id, page)
    if undrawn is None:
        return None
    raise Problem(
        problems.CANNOT_BE_DRAWN,
        f"Page {page} cannot be drawn: {undrawn.message}. Asking again changes nothing; the report holds without it. "
        "Look at the page in a PDF reader, export the book again if it looks wrong there, and upload that.",
        why=undrawn.model_dump(),
    )


def _waited_for(row: Inspection, page: int) -> bytes | None:
    """The picture within a while, if there is a thread left to wait in."""
    until = time.monotonic() + DRAWING_SECONDS
    with may_wait() as granted:
        while granted and time.monotonic() < until:
            time.sleep(GLANCE_SECONDS)
            if (picture := _found(row, page)) is not None:
                return picture
    return None


def _no_proof(error: NoProof) -> Problem:
    if error.cannot is not None:
        return Problem(
            problems.NO_PROOF,
            f"No proof can be made: {error.cannot}. Asking again changes nothing; the report holds without it. "
            "Export the book again, and upload that.",
        )
    seconds, why = (5, "The proof is being made.") if error.queue_answers else (60, "The queue does not answer now.")
    detail = f"{why} Ask again in {seconds} seconds."
    return Problem(problems.PROOF_NOT_MADE, detail, headers={"Retry-After": str(seconds)})


def _not_drawn(detail: str, seconds: int) -> Problem:
    return Problem(problems.NOT_DRAWN, detail, headers={"Retry-After": str(seconds)})
