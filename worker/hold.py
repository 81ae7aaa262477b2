"""A worker's hold on an inspection: its lease, renewed while it works, and the first to know that it is lost."""

from __future__ import annotations

import logging
import threading
from contextvars import copy_context
from types import TracebackType
from typing import Self

from sqlalchemy.exc import SQLAlchemyError

from worker.store import Inspection, Rows

log = logging.getLogger(__name__)

HEARTBEAT_SECONDS = 1.0


class Hold:
    """A context that renews the lease of a claimed row every second, and carries its progress along.

    ``lost`` is set once the row is cancelled, deleted, or in another worker's hands.
    """

    def __init__(self, rows: Rows, row: Inspection) -> None:
        self._rows = rows
        self._row = row
        self._progress: tuple[int, int] | None = None
        self._ended = threading.Event()
        self._thread = threading.Thread(
            target=copy_context().run, args=(self._beat,), name=f"hold-{row.id}", daemon=True
        )
        self.lost = threading.Event()

    def note(self, done: int, total: int) -> None:
        """How many pages are done; written down with the next renewal."""
        self._progress = (done, total)

    def _beat(self) -> None:
        while not self._ended.wait(HEARTBEAT_SECONDS):
            done, total = self._progress or (None, None)
            try:
                if not self._rows.renew(self._row, done=done, total=total):
                    self.lost.set()
                    return
            except SQLAlchemyError as error:  # the lease outlives a short absence of the database
                log.warning("the lease of %s is not renewed: %s", self._row.id, error)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._ended.set()
        self._thread.join()
