"""Words of the API's description as they stand on a page."""

from __future__ import annotations

from markupsafe import Markup, escape

__all__ = ["told"]


def told(text: str) -> Markup:
    """Words, what stands between grave accents (once or twice) set as code."""
    pieces = " ".join(text.replace("``", "`").split()).split("`")
    words = [Markup("<code>{}</code>").format(piece) if n % 2 else escape(piece) for n, piece in enumerate(pieces)]
    return Markup("").join(words)
