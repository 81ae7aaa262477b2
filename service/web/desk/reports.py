"""The report of a file, as the desk reads it."""

from __future__ import annotations

from service.house import store
from worker.report.models import Report
from worker.store import Inspection, Missing, report_key

__all__ = ["report_of"]


def report_of(row: Inspection | None) -> Report | None:
    """The report; None where there is none (yet), or none any more."""
    if row is None or row.state != "done":
        return None
    try:
        return Report.model_validate_json(store().bytes.read(report_key(row.id)))
    except Missing:
        return None
