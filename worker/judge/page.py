"""Rules about the sizes, the number and the turning of pages."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

from worker.judge.case import Apart, Case, Draft, on_pages
from worker.judge.cut import MOST_BLEED, Size, plain_border
from worker.judge.models import Measured, Required, Weight
from worker.judge.registry import rule
from worker.measure.models import Page
from worker.profiles.models import Trim
from worker.words import counted, told


@rule("trim-size")
def trim_size(case: Case) -> Iterator[Draft]:
    """About the usual size; the pages that differ from it are another rule's.

    A page is of the size that it is meant to be cut to: what stands in the way of that is told by `page-boxes` or
    `page-rotation`, once.
    """
    if case.trim is not None:
        return
    width, height = case.usual_size
    form, asked = _wrong_size(case)
    is_, wanted = _further_off((width, height), (asked.width, asked.height))
    yield Draft(
        form=form,
        pages=[page.page for page in case.pages if case.is_usual(page)],
        measured=Measured(value=is_, unit="pt"),
        required=Required(value=wanted, unit="pt", relation="equal"),
        facts={
            "is_": case.area(width, height),
            "asked": case.area(asked.width, asked.height),
            "beyond": case.length((height - asked.height) / 2),
        },
    )


def intended_trim(case: Case) -> Trim:
    """The printer's size that the book is, or is meant for where its own is not on offer."""
    return case.trim or _wrong_size(case)[1]


def is_meant_otherwise(case: Case) -> bool:
    """Whether pages lie on their side, hold two of the book's, or carry a border: their size is not that of a page."""
    bordered = any(case.is_guessed(page) for page in case.pages if case.is_usual(page))
    return bordered or (case.trim is None and bool(_wrong_size(case)[0]))


def _wrong_size(case: Case) -> tuple[str, Trim]:
    """What is wrong with the usual size, and the size on offer that the book is meant for."""
    width, height = case.usual_size
    if lying := case.interior.trim_near(height, width):
        return ("lying" if width > height else "standing"), lying
    if case.spread:
        return "spread", case.spread
    for trim in case.interior.trims:
        border = plain_border(trim, width, height)
        if border and border.amount <= MOST_BLEED:
            return "with-bleed", trim
    return "", case.interior.closest_trim(width, height)


@rule("mixed-page-sizes")
def mixed_page_sizes(case: Case) -> Iterator[Draft]:
    """In a file of spreads the single pages, as the first often is, are no fault of their own."""
    odd = [page for page in case.pages if not case.is_usual(page) and not _is_half(case, page)]
    if not odd:
        return
    worst = max(odd, key=lambda page: _off(case.size(page), case.usual_size))
    is_, usual = _further_off(case.size(worst), case.usual_size)
    pages = [page.page for page in odd]
    yield Draft(
        form=_oddness(case, odd),
        pages=pages,
        measured=Measured(value=is_, unit="pt"),
        required=Required(value=usual, unit="pt", relation="equal"),
        facts={
            "usual": case.area(*case.usual_size),
            "is_": case.area(*case.size(worst)),
            "where": worst.page,
            "pages": on_pages(pages),
        },
    )


def _is_half(case: Case, page: Page) -> bool:
    return case.spread is not None and case.interior.trim_near(*case.size(page)) is case.spread


def _oddness(case: Case, odd: list[Page]) -> str:
    """Which of the texts; the general one where the pages differ from the usual in more than one way."""
    kinds: set[Apart | None] = {case.apart.get(page.page) for page in odd}
    kind = kinds.pop() if len(kinds) == 1 else None
    return kind if kind in ("lying", "spread", "cover") else ""


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
    elif asked.most is not None and pages > asked.most:
        yield _count_draft(case, "many", asked.most, "at-most")


def _count_draft(case: Case, form: str, limit: int, relation: Literal["at-least", "at-most"]) -> Draft:
    return Draft(
        form=form,
        cause=form,
        measured=Measured(value=case.judged_as_pages, unit="pages"),
        required=Required(value=limit, unit="pages", relation=relation),
        facts={
            "has": counted("phrases.page-count.has", case.judged_as_pages),
            "limit": limit,
            "reach": _count_to_reach(case),
            "larger": _larger_trim(case),
        },
    )


def _count_to_reach(case: Case) -> int:
    """The nearest count within the limits that fills the sheets: at least 40 pages in sixteens are 48.

    Where a profile leaves none, the nearest within the limits.
    """
    asked, pages = case.page_count, case.judged_as_pages
    multiple = asked.multiple or 1
    least = math.ceil(max(asked.least or 1, pages) / multiple) * multiple
    if asked.most is None or least <= asked.most:
        return least
    return asked.most // multiple * multiple or asked.most


def _larger_trim(case: Case) -> str:
    """The next larger trim, on which the text comes to fewer pages, as a half sentence; empty where there is none."""
    width, height = case.usual_size
    larger = [trim for trim in case.interior.trims if trim.width * trim.height > width * height * 1.05]
    if not larger:
        return ""
    next_ = min(larger, key=lambda trim: trim.width * trim.height)
    most = case.interior.page_count_of(next_).most
    taken = told("phrases.page-count.taken", most=most) if most else ""
    return told("phrases.page-count.larger", area=case.area(next_.width, next_.height), taken=taken)


@rule("page-multiple")
def page_multiple(case: Case) -> Iterator[Draft]:
    """A count that does not fill the sheets. Where the book is too short or too long as well, both rules name the same
    count to reach, so that one remedy mends both."""
    asked, pages = case.page_count, case.judged_as_pages
    multiple = asked.multiple or 1
    added = -pages % multiple
    if not added:
        return
    full, lower = pages + added, pages + added - multiple
    yield Draft(
        form="" if _count_to_reach(case) == full else "elsewhere",
        measured=Measured(value=pages, unit="pages"),
        required=Required(value=multiple, unit="pages", relation="multiple-of"),
        facts={
            "has": counted("phrases.page-count.has", pages),
            "multiple": multiple,
            "full": full,
            "reach": _count_to_reach(case),
            "back": told("phrases.page-multiple.back", lower=lower) if lower >= max(asked.least or 0, 1) else "",
            "added": counted("phrases.blank-pages", added),
        },
    )


@rule("page-rotation")
def page_rotation(case: Case) -> Iterator[Draft]:
    """Of two causes: pages shown upright by a turn, and upright pages shown lying, as a wide table on a screen.

    A printer's program that follows the turn sees the second at a size that is not on offer, so that the file is
    refused; one that does not prints it well. The turn is what has to go, and the size then is right: no other rule
    accuses it.
    """
    turned = [page for page in case.pages if page.rotate]
    lying = [page for page in turned if case.apart.get(page.page) == "turned"]
    upright = [page for page in turned if page not in lying]
    for form, pages, weight in (("", upright, None), ("lying", lying, Weight.REFUSAL)):
        if pages:
            numbers = [page.page for page in pages]
            yield Draft(
                form=form,
                cause=form,
                weight=weight,
                pages=numbers,
                facts={
                    "where": numbers[0],
                    "degrees": pages[0].rotate,
                    "pages": case.on_pages(numbers),
                    "usual": case.area(*case.size(pages[0])),
                    "is_": case.area(*reversed(case.size(pages[0]))),
                },
            )
