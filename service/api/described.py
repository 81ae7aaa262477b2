"""How an address is described: what it gives, and which problems it may answer with."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any

from pydantic import BaseModel

from service import problems
from service.problems import MEDIA_TYPE, Kind

__all__ = ["BEARER", "PROBLEM_SCHEMA", "answers", "body", "given"]

BEARER: list[dict[str, list[str]]] = [{"accessToken": []}, {}]
"""A token; none where the service listens to its own machine alone."""

PROBLEM_SCHEMA = {"$ref": "#/components/schemas/ProblemDetails"}

EVERYWHERE = (problems.INVALID, problems.FAULT, problems.STORE_AWAY, problems.FOREIGN_HOST)
GUARDED = (problems.TOKEN_NEEDED, problems.TOKEN_UNKNOWN, problems.SCOPE_MISSING)


def answers(
    good: Mapping[int, dict[str, Any]], *kinds: Kind, guarded: bool = True
) -> dict[str | int | HTTPStatus, Any]:
    """The answers of an address: the good ones, and a problem for each of ``kinds``."""
    by_status: dict[int, list[Kind]] = {}
    for kind in dict.fromkeys((*kinds, *(GUARDED if guarded else ()), *EVERYWHERE)):
        by_status.setdefault(kind.status, []).append(kind)
    found: dict[str | int | HTTPStatus, Any] = {status: _problem(by_status[status]) for status in sorted(by_status)}
    found.update(good.items())
    return found


def given(
    description: str,
    *media: tuple[str, Any],
    headers: Mapping[str, str] | None = None,
    examples: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """A good answer: for each media type, its schema or the model that it is made from; ``examples`` of the first."""
    content: dict[str, dict[str, Any]] = {name: {"schema": _schema(of)} for name, of in media}
    if examples:
        content[media[0][0]]["examples"] = dict(examples)
    described: dict[str, Any] = {"description": description}
    if content:
        described["content"] = content
    if headers:
        described["headers"] = {
            name: {"description": told, "schema": {"type": "string"}} for name, told in headers.items()
        }
    return described


def body(description: str, **media: Any) -> dict[str, Any]:
    """A request's body."""
    return {"description": description, "required": True, "content": media}


def _schema(of: Any) -> dict[str, Any]:
    if isinstance(of, type) and issubclass(of, BaseModel):
        return {"$ref": f"#/components/schemas/{of.__name__}"}
    return dict(of)


def _problem(kinds: list[Kind]) -> dict[str, Any]:
    """One status, each of its kinds as an example."""
    examples = {kind.slug: {"summary": kind.title, "value": _example(kind)} for kind in kinds}
    described: dict[str, Any] = {
        "description": "; ".join(kind.title for kind in kinds),
        "content": {MEDIA_TYPE: {"schema": PROBLEM_SCHEMA, "examples": examples}},
    }
    header = {401: "WWW-Authenticate", 503: "Retry-After", 429: "Retry-After", 409: "Retry-After"}.get(kinds[0].status)
    if header:
        described["headers"] = {header: {"schema": {"type": "string"}}}
    return described


def _example(kind: Kind) -> dict[str, Any]:
    return {"type": kind.type, "title": kind.title, "status": kind.status, "detail": kind.remedy}
