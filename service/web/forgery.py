"""Forms are ours alone: a page of another site cannot send one in the visitor's name.

Two guards stand one behind the other. The browser says where a request comes from (:func:`service.access.
comes_from_elsewhere`): known before the body is read. And every form carries a secret that this browser's signed cookie
holds too: a stranger's page does not know it.
"""

from __future__ import annotations

import hmac
import secrets

from flask import session

__all__ = ["FIELD", "Forged", "form_secret", "guard_form"]

FIELD = "form_secret"
_KEPT_AS = "form"


class Forged(Exception):
    """The form was not sent from a page that this browser had from us."""


def form_secret() -> str:
    """What a form must bring back; made with the first form that a browser is given."""
    if _KEPT_AS not in session:
        session[_KEPT_AS] = secrets.token_urlsafe(24)
        session.permanent = True
    return str(session[_KEPT_AS])


def guard_form(brought: str) -> None:
    """Raise :class:`Forged` unless what a form ``brought`` in its field is this browser's secret."""
    kept = str(session.get(_KEPT_AS, ""))
    if not kept or not hmac.compare_digest(brought.encode(), kept.encode()):
        raise Forged
