"""Deleting a title: its files, their reports, its author's links; asked once more before."""

from __future__ import annotations

from flask import redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from service.access import manages
from service.house import store
from service.web.desk.visiting import own_title
from service.web.desk.words import title_card
from service.web.room import blueprint
from service.web.visitor import owner

__all__ = ["delete_title", "title_deletion"]


@blueprint.get("/titles/<title_id>/deletion")
@manages
def title_deletion(title_id: str) -> ResponseReturnValue:
    """Ask whether it is meant."""
    return render_template("web/desk/deletion.html", card=title_card(own_title(title_id)))


@blueprint.post("/titles/<title_id>/deletion")
@manages
def delete_title(title_id: str) -> ResponseReturnValue:
    """Delete it, and all that belongs to it."""
    store().delete_title(own_title(title_id).id, owner())
    return redirect(url_for("web.titles"), 303)
