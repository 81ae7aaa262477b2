"""How text flows, held against what was given to the program that set it, and the laws of foretelling its length."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.books.novel import Novel, set_by_libreoffice, set_by_typst
from tests.needs import needs_libreoffice
from worker.book import Book, read_book
from worker.book.flow import PARTS
from worker.book.models import Flow, Stretch
from worker.measure import measure
from worker.report.foretold import Frame, lines_on_page, pages_in, rows_in

NOVEL = Novel(chapters=5)


def hold_against_its_text(book: Book, novel: Novel) -> None:
    """Chapters, paragraphs and rows as they were set. A paragraph that ends with a full line, at the foot of a page, is
    not told from the next."""
    assert book.flow is not None
    texts = novel.texts()
    assert len(book.flow.stretches) == len(texts)
    assert [stretch.first for stretch in book.flow.stretches] == [opening.page for opening in book.openings]
    paragraphs = sum(map(len, texts))
    assert sum(book.flow.paragraphs) == pytest.approx(paragraphs, rel=0.03)
    assert rows_in(book.flow, 1.0) == pytest.approx(sum(stretch.text for stretch in book.flow.stretches), rel=0.005)
    assert book.flow.leading == pytest.approx(novel.leading, abs=0.2)


@pytest.fixture(scope="module")
def by_typst(tmp_path_factory: pytest.TempPathFactory) -> Book:
    return read_book(measure(set_by_typst(NOVEL, tmp_path_factory.mktemp("novel"))))


def test_what_typst_was_given(by_typst: Book) -> None:
    hold_against_its_text(by_typst, NOVEL)


@needs_libreoffice
def test_what_libreoffice_was_given(tmp_path: Path) -> None:
    hold_against_its_text(read_book(measure(set_by_libreoffice(NOVEL, tmp_path))), NOVEL)


def test_in_its_own_frame_a_book_is_as_long_as_it_is(by_typst: Book) -> None:
    assert pages_in(by_typst, Frame(measure=324, present=324)) == len(by_typst.pages)


def test_ragged_text_and_verse_are_read_by_the_room_that_a_word_would_have_had(tmp_path: Path) -> None:
    """The same words set ragged have as many paragraphs."""
    ragged = Novel(chapters=3, justified=False)
    book = read_book(measure(set_by_typst(ragged, tmp_path)))
    assert book.flow is not None
    assert sum(book.flow.paragraphs) == pytest.approx(sum(map(len, ragged.texts())), rel=0.03)


flows = st.builds(
    lambda paragraphs: Flow(size=11, leading=15, lines=34, paragraphs=(0, *paragraphs)),
    st.lists(st.integers(0, 30), min_size=1, max_size=200).filter(any),
)


@given(flows, st.floats(0.3, 2.0), st.floats(0.3, 2.0))
def test_a_narrower_measure_takes_no_fewer_lines(flow: Flow, one: float, other: float) -> None:
    narrow, wide = sorted((one, other))
    assert rows_in(flow, narrow) >= rows_in(flow, wide)
    assert rows_in(flow, wide) >= sum(flow.paragraphs)


@given(flows)
def test_lengths_are_told_to_the_twentieth_of_a_measure(flow: Flow) -> None:
    """In the present measure a paragraph of up to 20/20 is a line, of up to 40/20 two."""
    lines = sum(many * -(-length // PARTS) for length, many in enumerate(flow.paragraphs))
    assert rows_in(flow, 1.0) == lines


def test_pages_without_a_line_of_the_texts_own_type_do_not_grow(by_typst: Book) -> None:
    flow = Flow(size=11, leading=15, lines=34, stretches=(Stretch(first=4, last=6, text=0, other=90, left=0),))
    book = by_typst.model_copy(update={"flow": flow, "pages": by_typst.pages[3:6], "openings": ()})
    assert pages_in(book, Frame(measure=300, present=324)) == 3


@given(st.floats(0, 2000), st.floats(0, 2000))
def test_a_deeper_frame_has_no_fewer_lines(one: float, other: float) -> None:
    flow = Flow(size=11, leading=15, lines=34)
    low, deep = (lines_on_page(flow, Frame(300, 300, depth)) for depth in sorted((one, other)))
    assert low <= deep


def test_a_block_that_nobody_could_read_has_no_length(by_typst: Book) -> None:
    assert pages_in(by_typst, Frame(measure=40, present=324)) is None
    assert pages_in(by_typst, Frame(measure=324, present=324, depth=20)) is None
    assert pages_in(by_typst.model_copy(update={"flow": None}), Frame(324, 324)) is None
    assert pages_in(by_typst, Frame(measure=324, present=-10)) is None
    assert by_typst.flow is not None
    assert all(isinstance(stretch, Stretch) for stretch in by_typst.flow.stretches)
