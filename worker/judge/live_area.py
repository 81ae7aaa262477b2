"""Rules about where text may stand: the four margins, and whether they are mirrored."""

from __future__ import annotations

from collections.abc import Iterator

from worker.judge.case import Case, Draft, mark, size
from worker.judge.models import Mark, Measured, Required
from worker.judge.registry import rule
from worker.measure.models import Box, Page
from worker.profiles import Profile

ROUNDING = 0.05
"""Points by which a margin may be short: producers round coordinates (common practice, no source)."""
MIRRORED_WITHIN = 1.0
"""Points within which the insides of rectos and versos are the same (common practice, no source)."""


def live_area(page: Page, profile: Profile, judged_as_pages: int) -> Box:
    """The trimmed page less the margins asked at this page count, in the page's own coordinates (points)."""
    asked = profile.interior.margins
    width, height = size(page)
    inside, outside = asked.inside_at(judged_as_pages) or 0.0, asked.outside or 0.0
    right_bound = profile.interior.binding_edge == "right" and (page.side == "recto") == (page.page % 2 == 1)
    left_is_inside = (page.side == "recto") != right_bound
    left, right = (inside, outside) if left_is_inside else (outside, inside)
    return left, asked.foot or 0.0, width - right, height - (asked.head or 0.0)


@rule("inside-margin")
def inside_margin(case: Case) -> Iterator[Draft]:
    yield from _margin(case, "inside", case.inside)


@rule("outside-margin")
def outside_margin(case: Case) -> Iterator[Draft]:
    yield from _margin(case, "outside", case.profile.interior.margins.outside)


@rule("head-margin")
def head_margin(case: Case) -> Iterator[Draft]:
    yield from _margin(case, "head", case.profile.interior.margins.head)


@rule("foot-margin")
def foot_margin(case: Case) -> Iterator[Draft]:
    yield from _margin(case, "foot", case.profile.interior.margins.foot)


def _margin(case: Case, name: str, asked: float | None) -> Iterator[Draft]:
    if asked is None:
        return
    tight = {page.page: value for page, value in _values(case, name) if value < asked - ROUNDING}
    if not tight:
        return
    worst = min(tight.values())
    turned = name == "inside" and _mirror_form(case) in ("same-side", "wrong-way")
    yield Draft(
        form="unmirrored" if turned else "",
        pages=sorted(tight),
        measured=Measured(value=worst, unit="pt"),
        required=Required(value=asked, unit="pt", relation="at-least"),
        facts={"is_": case.length(worst), "asked": case.length(asked), "count_pages": case.judged_as_pages,
               "where": min(tight, key=lambda page: tight[page]), "short": case.length(asked - worst)},
        marks=[_edge_mark(case, page, name, tight[page]) for page in sorted(tight, key=lambda page: tight[page])],
    )  # fmt: skip


def _values(case: Case, name: str) -> list[tuple[Page, float]]:
    return [(page, getattr(margins, name)) for page in case.pages if (margins := case.margins(page))]


def _edge_mark(case: Case, number: int, name: str, value: float) -> Mark:
    """The strip of text that stands nearest to the edge."""
    page = case.pages[number - 1]
    x0, y0, x1, y1 = page.text or page.trim
    at_left = (name == "inside") == case.is_recto(page)
    strips = {"head": (x0, y1 - 6, x1, y1), "foot": (x0, y0, x1, y0 + 6)}
    strip = strips.get(name) or ((x0, y0, x0 + 6, y1) if at_left else (x1 - 6, y0, x1, y1))
    return mark(number, strip, case.length(value))


@rule("mirrored-margins")
def mirrored_margins(case: Case) -> Iterator[Draft]:
    form = _mirror_form(case)
    if form is None:
        return
    recto, verso = _usual_margins(case, recto=True), _usual_margins(case, recto=False)
    pages = [page.page for page in case.pages if page.margins and (form != "same-side" or not case.is_recto(page))]
    yield Draft(
        form=form,
        cause=form,
        pages=pages,
        measured=Measured(value=min(recto[0], verso[0]), unit="pt"),
        required=Required(value=case.inside, unit="pt", relation="at-least") if case.inside else None,
        facts={"recto": case.length(recto[0]), "verso": case.length(verso[0]),
               "recto_outside": case.length(recto[1]), "asked": case.length(case.inside or max(recto + verso))},
    )  # fmt: skip


def _mirror_form(case: Case) -> str | None:
    """``same-side`` (not mirrored), ``wrong-way`` (the wide margin is outside), ``equal`` (no gutter where the
    profile wants one), or None where all is well or there is too little text to tell."""
    rectos, versos = _usual_margins(case, recto=True), _usual_margins(case, recto=False)
    if not _enough(case):
        return None
    (recto_in, recto_out), (verso_in, verso_out) = rectos, versos
    if abs(recto_in - verso_out) <= MIRRORED_WITHIN and abs(recto_in - recto_out) > MIRRORED_WITHIN:
        return "same-side" if abs(recto_in - verso_in) > MIRRORED_WITHIN else None
    if recto_in < recto_out - MIRRORED_WITHIN and verso_in < verso_out - MIRRORED_WITHIN:
        return "wrong-way" if _wants_gutter(case) else None
    equal = abs(recto_in - recto_out) <= MIRRORED_WITHIN and abs(verso_in - verso_out) <= MIRRORED_WITHIN
    return "equal" if equal and _wants_gutter(case) else None


def _wants_gutter(case: Case) -> bool:
    return (case.inside or 0.0) > (case.profile.interior.margins.outside or 0.0) + ROUNDING


def _enough(case: Case) -> bool:
    sides = [case.is_recto(page) for page in case.pages if page.margins]
    return sides.count(True) >= 2 and sides.count(False) >= 2


def _usual_margins(case: Case, *, recto: bool) -> tuple[float, float]:
    """The usual inside and outside of one side, each at the lower quartile.

    Ragged or short lines leave a page's margin wider than the block's, never narrower; and a few flawed pages do not
    reach the quartile.
    """
    known = [margins for page in case.pages if case.is_recto(page) == recto and (margins := case.margins(page))]
    if not known:
        return 0.0, 0.0
    quartile = len(known) // 4
    insides, outsides = sorted(each.inside for each in known), sorted(each.outside for each in known)
    return insides[quartile], outsides[quartile]
