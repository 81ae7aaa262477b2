"""What has changed since an earlier file, in words: for the page and the text alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from worker.judge.models import Weight
from worker.report import words
from worker.report.models import ComparedFinding, Comparison, StayingFinding
from worker.units import Unit, page_ranges
from worker.words import counted, day, semicolon, told

MOST_RUNS = 8
"""Runs of pages that are told one by one; the data has them all."""


@dataclass(frozen=True)
class Change:
    """One finding: how heavy, what, and in each line of ``told`` where, or how it stands."""

    weight: Weight
    title: str
    told: tuple[str, ...]


@dataclass(frozen=True)
class Group:
    """Findings that went the same way."""

    name: str
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Since:
    """A comparison ready to be set; ``moved`` is empty where pages were not followed."""

    summary: str
    against: str
    note: str
    groups: tuple[Group, ...]
    moved: str


def since(comparison: Comparison, unit: Unit, pages: int) -> Since:
    """Put a comparison into words, lengths in the profile's ``unit``; the later file has so many ``pages``."""
    earlier = comparison.against
    groups = (
        _group("mended", (_one(each, earlier=True) for each in comparison.mended)),
        _group("new", (_one(each) for each in comparison.new)),
        _group("staying", (_staying(each, unit, comparison.followed) for each in comparison.staying)),
        _group("untold", (_one(each, earlier=True) for each in comparison.untold)),
    )
    return Since(
        summary=comparison.summary,
        against=told(
            "comparison.against",
            name=earlier.name,
            so_many=words.so_many_pages(earlier.pages),
            day=day(earlier.measured_at),
            verdict=told(f"verdict.{earlier.verdict.value}.within"),
        ),
        note=comparison.note or "",
        groups=tuple(group for group in groups if group.changes),
        moved=" ".join(_moved(comparison, pages)) if comparison.followed else "",
    )


def _group(name: str, changes: Iterable[Change]) -> Group:
    return Group(told(f"comparison.groups.{name}"), tuple(changes))


def _one(finding: ComparedFinding, *, earlier: bool = False) -> Change:
    where = _pages(finding.pages) if finding.pages else told("comparison.whole-file")
    if finding.pages and earlier:
        where = told("comparison.where.earlier", pages=where)
    return Change(finding.weight, finding.title, (where,))


def _staying(finding: StayingFinding, unit: Unit, followed: bool) -> Change:
    return Change(finding.weight, finding.title, tuple(_stands(finding, unit, followed)))


def _stands(finding: StayingFinding, unit: Unit, followed: bool) -> Iterator[str]:
    if not followed or not (finding.pages_mended or finding.pages_new or finding.pages_staying):
        yield _pages(finding.pages) if finding.pages else told("comparison.whole-file")
    if finding.pages_staying:
        yield told("comparison.where.staying", pages=_pages(finding.pages_staying, small=True))
    if finding.pages_new:
        yield told("comparison.where.new", pages=_pages(finding.pages_new, small=True))
    if finding.pages_mended:
        yield told("comparison.where.mended", pages=_pages(finding.pages_mended, small=True))
    before, _ = words.compared(finding.rule, finding.measured_before, None, unit)
    now, _ = words.compared(finding.rule, finding.measured, None, unit)
    if before and now:
        yield told(f"comparison.measured.{'changed' if before != now else 'same'}", before=before, now=now)


def _pages(pages: Iterable[int], *, small: bool = False) -> str:
    pages = tuple(pages)
    text = counted("comparison.pages", len(pages), pages=page_ranges(pages))
    return text if small else _sentence(text)


def _moved(comparison: Comparison, pages: int) -> Iterator[str]:
    """Where the pages of the earlier file are now, and which are gone."""
    runs = comparison.pages_map
    before = comparison.against.pages
    if runs == ((1, before, 1),) and before == pages:
        yield told("comparison.moved.nowhere")
        return
    first = semicolon(_run(*run) for run in runs[:MOST_RUNS])
    if len(runs) > MOST_RUNS:
        more = words.so_many("comparison.moved.more", len(runs) - MOST_RUNS)
        yield _sentence(told("comparison.moved.runs-and-more", runs=first, more=more))
    elif runs:
        yield _sentence(told("comparison.moved.runs", runs=first))
    placed = {page for first, last, _ in runs for page in range(first, last + 1)}
    gone = [page for page in range(1, before + 1) if page not in placed]
    if gone:
        yield told("comparison.moved.gone", pages=_pages(gone, small=True))


def _sentence(text: str) -> str:
    return text[0].upper() + text[1:]


def _run(first: int, last: int, now: int) -> str:
    was = _pages(range(first, last + 1), small=True)
    if now == first:
        return counted("comparison.moved.stays", last - first + 1, was=was)
    return counted(
        "comparison.moved.goes", last - first + 1, was=was, now=page_ranges(range(now, now + last - first + 1))
    )
