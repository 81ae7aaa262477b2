"""A letter to the author, made from a report: what to change, where, and which number to type, in plain words.

Paragraphs are not wrapped: whatever it is pasted into does that.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from worker.judge.models import Finding, Verdict, Weight
from worker.report.models import ComparedFinding, Report
from worker.report.outlook import outlook
from worker.report.rows import Row, row
from worker.report.words import shown, so_many, so_many_pages
from worker.units import Unit
from worker.words import counted, day, grouped, semicolon, told

__all__ = ["Occasion", "letter"]

UNREADABLE = {"damaged-file", "encrypted"}
INDENT = "   "


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
        [told("letter.greeting", author=occasion.author)],
        [_thanks(report, occasion)],
        [_verdict(report)],
        *_findings(report.findings),
        _numbers(report, unit),
        _since(report),
        [_length(report, occasion)],
        [_onward(report, occasion)],
        [told("letter.caution")],
        [told("letter.regards"), occasion.signed],
    ]
    text = "\n\n".join("\n".join(line for line in part if line) for part in parts if any(part))
    return "\n".join(shown(line) for line in text.split("\n")) + "\n"


def _thanks(report: Report, occasion: Occasion) -> str:
    name = _line(report.file.name)
    details = (
        told("letter.file.with-pages", name=name, pages=so_many_pages(report.pages))
        if report.pages
        else told("letter.file.alone", name=name)
    )
    return told("letter.thanks", title=occasion.title, day=day(occasion.received_at), details=details)


def _verdict(report: Report) -> str:
    printer = _line(report.profile.name)
    match report.verdict:
        case Verdict.PRESSWORTHY:
            return told("letter.verdict.pressworthy", printer=printer)
        case Verdict.RESERVATIONS:
            return so_many("letter.verdict.reservations", _of_weight(report, Weight.SPOILAGE), printer=printer)
        case Verdict.NOT_PRESSWORTHY:
            return so_many("letter.verdict.not-pressworthy", _of_weight(report, Weight.REFUSAL), printer=printer)


def _of_weight(report: Report, weight: Weight) -> int:
    return sum(finding.weight == weight for finding in report.findings)


def _findings(findings: Iterable[Finding]) -> Iterator[list[str]]:
    """Each weight under its heading, numbered throughout."""
    numbered = list(enumerate(findings, start=1))
    for weight in Weight:
        of_weight = [(number, finding) for number, finding in numbered if finding.weight == weight]
        if of_weight:
            yield [told(f"letter.heading.{weight.value}")]
        for number, finding in of_weight:
            yield list(_finding(number, finding))


def _finding(number: int, finding: Finding) -> Iterator[str]:
    yield told("letter.item", number=number, title=_line(finding.title))
    if finding.pages:
        pages = counted("units.on-pages", len(finding.pages), pages=finding.page_ranges)
        yield INDENT + told("letter.where", pages=pages)
    yield INDENT + told("letter.wrong", detail=_line(finding.detail)) if finding.detail else ""
    yield INDENT + told("letter.remedy", remedy=_line(finding.remedy)) if finding.remedy else ""


def _numbers(report: Report, unit: Unit) -> list[str]:
    """What to type where the book was set; nothing where no number need change."""
    rows = [row(setting, unit) for setting in report.setup if setting.set is not None]
    if not rows:
        return []
    foretold = outlook(report, unit).removesuffix(told("outlook.again")).strip()
    return [told("letter.numbers"), *(INDENT + _number(each) for each in rows), foretold]


def _number(each: Row) -> str:
    if each.note:
        return told("letter.number-with-note", name=each.name, set=each.set, note=_line(each.note))
    return told("letter.number", name=each.name, set=each.set)


def _since(report: Report) -> list[str]:
    found = report.comparison
    if found is None:
        return []
    if found.same_file:
        return [told("letter.since.same")]
    changes = {"mended": found.mended, "new": found.new, "staying": found.staying}
    return [told(f"letter.since.{how}", titles=_titles(findings)) for how, findings in changes.items() if findings]


def _titles(findings: Iterable[ComparedFinding]) -> str:
    return semicolon(_line(finding.title) for finding in findings)


def _length(report: Report, occasion: Occasion) -> str:
    wanted = occasion.expected_pages
    if wanted is None or not report.pages or wanted == report.pages:
        return ""
    return told("letter.length", wanted=so_many_pages(wanted), has=grouped(report.pages))


def _onward(report: Report, occasion: Occasion) -> str:
    if report.verdict is Verdict.PRESSWORTHY:
        return ""
    unreadable = UNREADABLE & {finding.rule for finding in report.findings}
    asked = "export" if unreadable else "change"
    return told(f"letter.onward.{asked}-by-link" if occasion.link else f"letter.onward.{asked}")


def _line(text: str) -> str:
    return " ".join(text.split())
