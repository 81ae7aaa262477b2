"""Whether a page's own script asks: it is answered in data, and the page stays as it is."""

from __future__ import annotations

from flask import request

__all__ = ["by_script"]


def by_script() -> bool:
    """Whether this request is a script's; a person's browser asks for a page."""
    return request.accept_mimetypes.best == "application/json"
