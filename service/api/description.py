"""The API's description, OpenAPI made from the code, and the app that collects it."""

from __future__ import annotations

import re
import threading
from functools import cache
from typing import Any

from flask import Response, json
from flask_openapi.openapi import OpenAPI
from pydantic import BaseModel, ValidationError
from pydantic.json_schema import models_json_schema

from service.api import resources, title_resources
from service.api.described import IF_NONE_MATCH, not_null
from service.api.shown import cacheable
from service.api.webhook import WEBHOOKS, CallbackMessage
from service.errors import invalid
from worker import version
from worker.measure.models import Measurements
from worker.profiles import Profile
from worker.report.models import Report

__all__ = ["describe", "describing_app"]

JSON = "application/json"
REFUSED, UNCHANGED = "422", "304"
REF_TEMPLATE = "#/components/schemas/{model}"

QUALIFIED = re.compile(r"worker__(?P<room>[a-z]+)__models__(?P<name>\w+)")
"""How pydantic names two types of one name."""

SENT: tuple[type[BaseModel], ...] = (
    resources.JudgementOrder,
    resources.UploadFields,
    resources.ShareOrder,
    title_resources.TitleGiven,
    title_resources.TitleChanges,
    title_resources.Pass,
    title_resources.LinkOrder,
)
SHOWN: tuple[type[BaseModel], ...] = (
    resources.Inspection,
    resources.JudgedInspection,
    resources.InspectionList,
    resources.DeliveryList,
    resources.Delivery,
    resources.CallbackSecret,
    CallbackMessage,
    title_resources.Title,
    title_resources.TitleList,
    title_resources.Submission,
    title_resources.SubmissionList,
    title_resources.Letter,
    title_resources.AuthorLinkList,
    title_resources.NewAuthorLink,
    resources.NewShare,
    resources.ShareList,
    resources.Quota,
    resources.ProfileList,
    resources.Health,
    resources.Readiness,
    resources.LimitsInForce,
    resources.ProblemDetails,
    resources.ProblemKind,
    Report,
    Measurements,
    Profile,
)

INFO = {
    "title": "Pressworthy",
    "version": version(),
    "summary": "Says whether a printer will take a book's PDF, and which number to change.",
    "description": (
        "Upload the PDF of a book's interior with the profile of a printer. Every page is measured, and judged against "
        "what the printer accepts; the report names each thing to change once, with all the pages that it touches.\n\n"
        "Lengths are points (1/72 in). Boxes are `[x0, y0, x1, y1]` from the lower-left corner of the trimmed page. "
        "Pages count from 1. A report does not speak for the printer: the printer's own guide governs. Order a "
        "physical proof before you pay for copies.\n\n"
        "Every answer names its request in the header `X-Request-Id`, and so do the service's log lines: the id that "
        "the request itself brought in that header (up to 64 letters, digits and `.`, `_`, `:`, `-`), or one made "
        "here. Every answer says in `X-RateLimit-Limit`, `X-RateLimit-Remaining` and `X-RateLimit-Reset` how many "
        "requests are answered in a minute, how many are left, and when there are more (seconds since 1970); "
        "health and readiness are not counted.\n\n"
        "An error is `application/problem+json` (RFC 9457): tell one from another by its `type`, which is the address "
        "of a page about it. What is read by GET is answered to HEAD too, without its body."
    ),
}
TOKEN = {
    "type": "http",
    "scheme": "bearer",
    "description": "An access token, made with `pressworthy token make NAME`. Not asked for where the service listens "
    "to its own machine alone.",
}


DESCRIPTION = "description"

_describing = threading.Lock()


def describing_app(import_name: str) -> OpenAPI:
    """An app that collects the description of its addresses, and refuses requests that are not as described."""
    app = OpenAPI(
        import_name,
        info=INFO,
        security_schemes={"accessToken": TOKEN},
        validation_error_callback=_refusal,
        doc_ui=False,
        static_folder=None,
    )
    written = cache(lambda: json.dumps(describe(app)) + "\n")
    app.add_url_rule("/openapi.json", "openapi", lambda: _document(written()), methods=["GET"])
    return app


def describe(app: OpenAPI) -> dict[str, Any]:
    """The whole description. It is made once: that costs more than a hundred other answers, and it is open to all."""
    with _describing:
        if DESCRIPTION not in app.extensions:
            app.extensions[DESCRIPTION] = _described(app)
    found: dict[str, Any] = app.extensions[DESCRIPTION]
    return found


def _described(app: OpenAPI) -> dict[str, Any]:
    document: dict[str, Any] = app.api_doc
    document["components"]["schemas"] = _schemas()
    document["webhooks"] = WEBHOOKS
    for operation in (each for path in document["paths"].values() for each in path.values()):
        if JSON in operation["responses"].get(REFUSED, {}).get("content", {}):  # the library's own, which we never send
            del operation["responses"][REFUSED]
        if "description" in operation:
            operation["description"] = operation["description"].replace("<br/>", "\n").strip()
        parameters = operation.setdefault("parameters", [])
        for parameter in parameters:
            parameter["schema"] = not_null(parameter["schema"])
            if "description" in parameter["schema"]:
                parameter.setdefault("description", parameter["schema"]["description"])
        if UNCHANGED in operation["responses"] and IF_NONE_MATCH not in parameters:
            parameters.append(IF_NONE_MATCH)
    return document


def _document(written: str) -> Response:
    return cacheable(Response(written, mimetype=JSON))


def _schemas() -> dict[str, Any]:
    """All types together, so that two of one name (a page's margins, a printer's margins) are told apart."""
    wanted = [(model, "validation") for model in SENT] + [(model, "serialization") for model in SHOWN]
    _, definitions = models_json_schema(wanted, by_alias=True, ref_template=REF_TEMPLATE)  # type: ignore[arg-type]
    text = json.dumps(definitions["$defs"])
    schemas: dict[str, Any] = json.loads(QUALIFIED.sub(_short_name, text))
    return schemas


def _short_name(qualified: re.Match[str]) -> str:
    """``worker__measure__models__Margins`` is ``MeasureMargins``."""
    return qualified["room"].capitalize() + qualified["name"]


def _refusal(error: ValidationError) -> Response:
    return invalid(error).response()
