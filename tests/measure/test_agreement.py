"""Ink and text of real books by many producers, within 0.25 pt of what is drawn at 600 dpi, and their words.

Drawn by PDFium, and where that takes widths for whole numbers by poppler (``tests.measure.agreement``). A spread of
each book's pages, and those that were once wrong; ``python -m tests.bench.bench_agreement`` takes all pages.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from tests.measure.agreement import PARAMETERS, WITHIN, Book, distances
from tests.measure.poppler import pages_of
from tests.measure.words import agreement, words_by_poppler
from tests.measured import facts_of
from tests.needs import needs_poppler

pytestmark = needs_poppler

WORDS = 0.995

Made = Callable[[Book, bool], Path]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The file of a book, made once."""

    @cache
    def making(book: Book, level: bool) -> Path:
        return book.made(tmp_path_factory.mktemp(book.name), level)

    return lambda book, level: making(book, level and book.slanting)


@pytest.mark.parametrize("book", PARAMETERS)
def test_ink_and_text_are_where_they_are_drawn(made: Made, book: Book) -> None:
    path = made(book, False)
    compared = list(distances(path, book.spread(pages_of(path))))
    assert [distance for distance in compared if distance.worst > WITHIN] == []
    assert len(compared) >= 4


OFF_THE_PAGE = "a line runs off the page, where poppler cuts its last word"
SET_APART = {
    "R-exts": {140: OFF_THE_PAGE},
    "debian-reference.en": {44: OFF_THE_PAGE, 53: "a row runs off the foot", 88: OFF_THE_PAGE, 215: OFF_THE_PAGE},
    "luatex": {
        59: "whole paragraphs are set from right to left, letter by letter",
        111: "formulas stand on each other, and poppler counts each",
        121: "letters are stacked in formulas",
    },
}
"""Pages whose words no two tools cut alike, and why."""


@pytest.mark.parametrize("book", PARAMETERS)
def test_words_are_those_that_poppler_finds(made: Made, book: Book) -> None:
    path = made(book, True)
    pages = zip(facts_of(path).pages, words_by_poppler(path), strict=True)
    found = [agreement(page, theirs) for page, theirs in pages]
    counted = [page for page in found if page.page not in SET_APART.get(book.name, {})]
    assert [page for page in counted if page.letters < WORDS] == []
    assert sum(2 * page.common for page in counted) / sum(page.total for page in counted) >= WORDS
