"""The comparison of a report with an earlier one: findings by their keys, their pages by where these went."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from worker.compare.earlier import Earlier, EarlierFinding
from worker.compare.followed import Followed, follow, unmoved
from worker.judge.models import Finding, Measured
from worker.report.models import Against, ComparedFinding, Comparison, Report, StayingFinding
from worker.units import page_ranges
from worker.words import comma, counted, grouped, told

FEW = 5
"""Where not even one in so many pages is found, the two files may be of different books. House value."""


def compared(report: Report, earlier: Earlier) -> Report:
    """The same report, with what has changed since the earlier one."""
    return report.model_copy(update={"comparison": _comparison(report, earlier)})


def _comparison(report: Report, earlier: Earlier) -> Comparison:
    before = {finding.key: finding for finding in reversed(earlier.findings)}
    now = {finding.key: finding for finding in report.findings}
    untried = {each.rule for each in report.not_checked}
    followed = _followed(report, earlier)
    placed = followed if followed and followed.known else None
    gone = [finding for finding in before.values() if finding.key not in now][::-1]
    mended = tuple(_told(each, earlier.pages) for each in gone if each.rule not in untried)
    new = tuple(_told(each, report.pages) for each in report.findings if each.key not in before)
    staying = tuple(
        _staying(before[each.key], each, placed, earlier.pages) for each in report.findings if each.key in before
    )
    untold = tuple(_told(each, earlier.pages) for each in gone if each.rule in untried)
    same_file = earlier.file.sha256 == report.file.sha256
    return Comparison(
        against=Against(
            name=earlier.file.name,
            sha256=earlier.file.sha256,
            measured_at=earlier.measured_at,
            verdict=earlier.verdict,
            pages=earlier.pages,
        ),
        same_file=same_file,
        summary=_summary(mended, new, staying, untold, same_file),
        note=" ".join(_notes(report, earlier, new, followed)) or None,
        mended=mended,
        new=new,
        staying=staying,
        untold=untold,
        followed=placed is not None,
        pages_map=placed.runs if placed else (),
    )


def _followed(report: Report, earlier: Earlier) -> Followed | None:
    """None where a report has no trace for each of its pages. The same bytes have the same pages."""
    if earlier.file.sha256 == report.file.sha256 and earlier.pages == report.pages:
        return unmoved(report.pages)
    if len(earlier.traces) != earlier.pages or len(report.traces) != report.pages:
        return None
    return follow(earlier.traces, report.traces)


def _told(finding: EarlierFinding | Finding, most: int) -> ComparedFinding:
    pages = _within(finding.pages, most)
    return ComparedFinding(
        rule=finding.rule,
        key=finding.key,
        weight=finding.weight,
        title=finding.title,
        pages=pages,
        page_ranges=page_ranges(pages),
    )


def _within(pages: Iterable[int], most: int) -> tuple[int, ...]:
    return tuple(sorted({page for page in pages if 1 <= page <= most}))


def _staying(before: EarlierFinding, now: Finding, followed: Followed | None, pages_before: int) -> StayingFinding:
    mended, new, staying = _pages(_within(before.pages, pages_before), now.pages, followed)
    was = before.measured
    return StayingFinding(
        rule=now.rule,
        key=now.key,
        weight=now.weight,
        title=now.title,
        pages=now.pages,
        page_ranges=now.page_ranges,
        pages_mended=mended,
        pages_new=new,
        pages_staying=staying,
        measured_before=Measured(value=was.value, unit=was.unit) if was else None,
        measured=now.measured,
    )


def _pages(
    before: tuple[int, ...], now: tuple[int, ...], followed: Followed | None
) -> tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
    """Pages of the earlier file that are mended, and pages of this one that are new or stay with the finding."""
    if followed is None:
        return (), (), ()
    had, has = set(before), set(now)
    sources: Mapping[int, set[int]] = followed.sources
    staying = {page for page in has if had & sources.get(page, set())}
    mended = {page for page in had if not has & followed.all.get(page, frozenset())}
    return tuple(sorted(mended)), tuple(sorted(has - staying)), tuple(sorted(staying))


def _summary(
    mended: tuple[ComparedFinding, ...],
    new: tuple[ComparedFinding, ...],
    staying: tuple[StayingFinding, ...],
    untold: tuple[ComparedFinding, ...],
    same_file: bool,
) -> str:
    before = len(mended) + len(staying) + len(untold)
    if not before:
        text = told("comparison.summary.no-earlier", new=_so_many("are", len(new)))
    else:
        lessened = sum(1 for each in staying if each.pages_mended and not each.pages_new)
        text = counted(
            "comparison.summary.earlier",
            before,
            mended=_so_many("are", len(mended)),
            untold=counted("comparison.summary.cannot-be-told", len(untold)) if untold else "",
            stay=_so_many("stay", len(staying)),
            fewer=counted("comparison.summary.fewer", lessened) if lessened else "",
            new=_so_many("are", len(new)),
        )
    if same_file:
        return told("comparison.summary.same-file", told=text)
    return told("comparison.summary.other-file", told=f"{text[0].upper()}{text[1:]}")


def _so_many(what: str, number: int) -> str:
    """How many are, or stay; none has a text of its own."""
    key = f"comparison.summary.{what}"
    return counted(key, number) if number else told(f"{key}.none")


def _notes(
    report: Report, earlier: Earlier, new: tuple[ComparedFinding, ...], followed: Followed | None
) -> Iterator[str]:
    """Whatever else than the file may have made a difference, a sentence each."""
    was, now = earlier.profile, report.profile
    if was.id != now.id:
        yield told("comparison.notes.printer", printer=was.name)
    elif was.revision != now.revision:
        yield told("comparison.notes.revision", was=was.revision, now=now.revision)
    if (earlier.judged_as_pages, report.judged_as_pages) != (earlier.pages, report.pages) and (
        earlier.judged_as_pages != report.judged_as_pages
    ):
        lengths = {"was": grouped(earlier.judged_as_pages), "now": grouped(report.judged_as_pages)}
        yield told("comparison.notes.length", **lengths)
    if earlier.pressworthy_version != report.pressworthy_version:
        versions = {"was": earlier.pressworthy_version, "now": report.pressworthy_version}
        yield told("comparison.notes.version", **versions)
    untried = {each.rule for each in earlier.not_checked}
    if late := sorted({each.rule for each in new if each.rule in untried}):
        yield told("comparison.notes.untried", rules=comma(late))
    if followed is None:
        yield told("comparison.notes.no-traces")
    elif not followed.known and (earlier.pages or report.pages):
        yield told("comparison.notes.none-found")
    elif followed.known * FEW < followed.worded:
        found = {"worded": grouped(followed.worded), "known": grouped(followed.known)}
        yield told("comparison.notes.few-found", **found)
