"""Real books are read as their own files say that they are: see ``truth.py``, and the table in ``README.md`` here."""

from __future__ import annotations

import pytest

from tests import corpora
from tests.book.shelf import BOOKS, RealBook
from tests.book.truth import Result, Share, file_of, judged, truth_of, untold
from tests.measured import facts_of
from tests.needs import needs_poppler
from worker.book import read_book
from worker.book.models import Book, ContentsList

ASKED = [
    pytest.param(book, marks=[book.corpus.missing, needs_poppler], id=book.name) for book in BOOKS if not book.not_asked
]
FOLIOS, OTHERS, TITLES = 0.995, 0.98, 0.93
"""The least share of pages whose folio is read as it is printed; of openings and entries of the contents; and of
openings whose title is read as the outline has it, which may be in other words."""


def figures(of: Result) -> dict[str, tuple[Share, float]]:
    """Each figure, and the least that it may be."""
    return {
        "folios": (of.folios, FOLIOS),
        "openings found": (of.found, OTHERS),
        "openings that are some": (of.no_others, OTHERS),
        "their titles": (of.titles, TITLES),
        "entries of the contents found, with their page": (of.listed, OTHERS),
        "entries that are some, and lead to their page": (of.right, OTHERS),
    }


@pytest.mark.parametrize("book", ASKED)
def test_a_real_book_is_read_as_its_file_says(book: RealBook) -> None:
    check_that_it_tells_enough(book)
    failing = {name: share.wrong for name, (share, least) in figures(judged(book)).items() if share.value < least}
    assert not failing


def check_that_it_tells_enough(book: RealBook) -> None:
    """The table of books is right: most of what the outline lists is printed in the contents, chapters among it."""
    truth = truth_of(book)
    assert sum(folio is not None for folio in truth.folios) > len(truth.folios) / 2
    assert len(truth.openings) >= 4 or not book.levels
    assert len(truth.listed) >= 40
    openings = set(truth.openings.items())
    in_contents = {(heading.page, heading.title) for heading in truth.listed}
    assert len(openings & in_contents) >= 0.7 * len(openings)


@corpora.R_LANG.missing
@needs_poppler
def test_a_wrong_reading_is_seen() -> None:
    """Every figure falls below what is asked, where the reading is a page out."""
    (book,) = (book for book in BOOKS if book.corpus == corpora.R_LANG)
    reading = read_book(untold(facts_of(file_of(book))))
    shifted = judged(book, a_page_out(reading))
    assert all(share.value < least for share, least in figures(shifted).values())


def a_page_out(reading: Book) -> Book:
    """The reading, with what it says of each page said of the next, and each entry leading a page too far."""

    def out(of_list: ContentsList) -> ContentsList:
        entries = [
            entry.model_copy(update={"target": (entry.target or 0) + 1, "heading": None}) for entry in of_list.entries
        ]
        return of_list.model_copy(update={"entries": tuple(entries)})

    folios = [None, *(page.folio for page in reading.pages[:-1])]
    return reading.model_copy(
        update={
            "pages": tuple(
                page.model_copy(update={"folio": folio}) for page, folio in zip(reading.pages, folios, strict=True)
            ),
            "openings": tuple(each.model_copy(update={"page": each.page + 1}) for each in reading.openings),
            "contents": tuple(map(out, reading.contents)),
        }
    )


def test_there_are_enough_of_them() -> None:
    asked = [book for book in BOOKS if not book.not_asked]
    assert len([book for book in asked if book.levels]) >= 12
