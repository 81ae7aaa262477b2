"""Rules about single pages: running heads, where the text block starts and ends, stranded lines.

No running head over openings, on blanks and on display pages (CMOS 16 1.15, from memory). Facing pages end alike, and
start alike (CMOS 16 2.112; Bringhurst 2.4.9, from memory); a line more or less on both, to save a widow, is good craft.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Literal

from worker.book.models import BookPage
from worker.book.wording import plain_letters
from worker.judge.book_facts import Built, built, whole
from worker.judge.case import Case, Draft, mark, on_pages
from worker.judge.models import Mark, Measured, Required
from worker.judge.registry import rule

NEARLY_ALL = 0.8
"""Of the pages of a kind: what so many do is the book's habit, and the others break it. House value."""
LEAST_PAGES = 6
"""Pages that make a habit."""
ALIGNED = 2.0
"""Points between first lines that align. Half a point is asked (common practice, no source); a program that hangs the
first line by its tallest letter takes one and a half."""
PICTURE_LINES = 3.0
"""Leadings by which a first line is lower where something drawn stands above it."""
SHORT_LINES = 1.5
"""Leadings by which a page may be shorter or longer than others, to save a widow or an orphan."""


@rule("running-head")
def running_head(case: Case) -> Iterator[Draft]:
    """One finding for each way of being wrong. A page without head and folio is one of display, and means it."""
    book = built(case)
    if not book:
        return
    inner = [page for page in book.pages if page.part != "front" and page.kind == "text"]
    with_head = [page for page in inner if page.head and page.head.edge == "head"]
    yield from _told("blank", [page for page in book.pages if page.kind == "blank" and page.head and not page.folio])
    if len(with_head) < max(LEAST_PAGES, NEARLY_ALL * len(inner)):
        return
    opened = [
        page for page in book.pages if page.kind in ("opening", "part") and page.head and page.head.edge == "head"
    ]
    yield from _told("opening", opened)
    yield from _told("missing", [page for page in inner if page.head is None and page.folio], case)
    yield from _told("side", list(_on_wrong_side(with_head)))
    yield from _told("other", list(_of_another_chapter(book)))


@rule("uneven-text-block")
def uneven_text_block(case: Case) -> Iterator[Draft]:
    """Pages inside a chapter that start or end off the place of the others; those with pictures, headings and notes at
    the head or the foot, and the last of each chapter, are set as they must."""
    book = built(case)
    if not book or not book.book.grid:
        return
    grid = book.book.grid
    pictures = {image.page for image in case.measurements.images}
    inner = [
        (page, last)
        for run in book.chapter_runs()
        for page, last in _with_last(run)
        if page.kind == "text" and page.page not in pictures
    ]
    starts = {page.page: _from_head(page, case) - grid.head for page, _ in inner if page.starts_with_text}
    ends = {page.page: _from_foot(page, case) - grid.foot for page, last in inner if page.ends_with_text and not last}
    low = [page for page in _off(starts, ALIGNED) if abs(starts[page]) < PICTURE_LINES * grid.leading]
    short = [page for page in _off(ends, SHORT_LINES * grid.leading) if page not in low and _goes_on(book, page)]
    for form, pages, figures in (("starts", low, starts), ("ends", short, ends)):
        if pages:
            worst = max(pages, key=lambda page: abs(figures[page]))
            yield Draft(
                pages=pages,
                form=form,
                cause=form,
                measured=Measured(value=abs(figures[worst]), unit="pt"),
                required=Required(value=0, unit="pt", relation="equal"),
                facts={
                    "page": worst,
                    "off": case.length(abs(figures[worst])),
                    "where": _way(form, figures[worst]),
                    "among": "" if len(pages) == 1 else f" {len(pages)} pages are off.",
                    "pages": on_pages(pages),
                },
                marks=[_line_mark(book.pages[page - 1], form, case) for page in pages],
            )


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
            marks=[mark(each.page, each.box, kind) for each in lines],
        )


