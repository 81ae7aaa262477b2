"""Openings on pages made by hand: by type, by white space, and left alone where there is neither.

How chapters open is common practice, no source: on a new page, sunk, without running head. No word tells them here.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.book.made import FOOT, HEAD, SERIF, centred, edges, leaves, line, page, text_lines
from worker.book.block import text_block
from worker.book.folios import folios
from worker.book.grid import setting_of
from worker.book.heads import bodies_of, running_heads
from worker.book.models import ContentsEntry, Opening
from worker.book.openings import openings
from worker.measure.models import Bookmark, Line, Page

OPEN = (7, 15, 24, 31)
"""The pages that chapters open on, on rectos and on versos."""
PAGES = 40
NAMES = ("The Tide Book", "Két kikötő", "Ο φάρος", "Low Water")

Heading = Callable[[int, str], list[Line]]

STYLES: dict[str, Heading] = {
    "large": lambda number, name: [centred(name, 480, size=18)],
    "large, a number above": lambda number, name: [
        centred(f"{number}.", 510, size=14), centred(name, 480, size=18),
    ],
    "large, not sunk": lambda number, name: [centred(name, 582, size=18)],
    "in the text's own type": lambda number, name: [centred(name, 480, size=10.5)],
    "a number alone": lambda number, name: [centred(str(number), 480, size=10.5)],
    "at the left, in another cut": lambda number, name: [
        line(name, edges(number)[0], 480, size=10.5, font="Tern Serif Italic")
    ],
}  # fmt: skip


def _book(heading: Heading, *, others: dict[int, list[Line]] | None = None) -> list[Page]:
    """A book with a running head and a folio on every page but openings, each after a page that ends short."""
    pages = []
    for number in range(1, PAGES + 1):
        if number in OPEN:
            lines = [*heading(number, NAMES[OPEN.index(number)]), *text_lines(number, 24, first=420)]
        else:
            rows = 20 if number + 1 in OPEN else 36
            lines = [centred("The Salt Road", HEAD), *text_lines(number, rows)]
        pages.append(page(number, [*lines, centred(str(number), FOOT), *(others or {}).get(number, [])]))
    return pages


def _openings(
    pages: list[Page], contents: tuple[ContentsEntry, ...] = (), outline: tuple[Bookmark, ...] = ()
) -> tuple[Opening, ...]:
    book = leaves(pages)
    block = text_block(book)
    printed = folios(book, block)
    bodies = bodies_of(book, block, printed)
    setting = setting_of(bodies)
    assert setting is not None
    heads = frozenset(running_heads(bodies, printed))
    return openings(bodies, setting, with_heads=heads, contents=contents, outline=outline)


@pytest.mark.parametrize("heading", STYLES.values(), ids=STYLES.keys())
def test_chapters_however_their_headings_are_set(heading: Heading) -> None:
    found = _openings(_book(heading))
    assert tuple(opening.page for opening in found) == OPEN
    assert {opening.kind for opening in found} == {"chapter"}


def test_what_a_heading_says_and_how_low_it_stands() -> None:
    found = _openings(_book(STYLES["large, a number above"]))
    assert tuple(opening.title for opening in found) == NAMES
    assert found[0].number == "7."
    assert {opening.sinkage for opening in found} == {648 - 510}


def test_sections_open_nothing() -> None:
    """Large headings in the middle of pages, and one that happens to come first on its page."""
    others = {number: [line("A section", edges(number)[0], 300 + number, size=13)] for number in range(8, 40, 3)}
    pages = _book(STYLES["large"], others=others)
    top = page(20, [centred("The Salt Road", HEAD), line("A section", edges(20)[0], 582, size=13),
                    *text_lines(20, 35, first=560), centred("20", FOOT)])  # fmt: skip
    pages[19] = top
    assert tuple(opening.page for opening in _openings(pages)) == OPEN


def test_large_words_in_a_picture_open_nothing() -> None:
    pages = _book(STYLES["large"])
    pages[27] = page(28, [centred("HARBOUR", 500, size=30), *text_lines(28, 20, first=300), centred("28", FOOT)])
    assert tuple(opening.page for opening in _openings(pages)) == OPEN


def test_parts_stand_alone_before_chapters() -> None:
    """A part's title on a page of its own, a blank behind it; before the first chapter too, once others follow."""
    pages = _book(STYLES["large"])
    for number, name in ((5, "Part of the Sea"), (22, "Part of the Land")):
        pages[number - 1] = page(number, [centred(name, 420, size=24)])
        pages[number] = page(number + 1, [])
    found = {opening.page: opening.kind for opening in _openings(pages)}
    assert found == dict.fromkeys(OPEN, "chapter") | {5: "part", 22: "part"}


def test_a_book_of_plain_pages_has_none() -> None:
    pages = [page(number, [*text_lines(number), centred(str(number), FOOT)]) for number in range(1, 41)]
    assert _openings(pages) == ()


def test_one_that_is_set_otherwise_is_known_by_the_outline_and_by_the_contents() -> None:
    """One heading is no larger than a section's, as a forgotten style would leave it."""
    pages = _book(STYLES["large"])
    other = [line(NAMES[2], edges(24)[0], 582, size=10.5, font=SERIF), *text_lines(24, 34, first=554)]
    pages[23] = page(24, [*other, centred("24", FOOT)])
    assert tuple(opening.page for opening in _openings(pages)) == (7, 15, 31)
    outline = tuple(Bookmark(level=0, title=name, page=at) for name, at in zip(NAMES, OPEN, strict=True))
    assert tuple(opening.page for opening in _openings(pages, outline=outline)) == OPEN
    contents = tuple(
        ContentsEntry(page=3, box=(0, 0, 1, 1), text=f"{count}. {name}", level=0, number=str(at), target=at)
        for count, (name, at) in enumerate(zip(NAMES, OPEN, strict=True), 1)
    )
    found = _openings(pages, contents=contents)
    assert tuple(opening.page for opening in found) == OPEN
    assert all("contents" in opening.signs for opening in found)
