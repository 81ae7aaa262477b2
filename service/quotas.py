"""What a member may have here, as refusals that say what to do; see :mod:`worker.store.quotas`.

A file is refused before it is read where its announced size tells enough, and once more as its row is made.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from flask import Request

from service.forms import BESIDE_THE_FILE
from service.house import settings, store
from service.problems import QUOTA_A_DAY, QUOTA_AT_ONCE, QUOTA_BYTES, Problem
from worker.limits import show_bytes
from worker.store import OverQuota
from worker.store.models import now
from worker.store.quotas import next_day, refuse_over

__all__ = ["need_place", "quota_refusals", "seconds_until_tomorrow"]

AT_ONCE_SECONDS = 30
"""After which one of a member's files may well have been measured."""


def need_place(owner: str, request: Request) -> None:
    """Raise :class:`Problem` where one more file of the announced size is more than its owner may have."""
    size = max(0, (request.content_length or 0) - BESIDE_THE_FILE)
    with quota_refusals():
        refuse_over(store().quotas.used(owner), size, settings().quota)


@contextmanager
def quota_refusals() -> Iterator[None]:
    """What the store has no place for, as refusals."""
    try:
        yield
    except OverQuota as over:
        raise _problem_of(over) from None


def seconds_until_tomorrow() -> int:
    """Whole seconds until the files of the day count from nothing again, at midnight UTC."""
    return int((next_day() - now()).total_seconds()) + 1


def _problem_of(over: OverQuota) -> Problem:
    told: dict[str, Any] = {"used": over.used, "most": over.most}
    if over.which == "at-once":
        detail = (
            f"{over.used} of your files wait or are being measured; {over.most} may at a time. "
            f"Send the next one when one of them has ended: try again in {AT_ONCE_SECONDS} seconds."
        )
        return Problem(QUOTA_AT_ONCE, detail, headers={"Retry-After": str(AT_ONCE_SECONDS)}, **told)
    if over.which == "a-day":
        detail = (
            f"{over.used} files were sent today, as many as one member may send a day. The count begins anew at "
            "midnight UTC; judging again what is kept does not count."
        )
        return Problem(QUOTA_A_DAY, detail, headers={"Retry-After": str(seconds_until_tomorrow())}, **told)
    detail = (
        f"Your kept files fill {show_bytes(over.used)} ({over.used} bytes) of the {show_bytes(over.most)} that they "
        "may, and this one does not fit beside them. Delete inspections that are no longer needed, the largest files "
        "first; each gives back its file's bytes at once."
    )
    return Problem(QUOTA_BYTES, detail, **told)
