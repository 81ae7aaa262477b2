"""Rules about ink at the trimmed edge.

Ink that reaches the edge needs bleed on that side, the binding edge apart. Text that reaches it does not: it is a
margin's fault, and is found there.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from worker.judge.case import ROUNDING, Case, Draft, mark, worst_first
from worker.judge.models import Mark, Measured, Required
from worker.judge.registry import rule
from worker.measure.models import Box, Page
from worker.words import told

Edge = Literal["left", "right", "head", "foot"]

EDGES: tuple[Edge, ...] = ("left", "right", "head", "foot")
AT_EDGE = 0.5
"""Points within which ink reaches the edge, and an area beyond the edge is none."""
STRIP = 6.0
"""Points: how much of the page along the edge a mark covers."""


def bled_edges(case: Case, page: Page) -> list[Edge]:
    """The edges, the binding edge apart, that ink other than text reaches."""
    return [
        edge
        for edge in _outer_edges(case, page)
        if getattr(page.reach, edge) is not None and (not _text_at(case, page, edge) or _picture_at(case, page, edge))
    ]


def area_beyond(cut: Box, edge: Edge, box: Box) -> float:
    """How far ``box`` goes beyond the edge of ``cut``, in points."""
    x0, y0, x1, y1 = box
    left, foot, right, head = cut
    return {"left": left - x0, "foot": foot - y0, "right": x1 - right, "head": y1 - head}[edge]


@rule("bleed-missing")
def bleed_missing(case: Case) -> Iterator[Draft]:
    bleed = case.interior.bleed
    if bleed is None:
        return
    if bleed.use == "never":
        yield from _missing(case, {page.page: bled_edges(case, page) for page in case.standing_pages}, "never")
        return
    edges_of = _outer_edges if bleed.use == "always" else bled_edges
    bare = {
        page.page: [edge for edge in edges_of(case, page) if area_beyond(case.cut(page), edge, page.media) < AT_EDGE]
        for page in case.standing_pages
    }
    yield from _missing(case, bare, "always" if bleed.use == "always" else "")


def _missing(case: Case, edges: dict[int, list[Edge]], form: str) -> Iterator[Draft]:
    pages = [page for page, found in edges.items() if found]
    if not pages:
        return
    wanted = case.interior.bleed.amount if case.interior.bleed else None
    asks_amount = wanted is not None and form != "never"
    yield Draft(
        form=form,
        pages=pages,
        measured=Measured(value=0, unit="pt") if asks_amount else None,
        required=Required(value=wanted, unit="pt", relation="at-least") if wanted is not None and asks_amount else None,
        facts={
            "pages": case.on_pages(pages),
            "asked": case.length(wanted) if wanted is not None else told("phrases.bleed.unnamed"),
        },
        marks=(_edge_mark(case, page, edge, told("marks.ink-at-edge")) for page in pages for edge in edges[page]),
    )


@rule("bleed-short")
def bleed_short(case: Case) -> Iterator[Draft]:
    """There is an area beyond the edge, but the ink, or the area where every page must have it, ends too soon."""
    bleed = case.interior.bleed
    if bleed is None or bleed.use == "never" or bleed.amount is None:
        return
    reached = {page.page: _short_edges(case, page, bleed.amount) for page in case.standing_pages}
    short = {page: min(edges.values()) for page, edges in reached.items() if edges}
    if not short:
        return
    worst, *_ = order = worst_first(short)
    yield Draft(
        pages=list(short),
        measured=Measured(value=short[worst], unit="pt"),
        required=Required(value=bleed.amount, unit="pt", relation="at-least"),
        facts={
            "is_": case.short_length(max(0.0, short[worst]), bleed.amount),
            "asked": case.length(bleed.amount),
            "where": worst,
        },
        marks=(
            _edge_mark(case, page, edge, case.length(max(0.0, beyond)))
            for page in order
            for edge, beyond in reached[page].items()
        ),
    )


def _short_edges(case: Case, page: Page, wanted: float) -> dict[Edge, float]:
    """How far the bleed goes on the edges where there is some and too little."""
    always = case.interior.bleed is not None and case.interior.bleed.use == "always"
    bled = bled_edges(case, page)
    found: dict[Edge, float] = {}
    for edge in _outer_edges(case, page):
        area = area_beyond(case.cut(page), edge, page.media)
        if area < AT_EDGE or not (always or edge in bled):
            continue
        beyond = min(area, _ink_beyond(case, page, edge)) if edge in bled else area
        if beyond < wanted - ROUNDING:
            found[edge] = beyond
    return found


def _ink_beyond(case: Case, page: Page, edge: Edge) -> float:
    """How far the ink that reaches the edge of the page as the file leaves it goes beyond where it is cut."""
    return float(getattr(page.reach, edge) + area_beyond(case.cut(page), edge, page.trim))


def _outer_edges(case: Case, page: Page) -> list[Edge]:
    binding = "left" if case.is_recto(page) else "right"
    return [edge for edge in EDGES if edge != binding]


def _text_at(case: Case, page: Page, edge: Edge) -> bool:
    return page.text is not None and _reaches(case, page, edge, page.text)


def _picture_at(case: Case, page: Page, edge: Edge) -> bool:
    return any(_reaches(case, page, edge, image.box) for image in case.pictures.get(page.page, ()))


def _reaches(case: Case, page: Page, edge: Edge, box: Box) -> bool:
    return area_beyond(case.cut(page), edge, box) >= -AT_EDGE


def _edge_mark(case: Case, number: int, edge: Edge, text: str) -> Mark:
    """The strip of the page along the edge."""
    x0, y0, x1, y1 = case.cut(case.pages[number - 1])
    strips: dict[Edge, Box] = {
        "left": (x0, y0, x0 + STRIP, y1),
        "right": (x1 - STRIP, y0, x1, y1),
        "head": (x0, y1 - STRIP, x1, y1),
        "foot": (x0, y0, x1, y0 + STRIP),
    }
    return mark(number, strips[edge], text)
