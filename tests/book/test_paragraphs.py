"""Widows and orphans on pages made by hand (CMOS, read second-hand; Bringhurst 2.4.8, from memory), and texts in which
there is no telling them."""

from __future__ import annotations

from tests.book.made import FOOT, LEADING, centred, edges, leaves, line, page
from worker.book.block import text_block
from worker.book.folios import folios
from worker.book.grid import setting_of
from worker.book.heads import bodies_of
from worker.book.models import NotRead, Stranded
from worker.book.paragraphs import stranded
from worker.measure.models import Line, Page

INDENT = 14.0
ROWS = 36


def prose(number: int, *, starts: tuple[int, ...] = (4, 12, 25), ends: tuple[int, ...] = (3, 11, 24)) -> list[Line]:
    """Full lines; ``starts`` are the rows that begin a paragraph, ``ends`` those that end one, halfway across."""
    left, right = edges(number)
    return [
        line(
            "The tide was out.",
            left + (INDENT if row in starts else 0),
            582 - LEADING * row,
            x1=(left + right) / 2 if row in ends else right,
        )
        for row in range(ROWS)
    ]


def _read(pages: list[Page]) -> tuple[tuple[Stranded, ...], NotRead | None]:
    book = leaves(pages)
    block = text_block(book)
    bodies = bodies_of(book, block, folios(book, block))
    setting = setting_of(bodies)
    assert setting is not None
    return stranded(bodies, setting, block, apart=frozenset())


def _book(changed: dict[int, list[Line]]) -> list[Page]:
    return [page(n, [*changed.get(n, prose(n)), centred(str(n), FOOT)]) for n in range(1, 21)]


def test_a_careful_book() -> None:
    assert _read(_book({})) == ((), None)


def test_a_widow() -> None:
    found, _ = _read(_book({8: prose(8, starts=(1, 12, 25), ends=(0, 11, 24))}))
    assert [(each.page, each.kind) for each in found] == [(8, "widow")]


def test_the_last_line_of_a_chapter_alone_on_its_page() -> None:
    alone = [line("was out.", edges(9)[0], 582)]
    found, _ = _read(_book({9: alone}))
    assert [(each.page, each.kind) for each in found] == [(9, "widow")]


def test_an_orphan() -> None:
    found, _ = _read(_book({5: prose(5, starts=(4, 35), ends=(3, 34))}))
    assert [(each.page, each.kind) for each in found] == [(5, "orphan")]


def test_two_lines_of_a_paragraph_on_each_side_are_sound() -> None:
    two = {5: prose(5, starts=(4, 34), ends=(3, 33)), 6: prose(6, starts=(2, 12), ends=(1, 11))}
    assert _read(_book(two)) == ((), None)


def test_a_page_that_begins_with_a_paragraph_parts_none() -> None:
    """The last line of the page before ends its paragraph, and the first one of this page begins one."""
    whole = {5: prose(5, ends=(3, 35)), 6: prose(6, starts=(0, 12), ends=(0, 11))}
    assert _read(_book(whole)) == ((), None)


def test_verse_is_not_read() -> None:
    """Lines end where the poet ends them: none reaches the edge."""
    verse = {
        number: [line("Low water", edges(number)[0] + 10 * (row % 3), 582 - LEADING * row) for row in range(ROWS)]
        for number in range(1, 21)
    }
    found, why = _read(_book(verse))
    assert found == ()
    assert why is not None
    assert why.what == "paragraphs"
