"""A letter to the author, made from a report: what to change, where, and which number to type, in plain words.

Paragraphs are not wrapped: whatever it is pasted into does that. All words of the letter stand here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from worker.judge.models import Finding, Verdict, Weight
from worker.report.models import ComparedFinding, Report
from worker.report.outlook import outlook
from worker.report.rows import row
from worker.report.words import shown, so_many_pages
from worker.units import Unit
from worker.words import told

__all__ = ["Occasion", "letter"]

VERDICTS = {
    Verdict.PRESSWORTHY: "The printer, {printer}, would take it as it is, and nothing in it has to be changed.",
    Verdict.RESERVATIONS: "The printer, {printer}, would take it; but {faults} would spoil the printed book.",
    Verdict.NOT_PRESSWORTHY: "The printer, {printer}, would turn it away as it is: {faults} to be changed first.",
}
HEADINGS = {
    Weight.REFUSAL: "This has to be changed, or the printer turns the file away:",
    Weight.SPOILAGE: "This would print, and the book would be the worse for it:",
    Weight.POLISH: "This is a matter of craft; change it if you like:",
}
CAUTION = (
    "The printer’s own guide governs where it differs from this letter, and a printed proof is worth having before any "
    "copies are paid for."
)
UNREADABLE = {"damaged-file", "encrypted"}


@dataclass(frozen=True)
class Occasion:
    """Who writes to whom, about what. ``expected_pages`` is what was agreed on.

    ``link``: the author has one to send files by. ``signed`` is who writes; empty where it is to be signed by hand.
    """

    author: str
    title: str
    received_at: datetime
    expected_pages: int | None = None
    link: bool = False
    signed: str = ""


def letter(report: Report, occasion: Occasion, unit: Unit) -> str:
    """The letter, ready to paste; lengths in the profile's ``unit`` and the other beside it."""
    parts = [
        [f"Dear {occasion.author},"],
        [_thanks(report, occasion)],
        [_verdict(report)],
        *_findings(report.findings),
        _numbers(report, unit),
        _since(report),
        [_length(report, occasion)],
        [_onward(report, occasion)],
        [CAUTION],
        ["With kind regards", occasion.signed],
    ]
    text = "\n\n".join("\n".join(line for line in part if line) for part in parts if any(part))
    return "\n".join(shown(line) for line in text.split("\n")) + "\n"


def _thanks(report: Report, occasion: Occasion) -> str:
    when = occasion.received_at.strftime("%-d %B %Y")
    has = f", {so_many_pages(report.pages)}" if report.pages else ""
    return f"Thank you for the file of “{occasion.title}” that came on {when} ({_line(report.file.name)}{has})."


def _verdict(report: Report) -> str:
    weight = {Verdict.NOT_PRESSWORTHY: Weight.REFUSAL, Verdict.RESERVATIONS: Weight.SPOILAGE}.get(report.verdict)
    number = sum(finding.weight == weight for finding in report.findings)
    faults = "1 thing" if number == 1 else f"{number:,} things"
    if report.verdict is Verdict.NOT_PRESSWORTHY:
        faults += " has" if number == 1 else " have"
    return VERDICTS[report.verdict].format(printer=_line(report.profile.name), faults=faults)


def _findings(findings: Iterable[Finding]) -> Iterator[list[str]]:
    """Each weight under its heading, numbered throughout."""
    numbered = list(enumerate(findings, start=1))
    for weight, heading in HEADINGS.items():
        of_weight = [(number, finding) for number, finding in numbered if finding.weight == weight]
        if of_weight:
            yield [heading]
        for number, finding in of_weight:
            yield list(_finding(number, finding))


def _finding(number: int, finding: Finding) -> Iterator[str]:
    yield f"{number}. {_line(finding.title)}"
    if finding.pages:
        yield f"   Where: {'page' if len(finding.pages) == 1 else 'pages'} {finding.page_ranges}"
    yield f"   What is wrong: {_line(finding.detail)}" if finding.detail else ""
    yield f"   What to do: {_line(finding.remedy)}" if finding.remedy else ""


def _numbers(report: Report, unit: Unit) -> list[str]:
    """What to type where the book was set; nothing where no number need change."""
    rows = [row(setting, unit) for setting in report.setup if setting.set is not None]
    if not rows:
        return []
    lines = [f"   {each.name}: {each.set}{f'. {_line(each.note)}' if each.note else ''}" for each in rows]
    foretold = outlook(report, unit).removesuffix(told("outlook.again")).strip()
    return ["The numbers to type where the book was set, all together:", *lines, foretold]


def _since(report: Report) -> list[str]:
    found = report.comparison
    if found is None:
        return []
    if found.same_file:
        return ["It is the very file that you sent before."]
    lines = [
        _listed("Mended since your last file", found.mended),
        _listed("New in this one", found.new),
        _listed("Still there", found.staying),
    ]
    return [line for line in lines if line]


def _listed(name: str, findings: Iterable[ComparedFinding]) -> str:
    titles = [_line(finding.title) for finding in findings]
    return f"{name}: {'; '.join(titles)}." if titles else ""


def _length(report: Report, occasion: Occasion) -> str:
    wanted = occasion.expected_pages
    if wanted is None or not report.pages or wanted == report.pages:
        return ""
    return f"We counted on {so_many_pages(wanted)}, and this file has {report.pages:,}. Please tell us which is meant."


def _onward(report: Report, occasion: Occasion) -> str:
    if report.verdict is Verdict.PRESSWORTHY:
        return ""
    by = " by the link that you have from us" if occasion.link else ""
    if UNREADABLE & {finding.rule for finding in report.findings}:
        return f"Please export the book as a PDF once more, and send that{by}."
    return (
        "Please make these changes where the book was set, have its contents made anew if it has any, export it as a "
        f"PDF again, and send the new file{by}."
    )


def _line(text: str) -> str:
    return " ".join(text.split())
