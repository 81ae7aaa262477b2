"""Real books are read as their own files say that they are: see ``truth.py``, and the table in ``README.md`` here."""

from __future__ import annotations

import pytest

from tests.book.shelf import BOOKS, RealBook
from tests.book.truth import Result, Share, judged, truth_of
from tests.needs import needs_poppler

ASKED = [
    pytest.param(book, marks=[book.corpus.missing, needs_poppler], id=book.name) for book in BOOKS if not book.not_asked
]
FOLIOS, OTHERS = 0.995, 0.98
"""The least share of pages whose folio is read as it is printed; of openings and entries of the contents."""


def figures(of: Result) -> dict[str, tuple[Share, float]]:
    """Each figure, and the least that it may be."""
    return {
        "folios": (of.folios, FOLIOS),
        "openings found": (of.found, OTHERS),
        "openings that are some": (of.no_others, OTHERS),
        "entries of the contents found, with their page": (of.listed, OTHERS),
        "entries that are some, and lead to their page": (of.right, OTHERS),
    }


@pytest.mark.parametrize("book", ASKED)
def test_a_real_book_is_read_as_its_file_says(book: RealBook) -> None:
    failing = {name: share.wrong for name, (share, least) in figures(judged(book)).items() if share.value < least}
    assert not failing


@pytest.mark.parametrize("book", ASKED)
def test_the_file_tells_enough_to_judge_by(book: RealBook) -> None:
    """The table of books is right: most of what the outline lists is printed in the contents, chapters among it."""
    truth = truth_of(book)
    assert sum(folio is not None for folio in truth.folios) > len(truth.folios) / 2
    assert len(truth.openings) >= 4 or not book.levels
    assert len(truth.listed) >= 40
    openings = set(truth.openings.items())
    in_contents = {(heading.page, heading.title) for heading in truth.listed}
    assert len(openings & in_contents) >= 0.7 * len(openings)


def test_there_are_enough_of_them() -> None:
    asked = [book for book in BOOKS if not book.not_asked]
    assert len([book for book in asked if book.levels]) >= 12
