"""Who may be kept waiting for what a worker is doing: each takes a thread that answers."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["may_wait"]

MOST_WAITERS = 8
"""An eighth of the threads that answer: uploads and slow readers have their share, and some stay free for all."""

_waiters = threading.BoundedSemaphore(MOST_WAITERS)


@contextmanager
def may_wait() -> Iterator[bool]:
    """Whether there is a thread left to wait in; it is given back at the end."""
    granted = _waiters.acquire(blocking=False)
    try:
        yield granted
    finally:
        if granted:
            _waiters.release()
