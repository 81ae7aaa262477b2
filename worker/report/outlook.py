"""What becomes of the book once the numbers are typed, in words for the page and the text alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from worker.judge.models import Finding
from worker.report.models import AfterSetup, Report, Setting
from worker.report.words import so_many_pages
from worker.units import Unit, show_area, show_length
from worker.words import grouped, told


def outlook(report: Report, unit: Unit) -> str:
    """A sentence or two; empty where there is nothing to type, or nothing to tell."""
    if report.after_setup is None or all(setting.set is None for setting in report.setup):
        return ""
    return " ".join((*_foretold(report, report.after_setup, unit), told("outlook.again")))


def _foretold(report: Report, after: AfterSetup, unit: Unit) -> Iterator[str]:
    """Sentences."""
    if after.pages is None or after.trim is None:
        yield told("outlook.unknown")
        return
    length = "same" if after.pages == report.judged_as_pages else "other"
    about = told(f"outlook.length.{length}", pages=so_many_pages(after.pages), before=grouped(report.judged_as_pages))
    yield told(f"outlook.{'fits' if after.fits else 'too-far'}", about=about, size=show_area(*after.trim, unit))
    if after.fits:
        return
    counts = [finding.required for finding in report.findings if finding.rule == "page-count" and finding.required]
    if all(count.relation != "at-least" for count in counts):
        yield told("outlook.shorter")


def with_numbers(findings: Iterable[Finding], settings: Iterable[Setting], unit: Unit) -> Iterator[Finding]:
    """The findings, those about a margin with the number to type in their remedies: it allows for what a finding alone
    does not know, as ink that hangs out of the block, and a book that grows."""
    typed = {f"{each.name}-margin": each.set for each in settings}
    for finding in findings:
        number = typed.get(finding.rule)
        if number is None:
            yield finding
        else:
            remedy = f"{finding.remedy} {told('outlook.type', length=show_length(number, unit))}"
            yield finding.model_copy(update={"remedy": remedy})
