"""Rows as the API shows them, and JSON answers."""

from __future__ import annotations

from flask import Response
from pydantic import BaseModel

from service.api.resources import Failure, Inspection, InspectionLinks, JudgedInspection, Progress
from worker.judge.models import Verdict
from worker.measure.models import File
from worker.report.models import Report
from worker.store import Inspection as Row

__all__ = ["address_of", "answer", "inspection", "judged"]

JSON = "application/json"


def address_of(inspection_id: str) -> str:
    """Where an inspection is found."""
    return f"/v1/inspections/{inspection_id}"


def inspection(row: Row, position: int | None) -> Inspection:
    """A row as its owner sees it; ``position`` is its place in the queue."""
    return Inspection(
        id=row.id,
        state=row.state,
        file=File(name=row.file_name, sha256=row.sha256, bytes=row.bytes),
        profile=row.profile_id,
        title=row.title,
        judged_as_pages=row.judged_as_pages,
        against=row.against,
        position=position,
        progress=Progress(done=row.progress_done, total=row.progress_total),
        verdict=Verdict(row.verdict) if row.verdict else None,
        failure=Failure.model_validate(row.failure) if row.failure else None,
        created_at=row.created_at,
        measured_at=row.measured_at,
        finished_at=row.finished_at,
        expires_at=row.expires_at,
        file_expires_at=row.file_until,
        pictures_expire_at=row.pictures_until,
        links=_links(row),
    )


def judged(row: Row, report: Report) -> JudgedInspection:
    """The same, with its report."""
    return JudgedInspection(**dict(inspection(row, None)), report=report)


def answer(body: BaseModel, status: int = 200, **headers: str) -> Response:
    """A body as JSON. Names of headers are written with underscores."""
    response = Response(body.model_dump_json() + "\n", status, mimetype=JSON)
    response.headers.update({name.replace("_", "-"): value for name, value in headers.items()})
    return response


def _links(row: Row) -> InspectionLinks:
    here = address_of(row.id)
    done = row.state == "done"
    return InspectionLinks(
        self_=here,
        report=f"{here}/report.json" if done else None,
        report_html=f"{here}/report.html" if done else None,
        measurements=f"{here}/measurements" if done else None,
        pages=f"{here}/pages/{{page}}.png" if done and row.has_pictures else None,
        proof=f"{here}/proof.pdf" if done and row.progress_total and row.has_pictures else None,
        judgements=f"{here}/judgements" if done else None,
        cancellation=None if row.finished else f"{here}/cancellation",
    )
