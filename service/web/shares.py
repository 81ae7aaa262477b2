"""Sharing an inspection by a link, from its page: make one, withdraw one."""

from __future__ import annotations

from flask import make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from service.access import manages
from service.desk.ids import is_id
from service.house import settings, store
from service.sharing import BadDays, link_made
from service.web.inspection import page_of
from service.web.room import blueprint
from service.web.visitor import own_inspection
from service.web.words import card_of
from worker.store import TooManyShares

__all__ = ["share", "withdraw_share"]


@blueprint.post("/inspections/<inspection_id>/shares")
@manages
def share(inspection_id: str) -> ResponseReturnValue:
    """Make a link, and show it once."""
    row = own_inspection(inspection_id)
    if row.state != "done":
        return page_of(row, "Only an inspection that has its report can be shared.", 409)
    try:
        made, link = link_made(row, _days(request.form.get("days", "")))
    except BadDays as bad:
        return page_of(row, str(bad), 422)
    except TooManyShares as error:
        return page_of(row, f"This inspection cannot be shared once more: {error}.", 409)
    page = make_response(render_template("web/share_made.html", card=card_of(row), share=made, link=link), 201)
    page.headers["Cache-Control"] = "no-store"
    page.headers["Referrer-Policy"] = "no-referrer"
    return page


@blueprint.post("/inspections/<inspection_id>/shares/<share_id>/withdrawal")
@manages
def withdraw_share(inspection_id: str, share_id: str) -> ResponseReturnValue:
    """Withdraw a link; one that is withdrawn already, or over, stays so."""
    row = own_inspection(inspection_id)
    if is_id("shr", share_id):
        store().shares.withdraw(share_id, row.id)
    return redirect(url_for("web.inspection", inspection_id=row.id, _anchor="share"), 303)


def _days(typed: str) -> int | None:
    """The days that were typed; None for an empty field. Raises :class:`BadDays`."""
    text = typed.strip()
    if not text:
        return None
    if not (text.isascii() and text.isdigit()) or len(text) > len(str(settings().most_share_days)):
        raise BadDays(f"A link may hold from 1 to {settings().most_share_days} days; write a whole number.")
    return int(text)
