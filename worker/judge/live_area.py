"""Rules about where text may stand: the four margins, and whether they are mirrored."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from worker.judge.case import ROUNDING, Case, Draft, among, mark, worst_first
from worker.judge.cut import cut_of, is_turned
from worker.judge.models import Mark, Measured, Required
from worker.judge.registry import rule
from worker.measure.models import Box, Page
from worker.profiles import Profile
from worker.words import counted, told

MarginName = Literal["inside", "outside", "head", "foot"]

STRAY = 0.25
"""Where no more than this share of the pages is at fault, the block is well set and single lines stand out of it."""
STRIP = 6.0
"""Points: how much of the text at the edge a mark covers."""


def live_area(page: Page, profile: Profile, judged_as_pages: int) -> Box:
    """The trimmed page less the margins asked at this page count, in the page's own coordinates (points).

    A profile that binds on the right turns the pages of a file that says nothing; page 1 of a book bound on the left
    is a recto, so a page's number and side tell what the file says. A page is taken as it is meant to be cut; one that
    a quarter turn shows lying has its margins where they are on the upright sheet (Rotate is clockwise, ISO 32000-1
    Table 30).
    """
    asked = profile.interior.margins
    inside, outside = asked.inside_at(judged_as_pages) or 0.0, asked.outside or 0.0
    head, foot = asked.head or 0.0, asked.foot or 0.0
    file_is_bound_left = (page.side == "recto") == (page.page % 2 == 1)
    turned = profile.interior.binding_edge == "right" and file_is_bound_left
    left_is_inside = (page.side == "recto") != turned
    left, right = (inside, outside) if left_is_inside else (outside, inside)
    if is_turned(page, profile.interior):
        left, foot, right, head = (foot, right, head, left) if page.rotate == 90 else (head, left, foot, right)
    x0, y0, x1, y1 = cut_of(page, profile.interior, binding_at_left=left_is_inside)
    return x0 + left, y0 + foot, x1 - right, y1 - head


@rule("inside-margin")
def inside_margin(case: Case) -> Iterator[Draft]:
    """By the page count of the finished book. Ink too near is found whatever its cause; the remedy names the cause."""
    form = case.mirroring.form if case.mirroring else None
    told = {"same-side": "unmirrored", "wrong-way": "wrong-way"}.get(form or "", "")
    yield from _margin(case, "inside", case.inside, told)


@rule("outside-margin")
def outside_margin(case: Case) -> Iterator[Draft]:
    yield from _margin(case, "outside", case.interior.margins.outside)


@rule("head-margin")
def head_margin(case: Case) -> Iterator[Draft]:
    yield from _margin(case, "head", case.interior.margins.head)


@rule("foot-margin")
def foot_margin(case: Case) -> Iterator[Draft]:
    yield from _margin(case, "foot", case.interior.margins.foot)


def _margin(case: Case, name: MarginName, asked: float | None, unmirrored: str = "") -> Iterator[Draft]:
    if asked is None:
        return
    known = ((page.page, getattr(margins, name)) for page, margins in case.margins)
    tight = {page: value for page, value in known if value < asked - ROUNDING}
    if not tight:
        return
    worst, *_ = order = worst_first(tight)
    stray = len(tight) <= len(case.margins) * STRAY
    yield Draft(
        form=unmirrored or ("stray" if stray else ""),
        pages=list(tight),
        measured=Measured(value=tight[worst], unit="pt"),
        required=Required(value=asked, unit="pt", relation="at-least"),
        facts={
            "stands": _stands(case, tight[worst], asked),
            "asked": case.length(asked),
            "short": case.short_length(asked - tight[worst], 0.0),
            "book_pages": counted("phrases.margins.book", case.judged_as_pages),
            "where": worst,
            "pages": case.on_pages(tight),
            "among": among("phrases.margins.among", len(tight)),
            "cut": _cut(case, worst),
        },
        marks=(_edge_mark(case, page, name, tight[page]) for page in order),
    )


def _cut(case: Case, number: int) -> str:
    """Says it where the edge is not the one that the file gives the page."""
    page = case.pages[number - 1]
    if not case.is_guessed(page):
        return ""
    return told("phrases.margins.cut", area=case.area(*case.size(page)))


def _stands(case: Case, margin: float, asked: float) -> str:
    if margin < 0:
        return told("phrases.margins.past", length=case.length(-margin))
    return told("phrases.margins.within", length=case.short_length(margin, asked))


def _edge_mark(case: Case, number: int, name: MarginName, value: float) -> Mark:
    """The strip of text that stands nearest to the edge."""
    page = case.pages[number - 1]
    x0, y0, x1, y1 = page.text or page.trim
    at_left = (name == "inside") == case.is_recto(page)
    strips: dict[str, Box] = {"head": (x0, max(y0, y1 - STRIP), x1, y1), "foot": (x0, y0, x1, min(y1, y0 + STRIP))}
    beside = (x0, y0, min(x1, x0 + STRIP), y1) if at_left else (max(x0, x1 - STRIP), y0, x1, y1)
    return mark(number, strips.get(name, beside), case.length(value))


@rule("mirrored-margins")
def mirrored_margins(case: Case) -> Iterator[Draft]:
    found = case.mirroring
    if found is None or found.form is None:
        return
    recto, verso = found.recto, found.verso
    yield Draft(
        form=found.form,
        cause=found.form,
        pages=found.pages,
        measured=Measured(value=min(recto.inside, verso.inside), unit="pt"),
        required=None if case.inside is None else Required(value=case.inside, unit="pt", relation="at-least"),
        facts={
            "recto": case.length(recto.inside),
            "verso": case.length(verso.inside),
            "inside": case.length(min(recto.inside, verso.inside)),
            "outside": case.length(min(recto.outside, verso.outside)),
            "asked": case.length(case.inside or 0.0),
            **_to_set(case),
            "first": told(f"phrases.mirrored-margins.{'right' if case.is_recto(case.pages[0]) else 'left'}-hand"),
            "gutter": case.length((case.inside or 0.0) - (case.interior.margins.outside or 0.0)),
        },
        marks=(_inside_mark(case, page) for page in found.pages[:4]),
    )


def _to_set(case: Case) -> dict[str, str]:
    """The inside margin to type, as the end of a sentence and as one of its own."""
    if case.inside is None:
        return {"set_inside": told("phrases.mirrored-margins.set-as-wanted"), "set_inside_sentence": ""}
    asked = case.length(case.inside)
    return {
        "set_inside": told("phrases.mirrored-margins.set", asked=asked),
        "set_inside_sentence": told("phrases.mirrored-margins.set-sentence", asked=asked),
    }


def _inside_mark(case: Case, number: int) -> Mark:
    """The inside margin itself, along the text."""
    page = case.pages[number - 1]
    x0, y0, x1, y1 = page.text or page.trim
    left, _, right, _ = case.cut(page)
    if case.is_recto(page):
        return mark(number, (left, y0, x0, y1), told("marks.inside", length=case.length(x0 - left)))
    return mark(number, (x1, y0, right, y1), told("marks.inside", length=case.length(right - x1)))
