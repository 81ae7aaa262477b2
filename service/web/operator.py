"""The page of whoever runs the service: how it stands. No inspection and no member is named on it."""

from __future__ import annotations

from flask import render_template
from flask.typing import ResponseReturnValue
from werkzeug.exceptions import NotFound

from service.house import store
from service.standing_text import sections_of
from service.web.room import blueprint
from service.web.visitor import visitor
from worker.standing import standing_of

__all__ = ["standing"]


@blueprint.get("/standing")
def standing() -> ResponseReturnValue:
    """How the service stands now; for anybody else there is no such page."""
    found = visitor()
    if found is None or not found.operator:
        raise NotFound
    now = standing_of(store())
    return render_template("web/standing.html", at=now.at, sections=sections_of(now))
