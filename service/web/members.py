"""Who is a member, for operators: let one in, end a membership, make a token for a member."""

from __future__ import annotations

from flask import make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from werkzeug.exceptions import NotFound

from service.access import Caller, manages
from service.desk.ids import is_id
from service.house import store
from service.intake import tidy_text
from service.web.room import blueprint
from service.web.tokens import LONGEST_NAME, SCOPE_WORDS, BadToken, lines_of, token_page, wished
from service.web.visitor import visitor
from worker.store import HOUSE, SCOPES, Member, NameTaken

__all__ = ["end_member", "let_in", "member", "member_ending", "member_token", "members"]


@blueprint.get("/members")
@manages
def members() -> ResponseReturnValue:
    """The list, and a form to let one in."""
    _operator()
    return _list()


@blueprint.post("/members")
@manages
def let_in() -> ResponseReturnValue:
    """Let a member in, and lead to its page, where its first token is made."""
    _operator()
    name, circle = (tidy_text(request.form.get(field, "")) for field in ("name", "circle"))
    if not name or max(len(name), len(circle)) > LONGEST_NAME:
        return _list(f"A member has a name of 1 to {LONGEST_NAME} characters, and a circle no longer than that.", 422)
    try:
        made = store().members.make(name, circle=circle or HOUSE, operator=bool(request.form.get("operator")))
    except NameTaken as taken:
        return _list(f"{str(taken)[:1].upper()}{str(taken)[1:]}.", 422)
    return redirect(url_for("web.member", member_id=made.id), 303)


@blueprint.get("/members/<member_id>")
@manages
def member(member_id: str) -> ResponseReturnValue:
    """One member: its tokens, making it one, ending its membership."""
    _operator()
    return _one(_member(member_id))


@blueprint.post("/members/<member_id>/tokens")
@manages
def member_token(member_id: str) -> ResponseReturnValue:
    """Make a token for a member, and show it once."""
    _operator()
    found = _member(member_id)
    try:
        wish = wished(frozenset(SCOPES))
        made, secret = store().tokens.make(wish.name, found.id, scopes=wish.scopes, days=wish.days)
    except (BadToken, NameTaken) as bad:
        return _one(found, f"{str(bad)[:1].upper()}{str(bad)[1:].rstrip('.')}.", 422)
    return token_page(made, secret, url_for("web.member", member_id=found.id))


@blueprint.get("/members/<member_id>/ending")
@manages
def member_ending(member_id: str) -> ResponseReturnValue:
    """Ask before a membership is ended."""
    _operator()
    return render_template("web/member_ending.html", member=_member(member_id))


@blueprint.post("/members/<member_id>/ending")
@manages
def end_member(member_id: str) -> ResponseReturnValue:
    """End a membership, with all its tokens; one's own is not ended from here."""
    acting, found = _operator(), _member(member_id)
    if found.id == acting.owner:
        return _one(found, "This is your own membership: another operator ends it, or whoever runs the service.", 409)
    store().end_membership(found.id)
    return redirect(url_for("web.members"), 303)


def _list(problem: str = "", status: int = 200) -> ResponseReturnValue:
    everyone = store().members.all()
    page = render_template(
        "web/members.html",
        present=[each for each in everyone if each.ended_at is None],
        ended=[each for each in everyone if each.ended_at is not None],
        house=HOUSE,
        typed=request.form,
        problem=problem,
    )
    return make_response(page, status)


def _one(found: Member, problem: str = "", status: int = 200) -> ResponseReturnValue:
    page = render_template(
        "web/member.html",
        member=found,
        lines=lines_of(store().tokens.of(found.id), None),
        offered=SCOPE_WORDS,
        typed=request.form,
        problem=problem,
    )
    return make_response(page, status)


def _operator() -> Caller:
    """The visitor, who is an operator; for anybody else there is nothing here."""
    found = visitor()
    if found is None or not found.operator:
        raise NotFound
    return found


def _member(member_id: str) -> Member:
    """The member of that id who is one still."""
    found = store().members.named(member_id) if is_id("mem", member_id) else None
    if found is None or found.id != member_id:
        raise NotFound
    return found