def _told(form: str, pages: Sequence[BookPage], case: Case | None = None) -> Iterator[Draft]:
    if pages:
        numbers = [page.page for page in pages]
        text = pages[0].head.text if pages[0].head else ""
        yield Draft(
            pages=numbers,
            form=form,
            cause=form,
            facts={"pages": on_pages(numbers), "page": numbers[0], "text": text},
            marks=[_head_mark(page, form, case) for page in pages],
        )


_SAYS = {
    "blank": "running head on a blank page",
    "opening": "running head over an opening",
    "missing": "no running head here",
    "side": "running head of the other side",
    "other": "another chapter’s title",
}


def _head_mark(page: BookPage, form: str, case: Case | None) -> Mark:
    box = page.head.box if page.head else (whole(page, case) if case else (0.0, 0.0, 0.0, 0.0))
    return mark(page.page, box, _SAYS[form])


def _on_wrong_side(pages: Sequence[BookPage]) -> Iterator[BookPage]:
    """Pages whose running head stands, or says, what those of the other side do."""
    headed = [(page, page.head.position, plain_letters(page.head.text)) for page in pages if page.head]
    sides = [[each for each in headed if each[0].page % 2 == side] for side in (0, 1)]
    if min(map(len, sides)) < LEAST_PAGES // 2:
        return
    for own, other in (sides, sides[::-1]):
        place, text = _habit([each[1] for each in own]), _habit([each[2] for each in own])
        others_text = _habit([each[2] for each in other])
        for page, stands, says in own:
            across = place is not None and stands != place and "centre" not in (place, stands)
            if across or (says == others_text and says != text):
                yield page


def _of_another_chapter(book: Built) -> Iterator[BookPage]:
    """Pages whose running head is the title of a chapter, and not of their own."""
    titles = {plain_letters(opening.title) for opening in book.chapters if opening.title}
    current: set[str] = set()
    for page in book.pages:
        opening = next((each for each in book.openings if each.page == page.page), None)
        if opening:
            current = {plain_letters(opening.title)} if opening.kind == "chapter" else set()
        said = plain_letters(page.head.text) if page.head else ""
        if page.kind == "text" and current and said in titles and said not in current:
            yield page


def _habit(values: Sequence[str]) -> str | None:
    """What nearly all of them are; None where there is no such thing."""
    value, count = Counter(values).most_common(1)[0]
    return value if count >= NEARLY_ALL * len(values) else None


def _with_last(run: Sequence[BookPage]) -> Iterator[tuple[BookPage, bool]]:
    """The pages of a chapter, each with whether nothing of it follows."""
    texts = [page.page for page in run if page.kind == "text"]
    for page in run:
        yield page, not texts or page.page >= texts[-1]


def _off(figures: dict[int, float], most: float) -> list[int]:
    """The pages that are off by more than this, where nearly all are not."""
    off = [page for page, figure in figures.items() if abs(figure) > most]
    return off if len(figures) >= LEAST_PAGES and len(off) <= (1 - NEARLY_ALL) * len(figures) else []


def _goes_on(book: Built, number: int) -> bool:
    """Whether the text goes on at the head of the next page: a heading or a picture there may not have fitted here."""
    following = book.page(number + 1)
    return following is not None and following.kind == "text" and following.starts_with_text


def _from_head(page: BookPage, case: Case) -> float:
    return case.pages[page.page - 1].trim[3] - (page.first_baseline or 0.0)


def _from_foot(page: BookPage, case: Case) -> float:
    return (page.last_baseline or 0.0) - case.pages[page.page - 1].trim[1]


def _way(form: str, figure: float) -> str:
    if form == "starts":
        return "lower" if figure > 0 else "higher"
    return "higher" if figure > 0 else "lower"


def _line_mark(page: BookPage, form: str, case: Case) -> Mark:
    """The head or the foot of the text of a page."""
    x0, y0, x1, y1 = whole(page, case)
    box = (x0, y1 - 12, x1, y1) if form == "starts" else (x0, y0, x1, y0 + 12)
    return mark(page.page, box, "starts off the usual place" if form == "starts" else "ends off the usual place")
