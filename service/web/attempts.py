"""How often one address may try to sign in: a bound on guessing, and on the work that guessing makes."""

from __future__ import annotations

import math
import threading
import time
from collections import deque
from collections.abc import Callable

__all__ = ["Attempts"]

MOST = 10
WITHIN_SECONDS = 60.0
MOST_ADDRESSES = 10_000


class Attempts:
    """Failed sign-ins of the last minute by address, in this process. Threads may share it."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._failed: dict[str, deque[float]] = {}
        self._lock = threading.Lock()

    def wait(self, address: str) -> int:
        """Whole seconds until this address may try again; 0: now."""
        with self._lock:
            failed = self._recent(address)
            if len(failed) < MOST:
                return 0
            return max(1, math.ceil(failed[0] + WITHIN_SECONDS - self._clock()))

    def note_failure(self, address: str) -> None:
        """Count one more."""
        with self._lock:
            self._forget_oldest()
            failed = self._recent(address)
            failed.append(self._clock())
            self._failed[address] = failed

    def _recent(self, address: str) -> deque[float]:
        failed = self._failed.get(address, deque(maxlen=MOST))
        while failed and failed[0] <= self._clock() - WITHIN_SECONDS:
            failed.popleft()
        if not failed:
            self._failed.pop(address, None)
        return failed

    def _forget_oldest(self) -> None:
        while len(self._failed) >= MOST_ADDRESSES:
            self._failed.pop(next(iter(self._failed)))
