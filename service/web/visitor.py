"""Who visits the pages: whoever reaches a service that asks for no token, or whoever has signed in with one."""

from __future__ import annotations

from dataclasses import dataclass

from flask import g, session
from werkzeug.exceptions import Unauthorized

from service.access import is_an_id
from service.house import settings, store
from service.web.troubles import NoInspection
from worker.store import LOCAL, Inspection, Token

__all__ = ["Visitor", "own_inspection", "owner", "sign_in_as", "sign_out_visitor", "visitor"]

_SIGNED_IN_AS = "token"


@dataclass(frozen=True)
class Visitor:
    """``owner`` is whose inspections are shown; ``name`` is the token's, None where none is asked for."""

    owner: str
    name: str | None


def visitor() -> Visitor | None:
    """Who visits; None for one who has yet to sign in. A token that has been revoked ends its visits at once."""
    if "visitor" not in g:
        g.visitor = _find()
    found: Visitor | None = g.visitor
    return found


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
    """From here on this browser shows the inspections of ``token``. Nothing of an earlier visit is carried over."""
    session.clear()
    session[_SIGNED_IN_AS] = token.id
    session.permanent = True


def sign_out_visitor() -> None:
    """Forget who visits."""
    session.clear()


def _find() -> Visitor | None:
    if not settings().asks_for_token:
        return Visitor(LOCAL, None)
    signed_in_as = session.get(_SIGNED_IN_AS)
    if not isinstance(signed_in_as, str):
        return None
    token = store().tokens.in_force(signed_in_as)
    return None if token is None else Visitor(token.id, token.name)
