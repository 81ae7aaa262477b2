"""The signed cookie of the web pages: who has signed in, and the secret that this browser's forms must bring back.

The access token itself is never in it: the cookie names the token by its id, and the signature shows that it was us who
wrote it. Where the service is reached by https the cookie is ``Secure`` and bound to the host by its name.
"""

from __future__ import annotations

import os
import secrets
import tempfile
from datetime import timedelta
from pathlib import Path

from flask import Flask, request
from flask.sessions import SecureCookieSessionInterface

from worker.settings import SettingsError

__all__ = ["SESSION_DAYS", "KeyedSessions", "session_key", "use_sessions"]

SESSION_DAYS = 30
"""Days after which a browser is signed out."""

KEY_SETTING = "PRESSWORTHY_SESSION_KEY"
LEAST_KEY = 32
"""Characters of a key that is given: fewer could be guessed."""


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
    """Give ``app`` its signed cookie, with the key of :func:`session_key`."""
    app.secret_key = app.secret_key or session_key(data)
    app.permanent_session_lifetime = timedelta(days=SESSION_DAYS)
    app.session_interface = KeyedSessions()


def session_key(data: Path) -> str:
    """``PRESSWORTHY_SESSION_KEY``, which several web processes on several hosts share; or the data folder's own key.

    The latter is made by whoever comes first, readable to the service alone. Raises :class:`SettingsError`.
    """
    given = os.environ.get(KEY_SETTING, "").strip()
    if given:
        if len(given) < LEAST_KEY:
            raise SettingsError(f"{KEY_SETTING} is shorter than {LEAST_KEY} characters; take 64 random ones")
        return given
    place = data / "session.key"
    if not place.exists():
        _make_key(place)
    return place.read_text(encoding="ascii").strip()


def _make_key(place: Path) -> None:
    """Whole or not at all, and never over a key that another process has just made."""
    place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=place.parent, prefix="session.key-")
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(secrets.token_urlsafe(48))
        file.flush()
        os.fsync(handle)
    try:
        os.link(name, place)
    except FileExistsError:
        pass
    finally:
        Path(name).unlink()
