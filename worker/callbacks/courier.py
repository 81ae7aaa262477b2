"""A worker's threads that make the calls which are due, beside its inspections and without holding these up."""

from __future__ import annotations

import logging
import threading
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Self

from worker.callbacks.message import body_of
from worker.callbacks.sending import Outcome, Sender
from worker.callbacks.signing import callback_secret, key_mark, signed_headers
from worker.house_key import house_key
from worker.logs import working_for
from worker.settings import Settings
from worker.store import Delivery, Store
from worker.store.models import now

log = logging.getLogger(__name__)

THREADS = 4
"""Calls that one worker makes side by side."""

OTHER_KEY = (
    "this service's workers have another key than its web pages: whoever runs it gives both the same "
    "PRESSWORTHY_SESSION_KEY, and the call can be repeated then"
)


@dataclass(frozen=True)
class Courier:
    """Makes the calls that are due. ``key`` is the house's key, ``waits`` the seconds before each further try."""

    store: Store
    key: str
    waits: Sequence[int]
    sender: Sender
    stopping: threading.Event
    _due: threading.Event = field(default_factory=threading.Event)

    @classmethod
    def of(cls, settings: Settings, store: Store, stopping: threading.Event) -> Self:
        """The courier of this process, as it is set up."""
        key = house_key(settings.data)
        return cls(store, key, settings.callback_waits, Sender(settings.callback_hosts), stopping)

    def start(self) -> None:
        """Have the threads wait for calls. They end with the process: a try that this breaks off is made again."""
        for number in range(THREADS):
            threading.Thread(target=self._see_to_all, name=f"courier-{number}", daemon=True).start()

    def look(self) -> None:
        """Something may be due. Returns at once."""
        self._due.set()

    def make_next(self) -> bool:
        """Claim the call that has been due for longest, and make one try at it; False where none is due."""
        delivery = self.store.callbacks.claim(body_of, most=len(self.waits) + 1)
        if delivery is None:
            return False
        with working_for(self._request_of(delivery)):
            self._try(delivery)
        return True

    def _try(self, delivery: Delivery) -> None:
        outcome = self._sent(delivery)
        settled = self.store.callbacks.settle(
            delivery,
            waits=self.waits,
            status=outcome.status,
            problem=outcome.problem,
            taken=outcome.taken,
            unwanted=outcome.unwanted,
        )
        said = outcome.problem or outcome.status
        log.info("%s: try %d: %s, %s", delivery.id, delivery.attempts, said, settled.state if settled else "gone")

    def _request_of(self, delivery: Delivery) -> str | None:
        """The request that brought the inspection, for the log."""
        row = self.store.rows.get(delivery.inspection_id)
        return row.request_id if row is not None else None

    def _sent(self, delivery: Delivery) -> Outcome:
        if delivery.key_mark != key_mark(self.key):
            return Outcome(problem=OTHER_KEY)
        body = delivery.body or ""
        secret = callback_secret(self.key, delivery.signer)
        return self.sender.send(delivery.url, signed_headers(secret, delivery.id, now(), body), body.encode())

    def _see_to_all(self) -> None:
        while not self.stopping.is_set():
            self._due.wait()
            self._due.clear()
            try:
                while not self.stopping.is_set() and self.make_next():
                    pass
            except Exception:  # the next look may fare better; what was claimed is due again when its lease lapses
                log.exception("a callback broke off")
