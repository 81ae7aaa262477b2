"""``Prefer: wait=N`` (RFC 7240, section 4.3): the answer comes once the inspection has ended, or after N seconds."""

from __future__ import annotations

import time

from flask import Response
from werkzeug.http import parse_list_header

from service.house import store
from service.waiters import may_wait
from worker.store import Inspection

__all__ = ["MOST_SECONDS", "Waited", "apply_preference"]

MOST_SECONDS = 30
GLANCE_SECONDS = 0.1


class Waited:
    """A row after the wait that the caller preferred, and the preference as far as it was honoured."""

    def __init__(self, row: Inspection, prefer: str | None) -> None:
        """``prefer`` is the header."""
        self.row = row
        self.seconds: int | None = None
        """None: nothing was asked, or too many wait already."""
        wanted = _preferred_seconds(prefer or "")
        if wanted is not None:
            with may_wait() as granted:
                if granted:
                    self.seconds = min(wanted, MOST_SECONDS)
                    self._wait(self.seconds)

    def _wait(self, seconds: int) -> None:
        until = time.monotonic() + seconds
        while not self.row.finished and time.monotonic() < until:
            time.sleep(GLANCE_SECONDS)
            now = store().rows.get(self.row.id)
            if now is None:  # deleted meanwhile
                return
            self.row = now


def apply_preference(response: Response, waited: Waited) -> Response:
    """Say in ``response`` which preference was honoured."""
    response.headers["Vary"] = "Prefer"
    if waited.seconds is not None:
        response.headers["Preference-Applied"] = f"wait={waited.seconds}"
    return response


def _preferred_seconds(prefer: str) -> int | None:
    """The first ``wait``; one that is no number is no preference (section 2 of the RFC)."""
    for preference in parse_list_header(prefer):
        name, _, value = preference.partition(";")[0].partition("=")
        if name.strip().lower() == "wait":
            value = value.strip().strip('"')
            return int(value) if value.isascii() and value.isdigit() and len(value) < 10 else None
    return None
