"""The web pages: choose a printer, give a file, watch, read; the list of one's inspections; signing in.

Every page works without a script, offline and from the keyboard. ``blueprint`` is all that the app registers.
"""

from __future__ import annotations

from service.web import choose, inspection, reading, shelf, sign_in
from service.web.room import blueprint

__all__ = ["blueprint", "choose", "inspection", "reading", "shelf", "sign_in"]
