"""Measurements before a profile: findings, what could not be tried, a verdict. Pure: no file, no clock, no chance."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from worker.book import Book
from worker.judge import (  # noqa: F401 - they enter their rules
    active,
    blank,
    bleed,
    book_contents,
    book_folios,
    book_heads,
    book_openings,
    book_order,
    book_pages,
    boxes,
    colour,
    file,
    image,
    link,
    live_area,
    page,
    pdfx,
    type,
)
from worker.judge.asked import is_asked
from worker.judge.case import MOST_MARKS, Case, Draft
from worker.judge.models import Finding, Judgement, NotChecked, Verdict, Weight
from worker.judge.registry import RULES
from worker.judge.untried import left_out, untried
from worker.measure.models import Measurements
from worker.profiles import Profile
from worker.rules import RULES as KNOWN_RULES
from worker.units import page_ranges
from worker.words import counted, rule_words, told

__all__ = ["judge"]

_OF_UNREADABLE_FILES = ("damaged-file", "encrypted")
_ORDER = {Weight.REFUSAL: 0, Weight.SPOILAGE: 1, Weight.POLISH: 2}


def judge(
    measurements: Measurements, profile: Profile, *, book: Book | None = None, judged_as_pages: int | None = None
) -> Judgement:
    """Judge a book before a printer: its facts, and how it is built, where that was read.

    ``judged_as_pages`` is the finished book's page count where it is not the file's. Findings come heaviest first, then
    by how many pages they touch.
    """
    pages = judged_as_pages or measurements.document.pages
    case = Case(measurements, profile, pages, book)
    findings = sorted(_findings(case), key=lambda finding: (_ORDER[finding.weight], -finding.count, finding.rule))
    verdict = _verdict(findings)
    counts = [sum(finding.weight is weight for finding in findings) for weight in Weight]
    return Judgement(
        verdict=verdict,
        summary=_summary(verdict, profile.name, *counts),
        judged_as_pages=pages,
        findings=tuple(findings),
        not_checked=tuple(_not_checked(case)),
    )


def _findings(case: Case) -> Iterator[Finding]:
    for rule, test in RULES.items():
        if not is_asked(rule, case.profile) or (_unreadable(case) and rule not in _OF_UNREADABLE_FILES):
            continue
        if untried(rule, case):
            continue
        for draft in test(case):
            yield _worded(rule, draft, case)


def _unreadable(case: Case) -> bool:
    return case.measurements.document.unreadable is not None or not case.pages


def _worded(rule: str, draft: Draft, case: Case) -> Finding:
    pages = tuple(sorted(set(draft.pages)))
    ranges = page_ranges(pages)
    words = rule_words(rule, draft.form, case.sides | draft.facts)
    return Finding(
        rule=rule,
        key=f"{rule}/{draft.cause}" if draft.cause else rule,
        weight=_weight(rule, draft, case.profile),
        title=words.title,
        detail=words.detail,
        effect=words.effect,
        remedy=words.remedy,
        pages=pages,
        page_ranges=ranges,
        count=len(pages),
        measured=draft.measured,
        required=draft.required,
        marks=tuple(islice(draft.marks, MOST_MARKS)),
    )


def _weight(rule: str, draft: Draft, profile: Profile) -> Weight:
    own = profile.weights.get(rule)
    return Weight(own) if own else draft.weight or Weight(KNOWN_RULES[rule].weight)


def _verdict(findings: list[Finding]) -> Verdict:
    weights = {finding.weight for finding in findings}
    if Weight.REFUSAL in weights:
        return Verdict.NOT_PRESSWORTHY
    return Verdict.RESERVATIONS if Weight.SPOILAGE in weights else Verdict.PRESSWORTHY


def _summary(verdict: Verdict, printer: str, refusals: int, spoilages: int, polish: int) -> str:
    """The verdict in one sentence, and why."""
    count = {Verdict.NOT_PRESSWORTHY: refusals, Verdict.RESERVATIONS: spoilages}.get(verdict, polish)
    key = "to-polish" if verdict is Verdict.PRESSWORTHY and polish else verdict.value
    return told(f"verdict.summary.{key}", printer=printer, things=counted("verdict.things", count))


def _not_checked(case: Case) -> Iterator[NotChecked]:
    """Every rule that the profile asks of and that was not tried on the whole book, and why."""
    for rule in KNOWN_RULES:
        why = _reason_not_checked(rule, case) if is_asked(rule, case.profile) else None
        if why is not None:
            yield NotChecked(rule=rule, why=why)


def _reason_not_checked(rule: str, case: Case) -> str | None:
    if KNOWN_RULES[rule].group == "cover":
        return told("untried.no-cover")
    if rule not in RULES:
        return told("untried.not-in-this-version")
    if _unreadable(case):
        return None if rule in _OF_UNREADABLE_FILES else told("untried.not-opened")
    return untried(rule, case) or left_out(rule, case)
