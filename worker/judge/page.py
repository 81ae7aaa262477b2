"""Rules about the sizes, the number and the turning of pages."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from worker.judge.case import ROUNDING, Case, Draft, on_pages, size
from worker.judge.models import Measured, Required
from worker.judge.registry import rule
from worker.measure.models import Page

Size = tuple[float, float]


@rule("trim-size")
def trim_size(case: Case) -> Iterator[Draft]:
    """About the usual size; the pages that differ from it are another rule's."""
    if case.trim is not None:
        return
    width, height = case.usual_size
    closest = case.interior.closest_trim(width, height)
    lying = case.interior.trim_near(height, width)
    asked = lying or closest
    is_, wanted = _further_off((width, height), (closest.width, closest.height))
    yield Draft(
        form="lying" if lying else "",
        pages=[page.page for page in case.pages if _is_usual(case, page)],
        measured=Measured(value=is_, unit="pt"),
        required=Required(value=wanted, unit="pt", relation="equal"),
        facts={"is_": case.area(width, height), "asked": case.area(asked.width, asked.height)},
    )


@rule("mixed-page-sizes")
def mixed_page_sizes(case: Case) -> Iterator[Draft]:
    odd = [page for page in case.pages if not _is_usual(case, page)]
    if not odd:
        return
    worst = max(odd, key=lambda page: _off(size(page), case.usual_size))
    is_, usual = _further_off(size(worst), case.usual_size)
    pages = [page.page for page in odd]
    yield Draft(
        pages=pages,
        measured=Measured(value=is_, unit="pt"),
        required=Required(value=usual, unit="pt", relation="equal"),
        facts={
            "usual": case.area(*case.usual_size),
            "is_": case.area(*size(worst)),
            "where": worst.page,
            "pages": on_pages(pages),
        },
    )


def _is_usual(case: Case, page: Page) -> bool:
    return _off(size(page), case.usual_size) <= case.interior.trim_tolerance + ROUNDING


def _off(one: Size, other: Size) -> float:
    return max(abs(one[0] - other[0]), abs(one[1] - other[1]))


def _further_off(one: Size, other: Size) -> Size:
    """The side in which two sizes differ more: its length in the one and in the other."""
    return max(zip(one, other, strict=True), key=lambda sides: abs(sides[0] - sides[1]))


@rule("page-count")
def page_count(case: Case) -> Iterator[Draft]:
    """The finished book's page count against what its trim takes."""
    pages, asked = case.judged_as_pages, case.page_count
    if asked.least is not None and pages < asked.least:
        yield _count_draft(case, "few", asked.least, "at-least")
    if asked.most is not None and pages > asked.most:
        yield _count_draft(case, "many", asked.most, "at-most")


def _count_draft(case: Case, form: str, limit: int, relation: Literal["at-least", "at-most"]) -> Draft:
    return Draft(
        form=form,
        cause=form,
        measured=Measured(value=case.judged_as_pages, unit="pages"),
        required=Required(value=limit, unit="pages", relation=relation),
        facts={"has": case.judged_as_pages, "limit": limit, "larger": _larger_trim(case)},
    )


def _larger_trim(case: Case) -> str:
    """The next larger trim, on which the text comes to fewer pages, as a half sentence; empty where there is none."""
    width, height = case.usual_size
    larger = [trim for trim in case.interior.trims if trim.width * trim.height > width * height * 1.05]
    if not larger:
        return ""
    next_ = min(larger, key=lambda trim: trim.width * trim.height)
    most = case.interior.page_count_of(next_).most
    taken = f", which is taken to {most} pages" if most else ""
    return f"set the book at the next larger size, {case.area(next_.width, next_.height)}{taken}; or "


@rule("page-multiple")
def page_multiple(case: Case) -> Iterator[Draft]:
    multiple, pages = case.page_count.multiple, case.judged_as_pages
    added = -pages % multiple if multiple else 0
    if multiple and added:
        yield Draft(
            measured=Measured(value=pages, unit="pages"),
            required=Required(value=multiple, unit="pages", relation="multiple-of"),
            facts={
                "has": pages,
                "multiple": multiple,
                "full": pages + added,
                "added": "one blank page" if added == 1 else f"{added} blank pages",
            },
        )


@rule("page-rotation")
def page_rotation(case: Case) -> Iterator[Draft]:
    turned = [page.page for page in case.pages if page.rotate]
    if turned:
        yield Draft(
            pages=turned,
            facts={"where": turned[0], "degrees": case.pages[turned[0] - 1].rotate, "pages": on_pages(turned)},
        )
