"""Authors' links: made and shown once, withdrawn at once."""

from __future__ import annotations

from flask import make_response, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from service.access import manages
from service.desk.author_link import author_link_made
from service.desk.ids import is_id
from service.house import settings, store
from service.problems import Problem
from service.web.desk.titles import title_page
from service.web.desk.visiting import own_title
from service.web.desk.words import title_card
from service.web.room import blueprint

__all__ = ["make_link", "withdraw_link"]


@blueprint.post("/titles/<title_id>/links")
@manages
def make_link(title_id: str) -> ResponseReturnValue:
    """Make a link and show it. It is in no address and kept nowhere: a page that is loaded again makes another."""
    row = own_title(title_id)
    try:
        link, address = author_link_made(row)
    except Problem as problem:
        return title_page(row, problem.detail, problem.kind.status)
    page = render_template(
        "web/desk/link.html",
        card=title_card(row),
        address=address,
        link=link,
        most=settings().author_files_a_day,
        here_alone=not settings().asks_for_token,
    )
    response = make_response(page)
    response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.post("/titles/<title_id>/links/<link_id>/withdrawal")
@manages
def withdraw_link(title_id: str, link_id: str) -> ResponseReturnValue:
    """End a link's force; one that has ended stays so."""
    row = own_title(title_id)
    if is_id("lnk", link_id):
        store().author_links.withdraw(link_id, row.id)
    return redirect(url_for("web.title", title_id=row.id) + "#links", 303)
