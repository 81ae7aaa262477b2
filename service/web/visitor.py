"""Who visits the pages: whoever reaches a service that asks for no token, or whoever has signed in with one."""

from __future__ import annotations

from flask import g, session
from werkzeug.exceptions import Unauthorized

from service.access import Caller, bearer_as_caller, is_an_id, local_caller
from service.house import settings, store
from service.web.troubles import NoInspection
from worker.store import Inspection, Scope, Token

__all__ = ["may", "own_inspection", "owner", "sign_in_as", "sign_out_visitor", "visitor"]

_SIGNED_IN_AS = "token"


def visitor() -> Caller | None:
    """Who visits; None for one who has yet to sign in. A token whose force ends, ends its visits at once."""
    if "visitor" not in g:
        g.visitor = _find()
    found: Caller | None = g.visitor
    return found


def may(scope: Scope) -> bool:
    """Whether the visitor's token has this scope: a page offers nothing that would be refused."""
    found = visitor()
    return found is not None and scope in found.scopes


def owner() -> str:
    """Whose inspections are shown. The door lets in nobody who has yet to sign in."""
    found = visitor()
    if found is None:
        raise Unauthorized
    return found.owner


def own_inspection(inspection_id: str) -> Inspection:
    """The visitor's inspection of that id. Raises :class:`NoInspection`, for a stranger's too."""
    row = store().rows.get(inspection_id, owner()) if is_an_id(inspection_id) else None
    if row is None:
        raise NoInspection
    return row


def sign_in_as(token: Token) -> None:
    """From here on this browser shows the inspections of the token's member; nothing of an earlier visit stays."""
    session.clear()
    session[_SIGNED_IN_AS] = token.id
    session.permanent = True


def sign_out_visitor() -> None:
    """Forget who visits."""
    session.clear()


def _find() -> Caller | None:
    if not settings().asks_for_token:
        return local_caller()
    signed_in_as = session.get(_SIGNED_IN_AS)
    if not isinstance(signed_in_as, str):
        return None
    bearer = store().tokens.in_force(signed_in_as)
    return None if bearer is None else bearer_as_caller(bearer)
