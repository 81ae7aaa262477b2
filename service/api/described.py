"""How an address is described: what it gives, and which problems it may answer with."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any

from pydantic import BaseModel

from service import problems
from service.idempotency import REPLAYED
from service.problems import MEDIA_TYPE, Kind

__all__ = [
    "AGAIN",
    "APPLIED",
    "BEARER",
    "IF_NONE_MATCH",
    "PLACE",
    "PROBLEM_SCHEMA",
    "TAG",
    "answers",
    "body",
    "given",
    "not_null",
]

BEARER: list[dict[str, list[str]]] = [{"accessToken": []}, {}]
"""A token; none where the service listens to its own machine alone."""

PROBLEM_SCHEMA = {"$ref": "#/components/schemas/ProblemDetails"}

WAIT = {"Retry-After": "Seconds to wait; left out where asking again changes nothing."}
HEADERS_OF: Mapping[int, dict[str, str]] = {
    401: {"WWW-Authenticate": "How to authenticate (RFC 6750)."},
    409: WAIT,
    415: {"Accept": "The media types that are taken."},
    416: {"Content-Range": "How many bytes there are (RFC 9110, section 14.4)."},
    429: WAIT
    | {
        "X-RateLimit-Limit": "Requests that are answered in a minute.",
        "X-RateLimit-Remaining": "Those that are left.",
        "X-RateLimit-Reset": "When there are more: seconds since 1970.",
    },
    503: WAIT,
}

APPLIED = {"Preference-Applied": "The preference, as far as it was honoured."}
AGAIN = {"Retry-After": "Seconds until it is worth asking again; only while it has not ended."}
PLACE = {
    "Location": "Where the inspection is found.",
    REPLAYED: "`true` where the `Idempotency-Key` had made this inspection before.",
}
"""The headers of an upload's answer."""

TAG = {"ETag": "A validator; each form of one thing has its own."}
IF_NONE_MATCH: dict[str, Any] = {
    "name": "If-None-Match",
    "in": "header",
    "description": "The `ETag` of what you have: 304 where it still holds (RFC 9110, section 13.1.2).",
    "schema": {"type": "string"},
}
UNCHANGED: dict[str, Any] = {"description": "What you have still holds (its `ETag` is in `If-None-Match`)"}

EVERYWHERE = (
    problems.INVALID,
    problems.FAULT,
    problems.STORE_AWAY,
    problems.FOREIGN_HOST,
    problems.MALFORMED,
    problems.TOO_MANY_REQUESTS,
)
GUARDED = (problems.TOKEN_NEEDED, problems.TOKEN_UNKNOWN, problems.SCOPE_MISSING)


def answers(
    good: Mapping[int, dict[str, Any]], *kinds: Kind, guarded: bool = True, cached: bool = False
) -> dict[str | int | HTTPStatus, Any]:
    """The answers of an address: the good ones, and a problem for each of ``kinds``.

    ``cached``: it honours ``If-None-Match``.
    """
    by_status: dict[int, list[Kind]] = {}
    for kind in dict.fromkeys((*kinds, *(GUARDED if guarded else ()), *EVERYWHERE)):
        by_status.setdefault(kind.status, []).append(kind)
    found: dict[str | int | HTTPStatus, Any] = {status: _problem(by_status[status]) for status in sorted(by_status)}
    found.update(good.items())
    if cached:
        found[304] = UNCHANGED
    return found


def given(
    description: str,
    *media: tuple[str, Any],
    headers: Mapping[str, str] | None = None,
    examples: Mapping[str, Any] | None = None,
    links: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """A good answer: for each media type, its schema or the model that it is made from; ``examples`` of the first.

    ``links``: the operations that one goes on with, and the member of the answer that is their ``id``.
    """
    content: dict[str, dict[str, Any]] = {name: {"schema": _schema(of)} for name, of in media}
    if examples:
        content[media[0][0]]["examples"] = dict(examples)
    described: dict[str, Any] = {"description": description}
    if content:
        described["content"] = content
    if headers:
        described["headers"] = _headers(headers)
    if links:
        described["links"] = {
            name: {"operationId": name, "parameters": {"id": f"$response.body#/{member}"}}
            for name, member in links.items()
        }
    return described


def body(description: str, **media: Any) -> dict[str, Any]:
    """A request's body."""
    return {"description": description, "required": True, "content": media}


def not_null(schema: dict[str, Any]) -> dict[str, Any]:
    """The schema of a parameter or a form's field: one is sent or left out, and is never null."""
    kinds = [kind for kind in schema.get("anyOf", []) if kind != {"type": "null"}]
    if len(kinds) != 1 or len(kinds) == len(schema["anyOf"]):
        return schema
    told = {name: value for name, value in schema.items() if name not in {"anyOf", "default"}}
    return told | dict(kinds[0])


def _schema(of: Any) -> dict[str, Any]:
    if isinstance(of, type) and issubclass(of, BaseModel):
        return {"$ref": f"#/components/schemas/{of.__name__}"}
    return dict(of)


def _headers(told: Mapping[str, str]) -> dict[str, Any]:
    return {name: {"description": words, "schema": {"type": "string"}} for name, words in told.items()}


def _problem(kinds: list[Kind]) -> dict[str, Any]:
    """One status, each of its kinds as an example."""
    examples = {kind.slug: {"summary": kind.title, "value": _example(kind)} for kind in kinds}
    described: dict[str, Any] = {
        "description": "; ".join(kind.title for kind in kinds),
        "content": {MEDIA_TYPE: {"schema": PROBLEM_SCHEMA, "examples": examples}},
    }
    if kinds[0].status in HEADERS_OF:
        described["headers"] = _headers(HEADERS_OF[kinds[0].status])
    return described


def _example(kind: Kind) -> dict[str, Any]:
    return {"type": kind.type, "title": kind.title, "status": kind.status, "detail": kind.remedy}
