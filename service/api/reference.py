"""``/reference``: the API's description set as a page to read, without a script and without a network. Open to all."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, cast

from flask import Blueprint, Response, current_app, render_template
from flask_openapi.openapi import OpenAPI
from markupsafe import Markup, escape

from service.api.description import describe
from service.problems import KINDS, MEDIA_TYPE
from service.web import POLICY
from service.web.telling import told

__all__ = ["blueprint", "page_of"]

blueprint = Blueprint("reference", __name__)

HEADINGS = {
    "inspections": "Inspections",
    "results": "What an inspection has found",
    "profiles": "Printer profiles",
    "standing": "How the service stands",
    "problems": "Problems",
}
"""The parts in the order in which one reads them; any other follows under its own name."""

PAGE = "reference"

DEEPEST = 2
"""Lists and tables within a type that are shown by name."""


@dataclass(frozen=True)
class Field:
    """A parameter, a header or a member of a type: where it stands, whether it has to be given, what it takes."""

    name: str
    kind: Markup
    told: Markup
    required: bool = False
    place: str = ""


@dataclass(frozen=True)
class Answer:
    """What may be answered: a status, its words, the media types, the type, the problems that it may be."""

    status: str
    told: Markup
    media: tuple[str, ...]
    kind: Markup
    headers: tuple[str, ...]
    problems: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Call:
    """One method at one address."""

    id: str
    method: str
    path: str
    summary: Markup
    paragraphs: tuple[Markup, ...]
    open_to_all: bool
    fields: tuple[Field, ...]
    bodies: tuple[tuple[str, Markup], ...]
    examples: tuple[tuple[str, str], ...]
    answers: tuple[Answer, ...]


@dataclass(frozen=True)
class Type:
    """A type of the description, with its members."""

    name: str
    told: Markup
    members: tuple[Field, ...]


@blueprint.get("/reference")
def reference() -> Response:
    """The page, made once: see :func:`service.api.description.describe`."""
    kept = current_app.extensions
    if PAGE not in kept:
        kept[PAGE] = render_template("web/reference.html", **page_of(describe(cast(OpenAPI, current_app))))
    answered = Response(kept[PAGE], mimetype="text/html")
    answered.headers["Content-Security-Policy"] = POLICY
    return answered


def page_of(document: Mapping[str, Any]) -> dict[str, Any]:
    """What the page is set from."""
    parts: dict[str, list[Call]] = {tag: [] for tag in HEADINGS}
    for path, method, operation in _operations(document):
        parts.setdefault(operation.get("tags", ["more"])[0], []).append(_call(path, method, operation))
    schemas = document["components"]["schemas"]
    return {
        "info": document["info"],
        "introduction": _paragraphs(document["info"]["description"]),
        "schemes": [
            (name, scheme.get("scheme", scheme["type"]), told(scheme.get("description", "")))
            for name, scheme in document["components"].get("securitySchemes", {}).items()
        ],
        "parts": [(tag, HEADINGS.get(tag, tag.capitalize()), calls) for tag, calls in parts.items() if calls],
        "types": [_type(name, schemas[name]) for name in sorted(schemas)],
        "kinds": sorted(KINDS.values(), key=lambda kind: (kind.status, kind.slug)),
    }


def _operations(document: Mapping[str, Any]) -> Iterator[tuple[str, str, Mapping[str, Any]]]:
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            yield path, method.upper(), operation


def _call(path: str, method: str, operation: Mapping[str, Any]) -> Call:
    content = operation.get("requestBody", {}).get("content", {})
    return Call(
        id=operation["operationId"],
        method=method,
        path=path,
        summary=told(operation["summary"]),
        paragraphs=_paragraphs(operation.get("description", "")),
        open_to_all=not operation.get("security"),
        fields=tuple(_parameter(given) for given in operation.get("parameters", [])) + tuple(_form_fields(content)),
        bodies=tuple((media, _kind(of.get("schema", {}))) for media, of in content.items()),
        examples=tuple(_examples(content)),
        answers=tuple(_answer(status, given) for status, given in sorted(operation["responses"].items())),
    )


def _parameter(given: Mapping[str, Any]) -> Field:
    words = given.get("description") or given["schema"].get("description", "")
    required = bool(given.get("required")) or given["in"] == "path"
    return Field(given["name"], _kind(given["schema"]), told(words), required, given["in"])


def _form_fields(content: Mapping[str, Any]) -> Iterator[Field]:
    """The fields of a form, which has no type of its own."""
    schema = content.get("multipart/form-data", {}).get("schema", {})
    for name, of in schema.get("properties", {}).items():
        yield Field(name, _kind(of), told(of.get("description", "")), name in schema.get("required", []), "form")


def _examples(content: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for media, of in content.items():
        given = [example["value"] for example in of.get("examples", {}).values()]
        for value in given + ([of["example"]] if "example" in of else []):
            yield media, value if isinstance(value, str) else json.dumps(value, indent=2, ensure_ascii=False)


def _answer(status: str, given: Mapping[str, Any]) -> Answer:
    content = given.get("content", {})
    first: Mapping[str, Any] = next(iter(content.values()), {})
    shown = content.get(MEDIA_TYPE, {}).get("examples", {})
    return Answer(
        status=status,
        told=told(given.get("description", "")),
        media=tuple(content),
        kind=Markup("") if MEDIA_TYPE in content else _kind(first.get("schema", {})),
        headers=tuple(given.get("headers", {})),
        problems=tuple((slug, example.get("summary", slug)) for slug, example in shown.items()),
    )


def _type(name: str, schema: Mapping[str, Any]) -> Type:
    required = schema.get("required", [])
    members = tuple(
        Field(member, _kind(of), told(of.get("description", "")), member in required)
        for member, of in schema.get("properties", {}).items()
    )
    return Type(name, told(schema.get("description", "")), members)


def _kind(schema: Mapping[str, Any], depth: int = 0) -> Markup:
    """What a value may be, in a few words; a type of the description is a link to where it stands."""
    if "$ref" in schema:
        name = schema["$ref"].rpartition("/")[2]
        return Markup('<a href="#type-{0}">{0}</a>').format(name)
    choices = schema.get("anyOf") or schema.get("oneOf")
    if choices:
        return Markup(" or ").join(_kind(choice, depth) for choice in choices)
    if "const" in schema or "enum" in schema:
        values = schema.get("enum", [schema.get("const")])
        return Markup(" · ").join(Markup("<code>{}</code>").format(json.dumps(value)) for value in values)
    return _plain_kind(schema, depth)


def _plain_kind(schema: Mapping[str, Any], depth: int) -> Markup:
    kind = schema.get("type", "anything")
    if depth >= DEEPEST:
        return escape(kind)
    if kind == "array":
        of = schema.get("items") or (schema.get("prefixItems") or [{}])[0]
        return Markup("list of {}").format(_kind(of, depth + 1))
    if kind == "object" and isinstance(schema.get("additionalProperties"), dict):
        return Markup("table of {}").format(_kind(schema["additionalProperties"], depth + 1))
    words = {"string": "text", "integer": "whole number", "boolean": "true or false", "object": "table"}.get(kind, kind)
    return escape(words + _bounds(schema))


def _bounds(schema: Mapping[str, Any]) -> str:
    """Within which numbers, or how long."""
    least, most = schema.get("minimum"), schema.get("maximum")
    if least is not None and most is not None:
        return f", {least}–{most}"
    if schema.get("format") in {"binary", "date-time"}:
        return {"binary": ", bytes", "date-time": ", a moment (RFC 3339)"}[schema["format"]]
    return f", up to {schema['maxLength']} characters" if "maxLength" in schema else ""


def _paragraphs(text: str) -> tuple[Markup, ...]:
    return tuple(told(part) for part in text.split("\n\n") if part.strip())
