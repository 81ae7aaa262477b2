"""What no log may hold: the secret of a share link or an author's, which stands in its address.

``without_secrets(text)`` is for whoever writes an address down.
"""

from __future__ import annotations

import logging
import re

__all__ = ["SECRET_PARTS", "Discretion", "keep_secrets_out_of_logs", "without_secrets"]

SECRET_PARTS = re.compile(r"(?<=/(?:shared|author)/)[^/\s?#\"']+")
"""The parts of an address that are secret."""


def without_secrets(text: str) -> str:
    """An address, or any text with addresses in it, with an ellipsis for each secret."""
    return SECRET_PARTS.sub("…", text)


class Discretion(logging.Filter):
    """Takes the secrets out of whatever a logger is given."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Let every record pass, its words without secrets."""
        said = record.getMessage()
        if SECRET_PARTS.search(said):
            record.msg, record.args = without_secrets(said), ()
        return True


def keep_secrets_out_of_logs() -> None:
    """See to the loggers that are given addresses and are not ours: the server's own."""
    for name in ("gunicorn.error", "gunicorn.access", "werkzeug"):
        logger = logging.getLogger(name)
        if not any(isinstance(each, Discretion) for each in logger.filters):
            logger.addFilter(Discretion())
