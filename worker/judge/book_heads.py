"""The rule about running heads.

None over openings, on blanks and on display pages (CMOS 16 1.15, from memory). What versos and rectos say is a pair:
the book's title and the chapter's, or the chapter's and the section's (CMOS 16 1.10, from memory).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from worker.book.models import BookPage, RunningHead
from worker.book.wording import plain_letters
from worker.judge.book_facts import Built, built, whole
from worker.judge.case import Case, Draft, mark, on_pages
from worker.judge.models import Mark
from worker.judge.registry import rule
from worker.words import told

NEARLY_ALL = 0.8
"""Of the pages of a kind: what so many do is the book's habit, and the others break it. House value."""
LEAST_PAGES = 6
"""Pages that make a habit."""

Headed = tuple[BookPage, RunningHead]


@rule("running-head")
def running_head(case: Case) -> Iterator[Draft]:
    """One finding for each way of being wrong. A page that does not begin as the others do is one of display."""
    book = built(case)
    if not book:
        return
    inner = [page for page in book.pages if page.part != "front" and page.kind == "text"]
    headed = [(page, page.head) for page in inner if page.head and page.head.edge == "head"]
    bare = [page for page in book.pages if page.kind == "blank" and page.head and not page.folio]
    yield from _drafted("blank", bare, case)
    if len(headed) < max(LEAST_PAGES, NEARLY_ALL * len(inner)):
        return
    opened = [page for page in book.pages if page.kind in ("opening", "part")]
    yield from _drafted("opening", [page for page in opened if page.head and page.head.edge == "head"], case)
    yield from _drafted("missing", [page for page in inner if page.head is None and _begins_as_usual(page, case)], case)
    yield from _drafted("side", _on_wrong_side(headed), case)
    yield from _drafted("other", list(_of_another_chapter(book)), case)


def _drafted(form: str, pages: Sequence[BookPage], case: Case) -> Iterator[Draft]:
    if pages:
        numbers = [page.page for page in pages]
        yield Draft(
            pages=numbers,
            form=form,
            cause=form,
            facts={"pages": on_pages(numbers), "text": pages[0].head.text if pages[0].head else ""},
            marks=[_mark(page, form, case) for page in pages],
        )


def _mark(page: BookPage, form: str, case: Case) -> Mark:
    return mark(page.page, page.head.box if page.head else whole(page, case), told(f"marks.running-head.{form}"))


def _begins_as_usual(page: BookPage, case: Case) -> bool:
    """Whether the text starts at the head of the page. A picture, a table or a title alone there may do without."""
    grid = case.book.grid if case.book else None
    if grid is None or page.first_baseline is None or not page.starts_with_text:
        return False
    return abs(case.pages[page.page - 1].trim[3] - page.first_baseline - grid.head) < grid.leading / 2


def _on_wrong_side(headed: Sequence[Headed]) -> list[BookPage]:
    """Pages whose running head stands, or says, what those of the other side do."""
    sides = [[each for each in headed if each[0].page % 2 == side] for side in (0, 1)]
    if min(map(len, sides)) < LEAST_PAGES // 2:
        return []
    across = {page.page: page for own in sides for page in _across(own)}
    moved = [page for number, page in across.items() if not {number - 1, number + 1} & across.keys()]
    said = [page for own, other in (sides, sides[::-1]) for page in _says_as(own, other)]
    return list({page.page: page for page in sorted([*moved, *said], key=lambda page: page.page)}.values())


def _across(own: Sequence[Headed]) -> Iterator[BookPage]:
    """Pages whose running head is outside where nearly all of their side have it inside, or the reverse. Where both
    pages of a spread are so, that part of the book is set otherwise, and nothing is exchanged."""
    place = _habit([head.position for _, head in own])
    if place in (None, "centre"):
        return
    for page, head in own:
        if head.position not in (place, "centre"):
            yield page


def _says_as(own: Sequence[Headed], other: Sequence[Headed]) -> Iterator[BookPage]:
    """Pages that say what nearly all of the other side say, and their own side does not."""
    text, others_text = (_habit([plain_letters(head.text) for _, head in side]) for side in (own, other))
    if others_text is not None and text != others_text:
        yield from (page for page, head in own if plain_letters(head.text) == others_text)


def _of_another_chapter(book: Built) -> Iterator[BookPage]:
    """Pages whose running head is the title of a chapter, and not of their own."""
    titles = {plain_letters(opening.title) for opening in book.chapters if opening.title}
    opened = {opening.page: opening for opening in book.book.openings}
    current = ""
    for page in book.pages:
        opening = opened.get(page.page)
        if opening:
            current = plain_letters(opening.title) if opening.kind == "chapter" else ""
        said = plain_letters(page.head.text) if page.head else ""
        if page.kind == "text" and current and said in titles and said != current:
            yield page


def _habit(values: Sequence[str]) -> str | None:
    """What nearly all of them are; None where there is no such thing."""
    value, count = Counter(values).most_common(1)[0]
    return value if count >= NEARLY_ALL * len(values) else None
