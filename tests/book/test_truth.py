"""Real books are read as their own files say that they are: see ``truth.py``, and the table in ``README.md`` here."""

from __future__ import annotations

import pytest

from tests.book.truth import BOOKS, RealBook, Share, judged
from tests.needs import needs_poppler

ASKED = [pytest.param(book, marks=[book.corpus.missing, needs_poppler], id=book.name) for book in BOOKS if book.asked]


def shares(book: RealBook) -> dict[str, tuple[Share, float]]:
    """Each figure, and the least that it may be."""
    result = judged(book)
    return {
        "folios": (result.folios, 0.995),
        "openings found": (result.recall, 0.98),
        "openings that are some": (result.precision, 0.98),
        "entries at the right page": (result.entries, 0.98),
    }


@pytest.mark.parametrize("book", ASKED)
def test_a_real_book_is_read_as_its_file_says(book: RealBook) -> None:
    failing = {name: share.wrong for name, (share, least) in shares(book).items() if share.value < least}
    assert not failing


def test_there_are_enough_of_them() -> None:
    assert sum(book.asked for book in BOOKS) >= 12
    assert sum(book.asked and book.labels for book in BOOKS) >= 12
