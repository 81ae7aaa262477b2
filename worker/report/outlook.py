"""What becomes of the book once the numbers are typed, in words for the page and the text alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from worker.judge.models import Finding
from worker.report.models import AfterSetup, Report, Setting
from worker.report.words import counted
from worker.units import Unit, show_area, show_length

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
    counts = [finding.required for finding in report.findings if finding.rule == "page-count" and finding.required]
    too_short = any(count.relation == "at-least" for count in counts)
    remedy = "" if too_short else " Smaller type or less space between lines would make it shorter."
    return (
        f"Even with these numbers the book does not fit: cut to {size} it has {about}, and this printer takes no book "
        f"of that length in any of its sizes.{remedy}"
    )


def with_numbers(findings: Iterable[Finding], settings: Iterable[Setting], unit: Unit) -> Iterator[Finding]:
    """The findings, those about a margin with the number to type in their remedies: it allows for what a finding alone
    does not know, as ink that hangs out of the block, and a book that grows."""
    typed = {f"{each.name}-margin": each.set for each in settings}
    for finding in findings:
        number = typed.get(finding.rule)
        if number is None:
            yield finding
        else:
            told = f"{finding.remedy} In this book, type {show_length(number, unit)}."
            yield finding.model_copy(update={"remedy": told})
