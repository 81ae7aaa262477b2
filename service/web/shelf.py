"""The visitor's inspections, newest first."""

from __future__ import annotations

from functools import partial

from flask import render_template, request
from flask.typing import ResponseReturnValue

from service.house import store
from service.known_profiles import known_profiles
from service.web.listing import Asked, verdict_choices
from service.web.room import blueprint
from service.web.visitor import owner
from service.web.words import card_of
from worker.report.words import shown

__all__ = ["shelf"]


@blueprint.get("/inspections")
def shelf() -> ResponseReturnValue:
    """A part of the list."""
    asked = Asked.of("web.shelf", ("verdict", "profile", "title"), request.args)
    page = asked.found(partial(store().rows.page, owner()))
    return render_template(
        "web/shelf.html",
        asked=asked,
        cards=[card_of(row) for row in page.items],
        next=page.next,
        verdicts=verdict_choices(),
        printer_names={known.profile.id: shown(known.profile.name) for known in known_profiles(owner()).values()},
    )
