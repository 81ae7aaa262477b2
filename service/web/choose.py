"""The first page: choose a printer, give a file, send it."""

from __future__ import annotations

from dataclasses import dataclass

from flask import make_response, render_template, request
from flask.typing import ResponseReturnValue

from service.web.house import profiles, settings
from service.web.printers import printers
from service.web.room import blueprint
from service.web.words import CAUTION
from worker.units import show_size

__all__ = ["choose", "send"]


@dataclass(frozen=True)
class Typed:
    """What was chosen and typed, so that a refusal loses none of it."""

    profile: str = ""
    title: str = ""
    pages: str = ""


@blueprint.get("/")
def choose() -> ResponseReturnValue:
    """The form; a link may bring what stands in it."""
    return _form(Typed(**{name: request.args.get(name, "") for name in vars(Typed())}))


@blueprint.post("/inspections")
def send() -> ResponseReturnValue:
    return ""


def _form(typed: Typed, problem: str = "", status: int = 200) -> ResponseReturnValue:
    limits = settings().limits
    page = render_template(
        "web/choose.html",
        typed=typed,
        problem=problem,
        printers=printers(profiles().values()),
        most_bytes=limits.bytes,
        most_size=show_size(limits.bytes),
        most_pages=f"{limits.pages:,}",
        caution=CAUTION,
    )
    return make_response(page, status)
