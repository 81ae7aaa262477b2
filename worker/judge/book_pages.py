"""Rules about single pages: where the text block starts and ends, and stranded lines.

Facing pages start alike and end alike (CMOS 16 2.112; Bringhurst 2.4.9, from memory); a line or two more or less, to
save a widow or an orphan, is good craft. The last line of a paragraph does not stand alone at the head of a page (CMOS,
read second-hand; Bringhurst 2.4.8, from memory); the first alone at the foot is let pass since CMOS 16 (read
second-hand).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from statistics import median
from typing import Literal

from worker.book.models import BookPage, Grid
from worker.judge.book_facts import Built, built, whole
from worker.judge.case import Case, Draft, among, mark, on_pages
from worker.judge.models import Mark, Measured, Required
from worker.judge.registry import rule
from worker.words import told

NEARLY_ALL = 0.8
"""Of the pages of a kind: what so many do is the book's habit. House value."""
SELDOM = 0.05
"""Of the pages: where more are off, and more than ``FEW``, the book is made so (code, tables). House value."""
FEW = 2
LEAST_PAGES = 6
"""Pages that make a habit."""
ALIGNED = 2.0
"""Points between first lines that align. Half a point is asked (common practice, no source); a program that hangs the
first line by its tallest letter takes one and a half."""
PICTURE_LINES = 3.0
"""Leadings by which a first line is lower where something drawn stands above it."""
SHORT_LINES = 2.5
"""Leadings by which a page may be shorter or longer than others. A paragraph of three lines with room for two moves as
a whole, or it would leave an orphan or a widow: two lines stay empty (arithmetic)."""

Figures = Mapping[int, float]


@rule("uneven-text-block")
def uneven_text_block(case: Case) -> Iterator[Draft]:
    """Pages inside a chapter that start or end off the place of the others; those with pictures, headings and notes at
    the head or the foot, and the last of each chapter, are set as they must."""
    book = built(case)
    if not book or not book.book.grid:
        return
    grid = book.book.grid
    inner = list(_inner(book, case))
    starts = {page.page: _from_head(page, case) - grid.head for page, _ in inner if page.starts_with_text}
    yield from _facing(starts, book, case)
    low = [page for page in _off(starts, ALIGNED) if abs(starts[page]) < PICTURE_LINES * grid.leading]
    yield from _drafted("starts", low, starts, book, case)
    if any(each.what == "paragraphs" for each in book.book.not_read):
        return  # stanzas are kept together, and pages of them end where they may
    ends = {
        page.page: _from_foot(page, case) - grid.foot
        for page, last in inner
        if page.ends_with_text and not last and abs(_from_head(page, case) - grid.head) < SHORT_LINES * grid.leading
    }
    short = [page for page in _off(ends, SHORT_LINES * grid.leading) if page not in low]
    yield from _drafted("ends", [page for page in short if _goes_on(book, page, grid, case)], ends, book, case)


@rule("widow")
def widow(case: Case) -> Iterator[Draft]:
    yield from _stranded(case, "widow")


@rule("orphan")
def orphan(case: Case) -> Iterator[Draft]:
    yield from _stranded(case, "orphan")


def _stranded(case: Case, kind: Literal["widow", "orphan"]) -> Iterator[Draft]:
    lines = [each for each in case.book.stranded if each.kind == kind] if case.book else []
    if lines:
        pages = [each.page for each in lines]
        yield Draft(
            pages=pages,
            measured=Measured(value=len(lines), unit="count"),
            required=Required(value=0, unit="count", relation="at-most"),
            facts={"pages": on_pages(pages), "text": lines[0].text, "page": lines[0].page},
            marks=[mark(each.page, each.box, told(f"marks.{kind}")) for each in lines],
        )


def _inner(book: Built, case: Case) -> Iterator[tuple[BookPage, bool]]:
    """The pages of text inside chapters that show no picture, each with whether nothing of its chapter follows."""
    for run in book.chapter_runs():
        texts = [page for page in run if page.kind == "text"]
        yield from ((page, page is texts[-1]) for page in texts if page.page not in case.pictures)


def _facing(starts: Figures, book: Built, case: Case) -> Iterator[Draft]:
    """Versos that all start lower than rectos, or the reverse."""
    sides = [{page: start for page, start in starts.items() if page % 2 == side} for side in (0, 1)]
    if min(map(len, sides)) < LEAST_PAGES // 2 or not all(map(_agree, sides)):
        return
    usual = [median(side.values()) for side in sides]
    if abs(usual[0] - usual[1]) > ALIGNED:
        lower = usual.index(max(usual))
        by = abs(usual[0] - usual[1])
        named = case.sides["even_side"], case.sides["odd_side"]
        yield Draft(
            pages=list(sides[lower]),
            form="facing",
            cause="facing",
            measured=Measured(value=by, unit="pt"),
            required=Required(value=0, unit="pt", relation="equal"),
            facts={"off": case.length(by), "side": named[lower], "other": named[1 - lower]},
            marks=[_mark(book.pages[page - 1], "facing", case) for page in sides[lower]],
        )


def _agree(side: Figures) -> bool:
    usual = median(side.values())
    return sum(abs(start - usual) <= ALIGNED for start in side.values()) >= NEARLY_ALL * len(side)


def _drafted(form: str, pages: Sequence[int], figures: Figures, book: Built, case: Case) -> Iterator[Draft]:
    if pages:
        worst = max(pages, key=lambda page: abs(figures[page]))
        lower = (figures[worst] > 0) == (form == "starts")
        yield Draft(
            pages=pages,
            form=form,
            cause=form,
            measured=Measured(value=abs(figures[worst]), unit="pt"),
            required=Required(value=0, unit="pt", relation="equal"),
            facts={
                "page": worst,
                "off": case.length(abs(figures[worst])),
                "where": told(f"phrases.uneven-text-block.{'lower' if lower else 'higher'}"),
                "among": among("phrases.uneven-text-block.among", len(pages)),
                "pages": on_pages(pages),
            },
            marks=[_mark(book.pages[page - 1], form, case) for page in pages],
        )


def _off(figures: Figures, most: float) -> list[int]:
    """The pages that are off by more than this, where few are."""
    off = [page for page, figure in figures.items() if abs(figure) > most]
    few = len(off) <= max(FEW, SELDOM * len(figures)) and len(off) <= (1 - NEARLY_ALL) * len(figures)
    return off if len(figures) >= LEAST_PAGES and few else []


def _goes_on(book: Built, number: int, grid: Grid, case: Case) -> bool:
    """Whether the text goes on at the head of the next page: a heading or a picture there may not have fitted here."""
    page = book.page(number + 1)
    if page is None or page.kind != "text" or not page.starts_with_text or page.page in case.pictures:
        return False
    return abs(_from_head(page, case) - grid.head) <= ALIGNED


def _from_head(page: BookPage, case: Case) -> float:
    return case.pages[page.page - 1].trim[3] - (page.first_baseline or 0.0)


def _from_foot(page: BookPage, case: Case) -> float:
    return (page.last_baseline or 0.0) - case.pages[page.page - 1].trim[1]


def _mark(page: BookPage, form: str, case: Case) -> Mark:
    """The head or the foot of the text of a page."""
    x0, y0, x1, y1 = whole(page, case)
    box = (x0, y0, x1, y0 + 12) if form == "ends" else (x0, y1 - 12, x1, y1)
    return mark(page.page, box, told("marks.ends-off" if form == "ends" else "marks.starts-off"))
