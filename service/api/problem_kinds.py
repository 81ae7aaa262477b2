"""``/problems/{slug}``: what a problem's ``type`` means. Open to all."""

from __future__ import annotations

from flask import Response
from flask_openapi.blueprint import APIBlueprint
from markupsafe import Markup
from pydantic import BaseModel, Field

from service import problems
from service.api.accept import chosen
from service.api.described import answers, given
from service.api.resources import ProblemKind
from service.api.shown import JSON, answer
from service.problems import KINDS, Kind, Problem

__all__ = ["blueprint"]

blueprint = APIBlueprint("problem_kinds", __name__, abp_tags=[{"name": "problems"}])

HTML = "text/html"
PAGE = Markup(
    '<!DOCTYPE html>\n<html lang="en-GB"><meta charset="utf-8"><title>{title}</title>\n'
    "<h1>{title}</h1>\n<p>{remedy}</p>\n<p>HTTP status {status}</p>\n</html>\n"
)


class KindPath(BaseModel):
    """The place of a kind of problem."""

    slug: str = Field(description="The last part of a problem's `type`.")


@blueprint.get(
    "/problems/<slug>",
    operation_id="getProblemKind",
    responses=answers(
        {200: given("What it means", (JSON, ProblemKind), (HTML, {"type": "string"}))},
        problems.NOT_FOUND,
        problems.NOT_ACCEPTABLE,
        guarded=False,
    ),
)
def one(path: KindPath) -> Response:
    """What a kind of problem means, and what to do about it"""
    kind = KINDS.get(path.slug)
    if kind is None:
        raise Problem(problems.NOT_FOUND, f"No problem has this name. There are {', '.join(KINDS)}.")
    made = _page(kind) if chosen((JSON, HTML)) == HTML else _data(kind)
    made.headers["Vary"] = "Accept"
    return made


def _page(kind: Kind) -> Response:
    return Response(PAGE.format(title=kind.title, remedy=kind.remedy, status=kind.status), mimetype=HTML)


def _data(kind: Kind) -> Response:
    return answer(ProblemKind(type=kind.type, title=kind.title, status=kind.status, remedy=kind.remedy))
