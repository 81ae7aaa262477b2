"""What has changed since an earlier file, in words: for the page and the text alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from worker.judge.models import Weight
from worker.report import words
from worker.report.models import ComparedFinding, Comparison, StayingFinding
from worker.units import Unit, page_ranges

MOST_RUNS = 8
"""Runs of pages that are told one by one; the data has them all."""

VERDICTS = {
    "pressworthy": "pressworthy",
    "reservations": "pressworthy, with reservations",
    "not-pressworthy": "not pressworthy",
}


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
        Group("Mended", tuple(_one(each, " of the earlier file") for each in comparison.mended)),
        Group("New", tuple(_one(each, "") for each in comparison.new)),
        Group("Staying", tuple(_staying(each, unit, comparison.followed) for each in comparison.staying)),
        Group(
            "Not to be told: not tried this time",
            tuple(_one(each, " of the earlier file") for each in comparison.untold),
        ),
    )
    return Since(
        summary=comparison.summary,
        against=(
            f"{earlier.name}, {words.counted(earlier.pages, 'page')}, measured on "
            f"{earlier.measured_at.strftime('%-d %B %Y')}: {VERDICTS[earlier.verdict]}."
        ),
        note=comparison.note or "",
        groups=tuple(group for group in groups if group.changes),
        moved=" ".join(_moved(comparison, pages)) if comparison.followed else "",
    )


def _one(finding: ComparedFinding, of: str) -> Change:
    where = _pages(finding.pages) + of if finding.pages else "The whole file"
    return Change(finding.weight, finding.title, (where,))


def _staying(finding: StayingFinding, unit: Unit, followed: bool) -> Change:
    return Change(finding.weight, finding.title, tuple(_stands(finding, unit, followed)))


def _stands(finding: StayingFinding, unit: Unit, followed: bool) -> Iterator[str]:
    if not followed or not (finding.pages_mended or finding.pages_new or finding.pages_staying):
        yield _pages(finding.pages) if finding.pages else "The whole file"
    if finding.pages_staying:
        yield f"Staying: {_pages(finding.pages_staying, small=True)}"
    if finding.pages_new:
        yield f"New: {_pages(finding.pages_new, small=True)}"
    if finding.pages_mended:
        yield f"Mended: {_pages(finding.pages_mended, small=True)} of the earlier file"
    before, _ = words.compared(finding.rule, finding.measured_before, None, unit)
    now, _ = words.compared(finding.rule, finding.measured, None, unit)
    if before and now:
        yield f"Measured {before} before, {now} now" if before != now else f"Measured {now}, as before"


def _pages(pages: Iterable[int], *, small: bool = False) -> str:
    pages = tuple(pages)
    word = "page" if len(pages) == 1 else "pages"
    return f"{word if small else word.capitalize()} {page_ranges(pages)}"


def _moved(comparison: Comparison, pages: int) -> Iterator[str]:
    """Where the pages of the earlier file are now, and which are gone."""
    runs = comparison.pages_map
    before = comparison.against.pages
    if runs == ((1, before, 1),) and before == pages:
        yield "Every page is where it was."
        return
    told = [_run(*run) for run in runs[:MOST_RUNS]]
    more = f"; {words.counted(len(runs) - MOST_RUNS, 'run')} of pages more" if len(runs) > MOST_RUNS else ""
    if told:
        yield _sentence(f"{'; '.join(told)}{more}.")
    placed = {page for first, last, _ in runs for page in range(first, last + 1)}
    gone = [page for page in range(1, before + 1) if page not in placed]
    if gone:
        yield f"No longer there: {_pages(gone, small=True)} of the earlier file."


def _sentence(text: str) -> str:
    return text[0].upper() + text[1:]


def _run(first: int, last: int, now: int) -> str:
    was = _pages(range(first, last + 1), small=True)
    if now == first:
        return f"{was} {'is' if first == last else 'are'} where {'it was' if first == last else 'they were'}"
    return f"{was} {'is' if first == last else 'are'} now {page_ranges(range(now, now + last - first + 1))}"
