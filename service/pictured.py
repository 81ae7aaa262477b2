"""The report's page as it is now. Pictures that are not in it yet are asked for; the answer does not wait for them."""

from __future__ import annotations

import threading
import time

from service.house import store
from worker.queue import ring_pictures
from worker.reporting import kept_page
from worker.store import Inspection, pictured_key

__all__ = ["ask_for_pictures", "report_page"]

ASKED_EVERY = 60.0
"""Seconds after which a worker that was asked is asked again: the message may have been lost."""
MOST_REMEMBERED = 1_000

_lock = threading.Lock()
_asked: dict[str, float] = {}


def report_page(row: Inspection) -> bytes:
    """The report of a finished inspection as an HTML page. Raises :class:`worker.store.Missing`."""
    pictured = store().bytes.size(pictured_key(row.id)) is not None
    page = kept_page(store(), row)
    if not pictured and row.has_file and row.has_pictures:
        ask_for_pictures(row.id)
    return page


def ask_for_pictures(inspection_id: str) -> None:
    """Have a worker set the report with pictures. A queue that does not answer holds up nobody."""
    if _not_lately(inspection_id):
        threading.Thread(target=ring_pictures, args=(inspection_id,), daemon=True).start()


def _not_lately(inspection_id: str) -> bool:
    now = time.monotonic()
    with _lock:
        if now - _asked.get(inspection_id, -ASKED_EVERY) < ASKED_EVERY:
            return False
        if len(_asked) >= MOST_REMEMBERED:
            _asked.clear()
        _asked[inspection_id] = now
    return True
