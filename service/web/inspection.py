"""The page of one inspection: its progress while it runs, then the report; stopping, judging again, deleting."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from flask import jsonify, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from service.access import manages
from service.callbacks import ring_if_called
from service.house import settings, store
from service.known_profiles import known_profile, known_profiles
from service.pictured import ask_for_pictures
from service.problems import Problem
from service.quotas import quota_refusals
from service.web.called import call_of
from service.web.pages_field import BadPages, pages_of
from service.web.printers import printers
from service.web.room import blueprint
from service.web.troubles import NoInspection
from service.web.visitor import own_inspection, owner
from service.web.words import Progress, card_of, failure_of, progress_of
from worker.picturing import why_undrawn
from worker.queue import broker_answers
from worker.report.models import Report
from worker.reporting import judge_again as judge_kept
from worker.reporting import pages_to_draw
from worker.store import Inspection, Missing, picture_key, report_key

__all__ = [
    "cancel",
    "delete",
    "deletion",
    "inspection",
    "judge_again",
    "page_of",
    "pictures_of",
    "progress",
    "report_of",
]

RELOAD_SECONDS = 5
"""How often the page loads again where no script follows the progress."""


@dataclass(frozen=True)
class Picture:
    """A flagged page: the titles of its findings, and whether its picture is there, or can never be."""

    page: int
    findings: list[str]
    drawn: bool
    cannot: bool


@blueprint.get("/inspections/<inspection_id>")
def inspection(inspection_id: str) -> ResponseReturnValue:
    """The page, in whichever state."""
    return page_of(own_inspection(inspection_id))


@blueprint.get("/inspections/<inspection_id>/progress")
def progress(inspection_id: str) -> ResponseReturnValue:
    """The progress as data, for the page's script."""
    return jsonify(asdict(_progress(own_inspection(inspection_id))))


@blueprint.post("/inspections/<inspection_id>/cancellation")
def cancel(inspection_id: str) -> ResponseReturnValue:
    """Stop it; one that has ended stays as it is."""
    row = own_inspection(inspection_id)
    store().rows.cancel(row.id, owner())
    ring_if_called(row.id)
    return redirect(url_for("web.inspection", inspection_id=row.id), 303)


@blueprint.post("/inspections/<inspection_id>/judgements")
def judge_again(inspection_id: str) -> ResponseReturnValue:
    """A new inspection from the kept measurements, for the printer that was chosen."""
    row = own_inspection(inspection_id)
    known = known_profile(request.form.get("profile", ""), owner())
    try:
        pages = pages_of(request.form.get("pages", ""))
    except BadPages as bad:
        return page_of(row, str(bad), 422)
    if known is None:
        return page_of(row, "There is no such printer any more. Choose one of those in the list.", 422)
    if row.state != "done":
        return page_of(row, "Only an inspection that has its report can be judged again.", 409)
    try:
        with quota_refusals():
            new, _ = judge_kept(store(), row, known.profile, judged_as_pages=pages)
    except Problem as problem:
        return page_of(row, problem.detail, problem.kind.status)
    ask_for_pictures(new.id)
    return redirect(url_for("web.inspection", inspection_id=new.id), 303)


@blueprint.get("/inspections/<inspection_id>/deletion")
@manages
def deletion(inspection_id: str) -> ResponseReturnValue:
    """Ask before anything is deleted."""
    return render_template("web/deletion.html", card=card_of(own_inspection(inspection_id)))


@blueprint.post("/inspections/<inspection_id>/deletion")
@manages
def delete(inspection_id: str) -> ResponseReturnValue:
    """Delete the file, the pictures and the report; a running inspection is stopped by that."""
    row = own_inspection(inspection_id)
    store().delete(row.id, owner())
    return redirect(url_for("web.shelf"), 303)


def page_of(row: Inspection, problem: str = "", status: int = 200) -> ResponseReturnValue:
    """The page of an inspection, with a ``problem`` of what was asked on it."""
    shown: dict[str, object] = {"card": card_of(row), "problem": problem, "reload_seconds": RELOAD_SECONDS}
    shown["call"] = call_of(row)
    shown["of_title"] = store().titles.of_inspection(row.id, owner())
    if row.state == "done":
        shown |= _of_report(row)
    elif row.state == "failed":
        shown["failure"] = failure_of(row)
    elif not row.finished:
        shown["progress"] = _progress(row)
    return make_response(render_template("web/inspection.html", **shown), status)


def _of_report(row: Inspection) -> dict[str, object]:
    report = report_of(row)
    pictures = pictures_of(row, report)
    flagged = {page for finding in report.findings for page in finding.pages}
    return {
        "has_pages": bool(row.progress_total),
        "pictures": pictures,
        "more_pictures": max(0, len(flagged) - len(pictures)),
        "shares": store().shares.of(row.id),
        "share_days": request.form.get("days", settings().share_days),
        "printers": printers(known_profiles(owner()).values()),
        "typed": {
            "profile": request.form.get("profile", row.profile_id),
            "pages": request.form.get("pages", row.judged_as_pages or ""),
        },
    }


def report_of(row: Inspection) -> Report:
    """Its report. Raises :class:`NoInspection` where it has just been deleted."""
    try:
        return Report.model_validate_json(store().bytes.read(report_key(row.id)))
    except Missing:
        raise NoInspection from None


def pictures_of(row: Inspection, report: Report) -> list[Picture]:
    """The flagged pages that are shown; none once the pictures' day has come, nor those that can be drawn no more."""
    if not row.has_pictures:
        return []
    pictures = (_picture(row, report, page) for page in pages_to_draw(report))
    return [picture for picture in pictures if picture.drawn or picture.cannot or row.has_file]


def _picture(row: Inspection, report: Report, page: int) -> Picture:
    drawn = store().bytes.size(picture_key(row.id, page)) is not None
    cannot = not drawn and why_undrawn(store(), row.id, page) is not None
    return Picture(page, [finding.title for finding in report.findings if page in finding.pages], drawn, cannot)


def _progress(row: Inspection) -> Progress:
    queued = row.state == "queued"
    return progress_of(
        row,
        position=store().rows.position(row) if queued else None,
        queue_answers=broker_answers() if queued else True,
    )
