"""The text block and the lines that run above and below it, read from books made by hand."""

from __future__ import annotations

from dataclasses import replace

from tests.report.books import book, page_of
from worker.book.block import text_block
from worker.book.leaf import leaf_of
from worker.book.models import TextBlock
from worker.measure.models import Measurements


def block_of(measurements: Measurements) -> TextBlock:
    return text_block([leaf_of(page) for page in measurements.pages])


def test_titles_that_head_every_page_are_no_running_heads() -> None:
    """Poems: a title at one place on each page, and well apart from the lines below, but never the same."""
    pages = []
    for number in range(1, 21):
        page = page_of(number)
        title = replace(page.lines[0], text=f"{chr(96 + number) * 5} by the sea")
        pages.append(page.model_copy(update={"lines": (title, *page.lines[3:])}))
    poems = book(20).model_copy(update={"pages": tuple(pages)})
    assert block_of(poems).header is None


def test_the_block_of_a_book_made_by_hand() -> None:
    """Lines at 45 pt inside and 36 pt outside on every page; a folio 33.75 pt from the foot, the last line at 92."""
    block = block_of(book(40))
    inside, outside = block.inside("left"), block.outside("left")
    assert inside is not None
    assert outside is not None
    assert block.foot is not None
    assert block.footer is not None
    assert (inside.usual, inside.hang, inside.worst) == (45, 0, 45)
    assert (outside.usual, outside.worst) == (36, 36)
    assert block.foot.usual == 92
    assert block.footer.worst == 33.75
    assert block.header is None


def test_a_book_bound_on_the_right_has_its_inside_there() -> None:
    block = block_of(book(40, binding="right"))
    inside = block.inside("right")
    assert inside is not None
    assert inside.usual == 45
