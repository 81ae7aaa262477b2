"""Rows as the API shows them, and JSON answers."""

from __future__ import annotations

from flask import Response
from pydantic import BaseModel

from service.api.resources import JudgedInspection
from worker.report.models import Report
from worker.shown import address_of, inspection
from worker.store import Inspection as Row

__all__ = ["address_of", "answer", "inspection", "judged"]

JSON = "application/json"


def judged(row: Row, report: Report) -> JudgedInspection:
    """The same, with its report."""
    return JudgedInspection(**dict(inspection(row, None)), report=report)


def answer(body: BaseModel, status: int = 200, **headers: str) -> Response:
    """A body as JSON. Names of headers are written with underscores."""
    response = Response(body.model_dump_json() + "\n", status, mimetype=JSON)
    response.headers.update({name.replace("_", "-"): value for name, value in headers.items()})
    return response
