"""The signed cookie of the web pages: who has signed in, and the secret that this browser's forms must bring back.

The access token itself is never in it: the cookie names the token by its id, and the signature shows that it was us who
wrote it. Where the service is reached by https the cookie is ``Secure`` and bound to the host by its name.
"""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from flask import Flask, request
from flask.sessions import SecureCookieSessionInterface

from worker.house_key import house_key

__all__ = ["SESSION_DAYS", "KeyedSessions", "use_sessions"]

SESSION_DAYS = 30
"""Days after which a browser is signed out."""


class KeyedSessions(SecureCookieSessionInterface):
    """Flask's signed cookie, hardened: HttpOnly, of this site alone, and Secure wherever the visit is."""

    def get_cookie_name(self, app: Flask) -> str:
        """``__Host-`` keeps a neighbouring host from setting it; browsers grant that prefix to https alone."""
        return "__Host-pressworthy" if request.is_secure else "pressworthy"

    def get_cookie_path(self, app: Flask) -> str:
        return "/"

    def get_cookie_domain(self, app: Flask) -> str | None:
        return None

    def get_cookie_secure(self, app: Flask) -> bool:
        return request.is_secure

    def get_cookie_httponly(self, app: Flask) -> bool:
        return True

    def get_cookie_samesite(self, app: Flask) -> str:
        return "Strict"

    def should_set_cookie(self, app: Flask, session: object) -> bool:
        """Written when it changed, and not with every picture: answers cross each other."""
        return bool(getattr(session, "modified", False))


def use_sessions(app: Flask, data: Path) -> None:
    """Give ``app`` its signed cookie, with the key of :func:`worker.house_key.house_key`."""
    app.secret_key = app.secret_key or house_key(data)
    app.permanent_session_lifetime = timedelta(days=SESSION_DAYS)
    app.session_interface = KeyedSessions()
