"""Rules about page sizes, page counts, boxes and bleed."""

from __future__ import annotations

from collections.abc import Iterator

from worker.judge.case import SAME_SIZE, Case, Draft, mark, size
from worker.judge.models import Measured, Required
from worker.judge.registry import rule
from worker.measure.models import Page

_ROUNDING = 0.05
"""Points: producers round boxes to a hundredth of their own unit (common practice, no source)."""
_MARK_AREAS = (0.125 * 72, 3 * 72 / 25.4, 5 * 72 / 25.4, 0.25 * 72, 36.0)
"""Plain amounts by which a page is laid larger than its trim (common practice, no source)."""
_EDGES = ("left", "right", "head", "foot")


@rule("trim-size")
def trim_size(case: Case) -> Iterator[Draft]:
    if case.trim is not None:
        return
    width, height = case.usual_size
    closest = case.profile.interior.closest_trim(width, height)
    wrong = [page.page for page in case.pages if _like(page, case.usual_size)]
    yield Draft(
        pages=wrong,
        measured=Measured(value=width, unit="pt"),
        required=Required(value=closest.width, unit="pt", relation="equal"),
        facts={"is_": case.area(width, height), "asked": case.area(closest.width, closest.height)},
    )


@rule("mixed-page-sizes")
def mixed_page_sizes(case: Case) -> Iterator[Draft]:
    odd = [page for page in case.pages if not _like(page, case.usual_size)]
    if odd:
        worst = max(odd, key=lambda page: abs(size(page)[0] - case.usual_size[0]))
        yield Draft(
            pages=[page.page for page in odd],
            facts={"usual": case.area(*case.usual_size), "is_": case.area(*size(worst)), "where": worst.page},
        )


def _like(page: Page, usual: tuple[float, float]) -> bool:
    return all(abs(one - other) <= SAME_SIZE for one, other in zip(size(page), usual, strict=True))


@rule("page-count")
def page_count(case: Case) -> Iterator[Draft]:
    pages, asked = case.judged_as_pages, case.page_count
    if asked.least is not None and pages < asked.least:
        yield _count_draft(case, "few", asked.least, "at-least")
    if asked.most is not None and pages > asked.most:
        yield _count_draft(case, "many", asked.most, "at-most")


def _count_draft(case: Case, form: str, limit: int, relation: str) -> Draft:
    return Draft(
        form=form,
        cause=form,
        measured=Measured(value=case.judged_as_pages, unit="pages"),
        required=Required(value=limit, unit="pages", relation=relation),
        facts={"has": case.judged_as_pages, "limit": limit},
    )


@rule("page-multiple")
def page_multiple(case: Case) -> Iterator[Draft]:
    multiple, pages = case.page_count.multiple, case.judged_as_pages
    if multiple and pages % multiple:
        added = -pages % multiple
        yield Draft(
            measured=Measured(value=pages, unit="pages"),
            required=Required(value=multiple, unit="pages", relation="multiple-of"),
            facts={"has": pages, "multiple": multiple, "full": pages + added, "added": added},
        )


@rule("page-rotation")
def page_rotation(case: Case) -> Iterator[Draft]:
    turned = [page.page for page in case.pages if page.rotate]
    if turned:
        yield Draft(pages=turned, facts={"degrees": case.pages[turned[0] - 1].rotate})


@rule("page-boxes")
def page_boxes(case: Case) -> Iterator[Draft]:
    laid_larger = [page for page in case.pages if _larger_by(case, page) is not None]
    if laid_larger:
        first = laid_larger[0]
        width, height = size(first)
        trim = case.profile.interior.closest_trim(width - 2 * (_larger_by(case, first) or 0), height)
        yield Draft(
            pages=[page.page for page in laid_larger],
            facts={"is_": case.area(width, height), "asked": case.area(trim.width, trim.height)},
        )


def _larger_by(case: Case, page: Page) -> float | None:
    """How far a page without a TrimBox is laid beyond one of the printer's trims on every side, in points."""
    if "trim" in page.declared or case.profile.interior.trim_near(*size(page)):
        return None
    width, height = size(page)
    for amount in _MARK_AREAS:
        for trim in case.profile.interior.trims:
            if abs(width - trim.width - 2 * amount) <= 0.5 and abs(height - trim.height - 2 * amount) <= 0.5:
                return amount
    return None


@rule("bleed-missing")
def bleed_missing(case: Case) -> Iterator[Draft]:
    wanted = _bleed_amount(case)
    pages = [page for page in case.pages if any(_area_beyond(page, edge) <= _ROUNDING for edge in _bled(case, page))]
    if pages and wanted is not None:
        yield Draft(
            pages=[page.page for page in pages],
            measured=Measured(value=0, unit="pt"),
            required=Required(value=wanted, unit="pt", relation="at-least"),
            facts={"asked": case.length(wanted)},
            marks=[mark(page.page, page.ink or page.trim, "no bleed") for page in pages],
        )


@rule("bleed-short")
def bleed_short(case: Case) -> Iterator[Draft]:
    wanted = _bleed_amount(case)
    if wanted is None:
        return
    short = {page.page: beyond for page in case.pages if (beyond := _shortest_bleed(case, page)) is not None}
    short = {page: beyond for page, beyond in short.items() if beyond < wanted - _ROUNDING}
    if short:
        worst = min(short.values())
        yield Draft(
            pages=list(short),
            measured=Measured(value=worst, unit="pt"),
            required=Required(value=wanted, unit="pt", relation="at-least"),
            facts={"is_": case.length(max(0.0, worst)), "asked": case.length(wanted)},
        )


def _bleed_amount(case: Case) -> float | None:
    bleed = case.profile.interior.bleed
    return None if bleed is None else bleed.amount or 9.0


def _bled(case: Case, page: Page) -> list[str]:
    """The edges, the binding edge apart, that ink reaches."""
    binding = "left" if case.is_recto(page) else "right"
    return [edge for edge in _EDGES if edge != binding and getattr(page.reach, edge) is not None]


def _area_beyond(page: Page, edge: str) -> float:
    x0, y0, x1, y1 = page.media
    return {"left": -x0, "foot": -y0, "right": x1 - page.trim[2], "head": y1 - page.trim[3]}[edge]


def _shortest_bleed(case: Case, page: Page) -> float | None:
    with_area = [edge for edge in _bled(case, page) if _area_beyond(page, edge) > _ROUNDING]
    return min((getattr(page.reach, edge) for edge in with_area), default=None)
