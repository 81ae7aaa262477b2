"""The inspections that have a report, and why others have none."""

from __future__ import annotations

from service import problems
from service.access import own_inspection
from service.api.shown import address_of
from service.problems import Problem
from worker.store import Inspection

__all__ = ["RETRY_SECONDS", "UNFINISHED", "done_inspection"]

RETRY_SECONDS = "2"
"""After which it is worth asking again for an inspection that has not ended."""

UNFINISHED = (problems.NO_SUCH_INSPECTION, problems.NOT_FINISHED, problems.FAILED, problems.CANCELLED)
"""Why there may be no result."""


def done_inspection(inspection_id: str) -> Inspection:
    """The caller's inspection, which has its report. Raises :class:`Problem`."""
    row = own_inspection(inspection_id)
    if row.state == "done":
        return row
    if row.state == "cancelled":
        raise Problem(problems.CANCELLED, "This inspection was cancelled and has no report. Upload the file again.")
    if row.state == "failed":
        failure = row.failure or {}
        said = f"There is no report: {failure.get('message')}. {failure.get('help')}"
        raise Problem(problems.FAILED, said, failure=failure)
    raise Problem(
        problems.NOT_FINISHED,
        f"The inspection is {row.state}. Ask again in {RETRY_SECONDS} seconds, "
        f"or GET {address_of(row.id)} with `Prefer: wait=30`.",
        headers={"Retry-After": RETRY_SECONDS},
        state=row.state,
    )
