"""Rows as the API shows them, and JSON answers."""

from __future__ import annotations

from flask import Response, request
from pydantic import BaseModel

from service.api.resources import JudgedInspection
from worker.report.models import Report
from worker.shown import address_of, inspection
from worker.store import Inspection as Row

__all__ = ["address_of", "answer", "cacheable", "inspection", "judged"]

JSON = "application/json"


def judged(row: Row, report: Report) -> JudgedInspection:
    """The same, with its report."""
    return JudgedInspection(**dict(inspection(row, None)), report=report)


def answer(body: BaseModel, status: int = 200, **headers: str) -> Response:
    """A body as JSON. Names of headers are written with underscores."""
    response = Response(body.model_dump_json() + "\n", status, mimetype=JSON)
    response.headers.update({name.replace("_", "-"): value for name, value in headers.items()})
    return response


def cacheable(response: Response, tag: str | None = None) -> Response:
    """With a validator, so that what the caller has already is not sent again (RFC 9110, section 13).

    ``tag`` is the validator; left out, it is made from what the answer says.
    """
    if tag is None:
        response.add_etag()
    else:
        response.set_etag(tag)
    response.make_conditional(request)
    return response
