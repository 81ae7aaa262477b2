"""Forms are ours alone: a page of another site cannot send one in the visitor's name.

Two guards stand one behind the other. The browser says where a request comes from (``Sec-Fetch-Site``, ``Origin``:
Fetch Metadata, W3C; RFC 6454): known before the body is read. And every form carries a secret that this browser's
signed cookie holds too: a stranger's page knows neither.
"""

from __future__ import annotations

import hmac
import secrets
from urllib.parse import urlsplit

from flask import request, session

__all__ = ["FIELD", "Forged", "comes_from_elsewhere", "form_secret", "guard_form"]

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


def comes_from_elsewhere() -> bool:
    """Whether the browser itself says that another site made this request."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site not in {"same-origin", "none"}
    origin = request.headers.get("Origin")
    return origin is not None and urlsplit(origin).netloc != request.host


def guard_form() -> None:
    """Raise :class:`Forged` unless the form that is being sent brings this browser's secret."""
    brought, kept = request.form.get(FIELD, ""), str(session.get(_KEPT_AS, ""))
    if not kept or not hmac.compare_digest(brought.encode(), kept.encode()):
        raise Forged
