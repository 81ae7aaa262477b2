"""The rule about page boxes: where a file leaves it open, or says wrongly, where its pages are cut."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from worker.judge.bleed import area_beyond, bled_edges
from worker.judge.case import ROUNDING, Case, Draft, on_pages
from worker.judge.registry import rule
from worker.measure.models import Page
from worker.profiles.models import Trim

LEAST_BLEED, MOST_BLEED = 5.0, 17.5
"""Points beyond the trim that are plainly a bleed: 2 to 6 mm, as 3 mm and 0.125 in (common practice, no source)."""
MOST_MARKS_AREA = 54.0
"""Points beyond the trim that may hold a printer's marks: 0.75 in (common practice, no source)."""
ALIKE = 0.75
"""Points by which the borders of the four sides may differ."""


class Border(NamedTuple):
    """A trim of the printer's, and how far the media goes beyond it."""

    trim: Trim
    amount: float


@rule("page-boxes")
def page_boxes(case: Case) -> Iterator[Draft]:
    borders = {page.page: border for page in case.pages if (border := _border(case, page))}
    if borders:
        yield _no_trim(case, borders)
    cut_short = [page.page for page in case.read_pages if _bleed_box_short(case, page)]
    if cut_short:
        yield Draft(
            form="bleed-box",
            cause="bleed-box",
            pages=cut_short,
            facts={"pages": on_pages(cut_short), "asked": case.length(_wanted_bleed(case))},
        )


def _no_trim(case: Case, borders: dict[int, Border]) -> Draft:
    where, border = next(iter(borders.items()))
    media = case.pages[where - 1].media
    return Draft(
        form="no-trim",
        cause="no-trim",
        pages=list(borders),
        facts={
            "is_": case.area(media[2] - media[0], media[3] - media[1]),
            "asked": case.area(border.trim.width, border.trim.height),
            "beyond": case.length(border.amount),
            "where": where,
        },
    )


def _border(case: Case, page: Page) -> Border | None:
    """A page that declares no trim, on media larger than one of the printer's trims by a plain bleed or marks area."""
    width, height = page.media[2] - page.media[0], page.media[3] - page.media[1]
    if "trim" in page.declared or "art" in page.declared or case.interior.trim_near(width, height):
        return None
    borders = (_border_of(trim, width, height) for trim in case.interior.trims)
    known = [border for border in borders if border and (border.amount <= MOST_BLEED or _has_marks(page, border))]
    return min(known, key=lambda border: border.amount, default=None)


def _border_of(trim: Trim, width: float, height: float) -> Border | None:
    """On all four sides, or on all but the spine's."""
    across, along = width - trim.width, height - trim.height
    if not 2 * LEAST_BLEED <= along <= 2 * MOST_MARKS_AREA:
        return None
    four_sides, three_sides = abs(across - along) <= ALIKE, abs(2 * across - along) <= ALIKE
    return Border(trim, along / 2) if four_sides or (three_sides and along / 2 <= MOST_BLEED) else None


def _has_marks(page: Page, border: Border) -> bool:
    """Whether ink stands in the border, as a printer's marks do; without any, the paper is merely larger."""
    if page.ink is None:
        return False
    x0, y0, x1, y1 = page.media
    inner = (x0 + border.amount, y0 + border.amount, x1 - border.amount, y1 - border.amount)
    return page.ink[0] < inner[0] and page.ink[1] < inner[1] and page.ink[2] > inner[2] and page.ink[3] > inner[3]


def _wanted_bleed(case: Case) -> float:
    bleed = case.interior.bleed
    return 0.0 if bleed is None or bleed.use == "never" or bleed.amount is None else bleed.amount


def _bleed_box_short(case: Case, page: Page) -> bool:
    """Whether a declared BleedBox cuts off bleed that the media has and the printer asks for."""
    wanted = _wanted_bleed(case) - ROUNDING
    return "bleed" in page.declared and any(
        area_beyond(page, edge, page.bleed) < wanted <= area_beyond(page, edge, page.media)
        for edge in bled_edges(case, page)
    )
