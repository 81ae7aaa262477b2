"""What becomes of the book once the numbers are typed, in words for the page and the text alike."""

from __future__ import annotations

from worker.report.models import AfterSetup, Report
from worker.report.words import counted
from worker.units import Unit, show_area

AGAIN = "Set the book again, have its contents made anew, and have the new file inspected before you order."
UNKNOWN = "How long the book will be with these numbers cannot be told from this file."


def outlook(report: Report, unit: Unit) -> str:
    """A sentence or two; empty where there is nothing to type, or nothing to tell."""
    if report.after_setup is None or all(setting.set is None for setting in report.setup):
        return ""
    return f"{_told(report, report.after_setup, unit)} {AGAIN}"


def _told(report: Report, after: AfterSetup, unit: Unit) -> str:
    if after.pages is None or after.trim is None:
        return UNKNOWN
    length = counted(after.pages, "page")
    about = length if after.pages == report.judged_as_pages else f"about {length} instead of {report.judged_as_pages:,}"
    size = show_area(*after.trim, unit)
    if after.fits:
        return f"With these numbers typed, the book has {about}, cut to {size}, and this printer takes that."
    return (
        f"Even with these numbers the book does not fit: cut to {size} it has {about}, and this printer takes it so in "
        "no size. Smaller type or less space between lines would make it shorter."
    )
