"""``/problems/{slug}``: what a problem's ``type`` means. Open to all."""

from __future__ import annotations

from flask import Response, render_template
from flask_openapi.blueprint import APIBlueprint
from pydantic import BaseModel, Field

from service import problems
from service.api.accept import chosen
from service.api.described import answers, given
from service.api.examples import as_example
from service.api.resources import ProblemKind
from service.api.shown import JSON, answer
from service.problems import KINDS, Kind, Problem
from service.web import POLICY
from service.web.telling import told

__all__ = ["blueprint"]

blueprint = APIBlueprint("problem_kinds", __name__, abp_tags=[{"name": "problems"}])

HTML = "text/html"


EXAMPLE = {
    problems.NOT_A_PDF.slug: as_example(
        problems.NOT_A_PDF.title,
        ProblemKind(
            type=problems.NOT_A_PDF.type,
            title=problems.NOT_A_PDF.title,
            status=problems.NOT_A_PDF.status,
            remedy=problems.NOT_A_PDF.remedy,
        ),
    )
}


class KindPath(BaseModel):
    """The place of a kind of problem."""

    slug: str = Field(description="The last part of a problem's `type`.")


@blueprint.get(
    "/problems/<slug>",
    operation_id="getProblemKind",
    responses=answers(
        {200: given("What it means", (JSON, ProblemKind), (HTML, {"type": "string"}), examples=EXAMPLE)},
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
    page = Response(render_template("web/problem.html", kind=kind, remedy=told(kind.remedy)), mimetype=HTML)
    page.headers["Content-Security-Policy"] = POLICY
    return page


def _data(kind: Kind) -> Response:
    return answer(ProblemKind(type=kind.type, title=kind.title, status=kind.status, remedy=kind.remedy))
