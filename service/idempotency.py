"""``Idempotency-Key`` on an upload: the same upload again is the same inspection.

The header is that of draft-ietf-httpapi-idempotency-key-header.

The key is written down with the row of its inspection or not at all. Of two requests at once with one key, the one that
is kept first makes the inspection; the other one waits for that moment, and is answered with the same inspection. It is
looked up before a file is kept, to spare the work; what counts is how it stands as the row is made.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from service.problems import INVALID, KEY_REUSED, KEY_SPENT, Problem
from worker.store import IdempotencyKey, Inspection, KeyTaken, Store, key_taken_by

__all__ = ["LONGEST_KEY", "REPLAYED", "Once", "fingerprint", "key_of"]

HEADER = "Idempotency-Key"
REPLAYED = "Idempotent-Replayed"
"""The header of an answer that made nothing new; there is no standard for it, but many services say so by this name."""

LONGEST_KEY = 255

_QUOTED = re.compile(r'"((?:[\x20-\x21\x23-\x5b\x5d-\x7e]|\\["\\])+)"', re.ASCII)
"""A string of RFC 8941, section 3.3.3, as the draft asks for."""

_BARE = re.compile(r"[\x21\x23-\x2b\x2d-\x3a\x3c-\x5b\x5d-\x7e]+", re.ASCII)
"""The same without its quotes, as many send it: no space, quote, comma, semicolon or backslash."""


@dataclass(frozen=True)
class Once:
    """One upload under its key. ``key`` None: the caller gave none, and each upload is an inspection."""

    store: Store
    owner: str
    key: str | None
    fingerprint: str
    kept: timedelta

    def admit(self, admit: Callable[[], Inspection]) -> tuple[Inspection, bool]:
        """What ``admit`` makes, or what the key made already; and whether it is the latter. Raises :class:`Problem`.

        ``admit`` makes the row of :meth:`taken_by` together with the inspection's, and raises ``KeyTaken`` where it
        cannot.
        """
        taken = self.store.idempotency.find(self.owner, self.key) if self.key is not None else None
        if taken is not None:
            return self._made_by(taken), True
        try:
            return admit(), False
        except KeyTaken as found:
            return self._made_by(found.taken), True

    def taken_by(self, inspection_id: str) -> IdempotencyKey | None:
        """The row that takes the key for this inspection; None where the caller gave no key."""
        if self.key is None:
            return None
        return key_taken_by(inspection_id, owner=self.owner, key=self.key, fingerprint=self.fingerprint, kept=self.kept)

    def _made_by(self, taken: IdempotencyKey) -> Inspection:
        """The inspection that the key made. Raises :class:`Problem` where it was made of something else, or is gone."""
        if taken.fingerprint != self.fingerprint:
            raise Problem(
                KEY_REUSED,
                f"This {HEADER} came with another file or other fields before. Send what was sent then, or a new key.",
            )
        row = self.store.rows.get(taken.inspection_id, self.owner)
        if row is None:
            raise Problem(
                KEY_SPENT, f"What this {HEADER} made has been deleted. Send a new key to inspect the file again."
            )
        return row


def key_of(header: str | None) -> str | None:
    """The key in the header; None where there is none. Raises :class:`Problem` for one that is none of ours."""
    if header is None:
        return None
    given = header.strip(" \t")
    quoted = _QUOTED.fullmatch(given)
    key = re.sub(r"\\(.)", r"\1", quoted[1]) if quoted else given if _BARE.fullmatch(given) else ""
    if not key or len(key) > LONGEST_KEY:
        detail = f'Give 1 to {LONGEST_KEY} plain characters in quotes, for instance "{_EXAMPLE}".'
        raise Problem(INVALID, f"{HEADER}: {detail}", errors=[{"field": HEADER, "detail": detail}])
    return key


_EXAMPLE = "8e03978e-40d5-43e8-bc93-6894a57f9324"


def fingerprint(sha256: str, fields: Mapping[str, Any]) -> str:
    """What was sent: the file's bytes by their hash, and its fields. 64 hexadecimal digits."""
    said = json.dumps({"sha256": sha256, "fields": dict(fields)}, sort_keys=True, default=str)
    return hashlib.sha256(said.encode()).hexdigest()
