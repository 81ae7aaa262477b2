"""Whatever goes wrong anywhere becomes one clear answer: a page for a person, problem details for a program."""

from __future__ import annotations

import logging
import uuid

from flask import Flask, Response, request
from pydantic import ValidationError
from sqlalchemy.exc import SQLAlchemyError
from werkzeug.exceptions import HTTPException

from service import problems
from service.pace import TooSlow
from service.problems import Kind, Problem, ProblemBody
from service.web import page_of_trouble
from worker.store import Missing, StoreDown

__all__ = ["answer_for", "invalid", "register"]

log = logging.getLogger(__name__)

PROGRAMS_ALONE = ("/v1", "/problems", "/openapi.json")
"""Addresses at which an error is never a page."""

BY_STATUS: dict[int, tuple[Kind, str]] = {
    400: (problems.MALFORMED, "The request cannot be understood. Compare it with /openapi.json."),
    404: (problems.NOT_FOUND, "There is nothing at this address. Every address of the API is in /openapi.json."),
    405: (problems.METHOD_NOT_ALLOWED, "Use one of the methods that the header `Allow` names."),
    413: (problems.TOO_LARGE, "The body is larger than this address takes. GET /v1/limits says what is."),
    415: (problems.UNSUPPORTED_MEDIA_TYPE, "Send the body as one of the media types that /openapi.json names."),
    416: (problems.NO_SUCH_PART, "The file is shorter. Ask for bytes that it has, or leave the header `Range` out."),
    429: (problems.TOO_MANY_REQUESTS, problems.TOO_MANY_REQUESTS.remedy),
}

WORDS = {
    "missing": "It is missing.",
    "extra_forbidden": "It is not known here; leave it out.",
    "string_pattern_mismatch": "It has to be on one line, without control characters.",
}
"""Our own words for what pydantic finds."""


def register(app: Flask) -> None:
    """See to every error that no page of its own answers."""
    app.register_error_handler(Exception, _answer)


def answer_for(error: Exception) -> Response:
    """Problem details for any error; one of our own making is logged under the ``instance`` that the answer names."""
    match error:
        case Problem():
            return error.response()
        case HTTPException(response=Response() as ready):
            return ready
        case HTTPException(code=int(status)) if status < 500:
            return _of_http(error, status)
        case TooSlow():  # an upload's own refusal is made where it is read
            return Problem(problems.TOO_SLOW, str(error)).response()
        case Missing():  # deleted since its row was read
            return Problem(problems.NO_SUCH_INSPECTION, "This inspection has just been deleted.").response()
        case StoreDown() | SQLAlchemyError():
            log.error("the store does not answer: %s", error)
            detail = "Its database or its files do not answer. Nothing that was kept is lost; try again in a minute."
            return Problem(problems.STORE_AWAY, detail, headers={"Retry-After": "60"}).response()
        case _:
            return _fault(error)


def invalid(error: ValidationError) -> Problem:
    """A request that is not as described: each place that has to be changed, and how."""
    errors = [
        {
            "field": _place(each["loc"]),
            "detail": WORDS.get(each["type"]) or _told(each["msg"]),
        }
        for each in error.errors(include_url=False, include_context=False, include_input=False)
    ]
    detail = "; ".join(f"{each['field']}: {each['detail']}" for each in errors)
    return Problem(problems.INVALID, detail, errors=errors)


def _answer(error: Exception) -> Response:
    programs = request.path.startswith(PROGRAMS_ALONE) or not request.accept_mimetypes.accept_html
    return answer_for(error) if programs else page_of_trouble(error)


def _of_http(error: HTTPException, status: int) -> Response:
    kind, detail = BY_STATUS.get(status, (None, error.description or "Compare the request with /openapi.json."))
    headers = {name: value for name, value in error.get_headers() if name.lower() != "content-type"}
    if kind is None:  # RFC 9457, section 4.2.1: the status says it all
        return ProblemBody("about:blank", error.name, status, detail).response(headers)
    return Problem(kind, detail, headers=headers).response()


def _fault(error: Exception) -> Response:
    instance = uuid.uuid4().urn
    route = request.url_rule.rule if request.url_rule else "no route"  # an address may hold a secret
    log.error("%s %s broke off: %s", request.method, route, instance, exc_info=error)
    detail = "The fault is the service's own, and is written down. Try again; if it stays so, tell whoever runs it."
    return Problem(problems.FAULT, detail, instance=instance).response()


def _place(location: tuple[int | str, ...]) -> str:
    """Where in the request it is; a name that is empty or odd is shown as Python writes it."""
    if not location:
        return "body"
    name = ".".join(str(part) for part in location)
    return name if name.isprintable() and name.strip() else repr(name)


def _told(message: str) -> str:
    """Pydantic's words without its own prefix, as a sentence."""
    told = message.removeprefix("Value error, ")
    return f"{told[:1].upper()}{told[1:]}".rstrip(".") + "."
