"""The key of this house: the web pages' cookies are signed with it, and from it callers' callback secrets are derived.

Web services and workers on several hosts share one, given as ``PRESSWORTHY_SESSION_KEY``; on one host it is made once,
in the data folder.
"""

from __future__ import annotations

import os
import secrets
import tempfile
from pathlib import Path

from worker.limits import SettingsError

__all__ = ["KEY_SETTING", "LEAST_KEY", "house_key"]

KEY_SETTING = "PRESSWORTHY_SESSION_KEY"
LEAST_KEY = 32
"""Characters of a key that is given: fewer could be guessed."""


def house_key(data: Path) -> str:
    """``PRESSWORTHY_SESSION_KEY``, which services and workers on several hosts share; or the data folder's own key.

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
