"""Laws of the rules about how a book is built, over books of any length and order.

Half title, title page, imprint, dedication, contents in this order (Chicago 1.4, New Hart's Rules 1.2.1, both read
second-hand); the start value that makes page p of the file 1 is 2 − p (common practice, no source; arithmetic).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.judge.built import FIRST, FRONT, GRID, LAST, TITLE, folio, head, listed, sound_book
from tests.judge.factory import book as facts
from tests.judge.factory import document, page, profile
from worker.book import Book
from worker.book.models import BookPage, ContentsEntry, Opening, PageKind
from worker.judge import judge
from worker.judge.models import Judgement
from worker.measure.models import Measurements
from worker.report.setup import setup

LENGTHS = st.lists(st.integers(1, 24), min_size=1, max_size=12)
"""Pages of text of each chapter."""
ORDER: tuple[PageKind, ...] = ("half-title", "title", "imprint", "dedication", "contents")
PLACES = (1, 3, 4, 5, 7)
"""Where the sound book has them."""


def written(lengths: Sequence[int], *, start: int = 1 - FRONT, folios: bool = True) -> tuple[Measurements, Book]:
    """A sound book of chapters of these lengths, each on a recto; page 1 of the file is numbered ``start``."""
    pages, openings = list(sound_book().pages[:FRONT]), []
    for chapter, length in enumerate(lengths):
        openings.append(_opening(len(pages) + 1, f"Chapter of the {chapter}th tide"))
        for number in range(len(pages) + 1, len(pages) + length + 1):
            at = {"first": number == openings[-1].page, "last": number == openings[-1].page + length - 1}
            pages.append(_text(number, openings[-1].title, start + number - 1 if folios else None, **at))
        if len(pages) % 2:
            pages.append(BookPage(page=len(pages) + 1, part="body", kind="blank", expected=True))
    entries = [_entry(each, start + each.page - 1) for each in openings]
    contents = listed(*entries) if folios else ()
    book = Book(block=sound_book().block, grid=GRID, pages=tuple(pages), openings=tuple(openings), contents=contents,
                title=TITLE)  # fmt: skip
    measured = (page(each.page, blank=each.kind == "blank") for each in pages)
    return facts(*measured, document=document(len(pages), title=TITLE)), book


def _opening(number: int, title: str) -> Opening:
    return Opening(page=number, kind="chapter", title=title, box=(150, 478, 280, 494), sinkage=168.0, size=18,
                   signs=("size", "sinkage"))  # fmt: skip


def _entry(opening: Opening, number: int) -> ContentsEntry:
    return ContentsEntry(page=7, box=(60, 300, 370, 310), text=opening.title, level=0, number=str(number),
                         target=opening.page, heading=opening.page)  # fmt: skip


def _text(number: int, title: str, value: int | None, *, first: bool, last: bool) -> BookPage:
    return BookPage(
        page=number, part="body", kind="opening" if first else "text", box=(60, 50, 370, 590),
        folio=folio(number, value) if value else None, counted=str(value) if value else None,
        head=None if first else head(number, TITLE if number % 2 == 0 else title),
        first_baseline=480.0 if first else FIRST, last_baseline=300.0 if last else LAST,
        starts_with_text=not first, ends_with_text=True,
    )  # fmt: skip


def judged(measured: Measurements, book: Book) -> Judgement:
    """What is found of the book; how many pages a printer takes is nothing to it."""
    found = judge(measured, profile(), book=book)
    of_the_book = tuple(each for each in found.findings if not each.rule.startswith("page-"))
    return found.model_copy(update={"findings": of_the_book})


@settings(max_examples=60, deadline=None)
@given(LENGTHS, st.booleans())
def test_a_sound_book_of_any_length_has_no_finding(lengths: list[int], folios: bool) -> None:
    assert judged(*written(lengths, folios=folios)).findings == ()


@settings(max_examples=60, deadline=None)
@given(LENGTHS.filter(lambda lengths: sum(lengths) > 1), st.integers(2 - FRONT, 30))
def test_the_number_to_type_puts_right_what_any_start_number_made_wrong(lengths: list[int], start: int) -> None:
    """Any start number but 2 − 9 is told; with the one that the report says to type nothing is left to tell."""
    measured, book = written(lengths, start=start)
    judgement = judged(measured, book)
    assert [each.rule for each in judgement.findings] == ["first-folio" if start % 2 else "folio-parity"]
    (typed,) = (each.set for each in setup(measured, book, judgement, profile()).settings if each.name == "folio-start")
    assert typed == 2 - (FRONT + 1)
    assert judged(*written(lengths, start=int(typed))).findings == ()


@settings(max_examples=60, deadline=None)
@given(st.permutations(ORDER))
def test_front_matter_is_out_of_order_where_any_two_of_it_are(kinds: list[PageKind]) -> None:
    measured, book = written([6])
    at = dict(zip(PLACES, kinds, strict=True))
    pages = (each.model_copy(update={"kind": at.get(each.page, each.kind)}) for each in book.pages)
    findings = judged(measured, book.model_copy(update={"pages": tuple(pages)})).findings
    wrong = any(ORDER.index(one) > ORDER.index(other) for one, other in combinations(kinds, 2))
    assert [each.rule for each in findings] == (["front-matter-order"] if wrong else [])
