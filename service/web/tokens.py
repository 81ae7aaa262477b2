"""A member's own access tokens: which there are, making one (shown once), revoking one.

A token made here reaches no further than the one that its maker has signed in with: it has none but its scopes, and
ends no later.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from flask import make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from werkzeug.exceptions import NotFound

from service.access import Caller, manages
from service.house import store
from service.intake import tidy_text
from service.web.room import blueprint
from service.web.visitor import visitor
from worker.store import SCOPES, NameTaken, Scope, Token
from worker.store.models import now

__all__ = [
    "BadToken",
    "TokenLine",
    "lines_of",
    "make_token",
    "own_token",
    "revoke_token",
    "token_page",
    "tokens",
    "wished",
]

LONGEST_NAME = 100
MOST_DAYS = 3650
MOST_SHOWN = 100

SCOPE_WORDS: dict[Scope, str] = {
    "read": "Read: look at inspections and have their reports",
    "submit": "Send: send books, judge again, and stop what runs",
    "manage": "Manage: delete, share, and change what is kept, tokens among it",
}


class BadToken(ValueError):
    """No token can be made of what was typed; the message says why."""


@dataclass(frozen=True)
class TokenLine:
    """A token in words; ``own`` marks the one that the visitor has signed in with."""

    id: str
    name: str
    scopes: str
    made: datetime
    used: datetime | None
    ends: datetime | None
    in_force: bool
    own: bool


@dataclass(frozen=True)
class Wished:
    """What a new token is to be."""

    name: str
    scopes: frozenset[Scope]
    days: int | None


@blueprint.get("/tokens")
@manages
def tokens() -> ResponseReturnValue:
    """The visitor's tokens, and a form for another."""
    return _page(_member())


@blueprint.post("/tokens")
@manages
def make_token() -> ResponseReturnValue:
    """Make one, and show it once."""
    member = _member()
    try:
        wish = wished(member.scopes, _latest_end(member))
        made, secret = store().tokens.make(wish.name, member.owner, scopes=wish.scopes, days=wish.days)
    except (BadToken, NameTaken) as bad:
        said = str(bad)
        return _page(member, f"{said[:1].upper()}{said[1:].rstrip('.')}.", 422)
    return token_page(made, secret, url_for("web.tokens"))


@blueprint.post("/tokens/<token_id>/revocation")
@manages
def revoke_token(token_id: str) -> ResponseReturnValue:
    """End a token's force, at once."""
    token = own_token(token_id)
    store().tokens.revoke(token.id, token.member)
    return redirect(url_for("web.tokens"), 303)


def own_token(token_id: str) -> Token:
    """The visitor's token of that id. Raises :class:`NotFound`, for another member's too."""
    found = [token for token in store().tokens.of(_member().owner) if token.id == token_id]
    if not found:
        raise NotFound
    return found[0]


def wished(offered: frozenset[Scope], latest: datetime | None = None) -> Wished:
    """What the form asks for, of the scopes ``offered`` and no later than ``latest``. Raises :class:`BadToken`."""
    name = tidy_text(request.form.get("name", ""))
    if not name or len(name) > LONGEST_NAME:
        raise BadToken(f"a token has a name of 1 to {LONGEST_NAME} characters")
    scopes = frozenset(scope for scope in SCOPES if request.form.get(f"scope-{scope}"))
    if not scopes or not scopes <= offered:
        raise BadToken("choose at least one of the things that the token lets do")
    return Wished(name, scopes, _days(request.form.get("days", "").strip(), latest))


def token_page(made: Token, secret: str, back: str) -> ResponseReturnValue:
    """The page that shows a new token's secret, this once."""
    page = make_response(render_template("web/token_made.html", token=made, secret=secret, back=back), 201)
    page.headers["Cache-Control"] = "no-store"
    return page


def lines_of(found: Sequence[Token], own: str | None) -> list[TokenLine]:
    """Tokens in words: those in force first, then the latest that are not."""
    lines = [
        TokenLine(
            id=token.id,
            name=token.name,
            scopes=", ".join(scope for scope in SCOPES if scope in token.scopes),
            made=token.created_at,
            used=token.last_used_at,
            ends=token.revoked_at or token.expires_at,
            in_force=token.revoked_at is None and (token.expires_at is None or token.expires_at > now()),
            own=token.id == own,
        )
        for token in found
    ]
    ended = [line for line in lines if not line.in_force]
    return [line for line in lines if line.in_force] + ended[::-1][:MOST_SHOWN]


def _page(member: Caller, problem: str = "", status: int = 200) -> ResponseReturnValue:
    page = render_template(
        "web/tokens.html",
        lines=lines_of(store().tokens.of(member.owner), member.token),
        offered={scope: SCOPE_WORDS[scope] for scope in SCOPES if scope in member.scopes},
        typed=request.form,
        problem=problem,
    )
    return make_response(page, status)


def _member() -> Caller:
    """The visitor, who is a member: where no token is asked for, nobody has any."""
    found = visitor()
    if found is None or found.token is None:
        raise NotFound
    return found


def _latest_end(member: Caller) -> datetime | None:
    bearer = store().tokens.in_force(member.token or "")
    return bearer.token.expires_at if bearer else now()


def _days(typed: str, latest: datetime | None) -> int | None:
    if not typed:
        if latest is not None:
            raise BadToken(f"your own token ends on {latest:%Y-%m-%d}: say after how many days this one does")
        return None
    whole = typed.isascii() and typed.isdigit() and len(typed) <= len(str(MOST_DAYS))
    if not whole or not 1 <= int(typed) <= MOST_DAYS:
        raise BadToken(f"a token ends after 1 to {MOST_DAYS} days, or the field is left empty")
    if latest is not None and now() + timedelta(days=int(typed)) > latest:
        raise BadToken(f"your own token ends on {latest:%Y-%m-%d}, and this one may not outlast it")
    return int(typed)
