"""A request's JSON as one of the types that the API takes."""

from __future__ import annotations

from typing import TypeVar

from flask import json, request
from pydantic import BaseModel, ValidationError

from service import problems
from service.api.shown import JSON
from service.errors import invalid
from service.problems import Problem
from service.repeats import once_each

__all__ = ["MERGE_PATCH", "PATCHES", "json_body"]

MERGE_PATCH = "application/merge-patch+json"
"""RFC 7396; Flask takes it for JSON, as it does whatever ends in `+json`."""
PATCHES = (MERGE_PATCH, JSON)

MOST_BYTES = 16 * 1024

Body = TypeVar("Body", bound=BaseModel)


def json_body(model: type[Body]) -> Body:
    """The request's JSON as ``model``. Raises :class:`Problem`."""
    if not request.is_json:
        raise Problem(
            problems.UNSUPPORTED_MEDIA_TYPE,
            "Send the body as application/json.",
            headers={"Accept-Patch": ", ".join(PATCHES)} if request.method == "PATCH" else {"Accept": JSON},
        )
    request.max_content_length = MOST_BYTES
    try:
        sent = json.loads(request.get_data(), object_pairs_hook=once_each)
    except (ValueError, RecursionError):
        detail = f"The body is not JSON. Send an object with {' and '.join(model.model_fields)}."
        raise Problem(problems.MALFORMED, detail) from None
    try:
        return model.model_validate(sent)
    except ValidationError as error:
        raise invalid(error) from None
