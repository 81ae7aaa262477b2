"""What this process is making for inspections just now: whoever asks again meanwhile gets the same one."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager


class InHand:
    """The inspections for which one kind of thing is being made."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._ids: set[str] = set()

    @contextmanager
    def hold(self, inspection_id: str) -> Iterator[bool]:
        """Take it in hand for as long as the context lasts; False where it is in hand already."""
        with self._lock:
            free = inspection_id not in self._ids
            self._ids.add(inspection_id)
        try:
            yield free
        finally:
            if free:
                with self._lock:
                    self._ids.discard(inspection_id)
