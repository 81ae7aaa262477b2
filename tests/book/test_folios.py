"""Folios on pages made by hand. Every page is counted, printed or not (CMOS 17 1.5-1.9, read second-hand)."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book.made import FOOT, HEAD, WIDTH, centred, edges, leaves, line, outer, page, text_lines
from worker.book.block import text_block
from worker.book.folios import counted, folios
from worker.book.models import Folio
from worker.book.numerals import to_roman
from worker.measure.models import Line

Place = Callable[[int, str], Line]


def _at_the_side(number: int, text: str) -> Line:
    left, right = edges(number)
    return line(text, right + 8 if number % 2 else left - 24, 330)


PLACES: dict[str, Place] = {
    "foot, centred": lambda number, text: centred(text, FOOT),
    "foot, outside": lambda number, text: outer(number, text, FOOT),
    "head, outside": lambda number, text: outer(number, text, HEAD),
    "between dashes": lambda number, text: centred(f"– {text} –", FOOT),
    "with a word": lambda number, text: centred(f"Page {text}", FOOT),
    "of all": lambda number, text: centred(f"{text} / 240", FOOT),
    "side": _at_the_side,
    "beside a running head": lambda number, text: centred(f"THE SALT ROAD {text}", HEAD),
}


def read(texts: dict[int, str], place: Place, pages: int = 40) -> dict[int, Folio]:
    """The folios of a book whose pages have these, at one place."""
    book = leaves(
        page(number, [*text_lines(number), *([place(number, texts[number])] if number in texts else [])])
        for number in range(1, pages + 1)
    )
    return folios(book, text_block(book))


@pytest.mark.parametrize("place", PLACES.values(), ids=PLACES.keys())
def test_wherever_they_stand(place: Place) -> None:
    printed = {number: str(number - 6) for number in range(7, 41)}
    assert {number: folio.text for number, folio in read(printed, place).items()} == printed


@pytest.mark.parametrize("place", PLACES.values(), ids=PLACES.keys())
def test_roman_ones_before_arabic_ones(place: Place) -> None:
    front = {number: to_roman(number) for number in range(3, 11)}
    printed = front | {number: str(number - 10) for number in range(11, 41)}
    found = read(printed, place)
    assert {number: folio.text for number, folio in found.items()} == printed
    assert {found[number].numerals for number in front} == {"roman"}


def test_pages_without_one_are_counted() -> None:
    """i, ii, iii, iv, none, 1, 2, none, 4: two that are counted and not printed."""
    printed = {1: "i", 2: "ii", 3: "iii", 4: "iv", 6: "1", 7: "2", 9: "4", 10: "5", 11: "6"}
    numbers = counted(read(printed, PLACES["foot, centred"], pages=12), 12)
    assert " ".join(numbers[number].text for number in range(1, 13)) == "i ii iii iv v 1 2 3 4 5 6 7"


def test_what_comes_before_the_first_count_has_no_number() -> None:
    numbers = counted(read({number: str(number - 8) for number in range(9, 21)}, PLACES["foot, centred"], pages=20), 20)
    assert set(numbers) == set(range(9, 21))


@pytest.mark.parametrize(("wrong", "text"), [(20, "41"), (21, "12"), (30, "1")])
def test_a_wrong_one_is_read_as_it_is_printed(wrong: int, text: str) -> None:
    printed = {number: str(number) for number in range(1, 41)} | {wrong: text}
    assert read(printed, PLACES["foot, centred"])[wrong].text == text


def test_a_skipped_number_is_no_reason_to_doubt_the_rest() -> None:
    printed = {number: str(number if number < 20 else number + 1) for number in range(1, 41)}
    assert {number: folio.text for number, folio in read(printed, PLACES["head, outside"]).items()} == printed


def test_numbers_of_other_things_are_none() -> None:
    """A chapter's number in the running head of all of its pages, and a year that ends the last line of each."""
    book = []
    for number in range(1, 41):
        lines = text_lines(number)
        left, right = edges(number)
        lines[-1] = line("It was the winter of 1931", left, lines[-1].baseline, x1=right)
        book.append(page(number, [centred(f"CHAPTER {1 + number // 10}", HEAD), *lines]))
    assert folios(leaves(book), text_block(leaves(book))) == {}


def test_a_number_in_the_text_is_left_where_it_is() -> None:
    printed = {number: str(number) for number in range(1, 41)}
    book = leaves(
        page(number, [line(str(number + 3), WIDTH / 2, 596), *text_lines(number), centred(printed[number], FOOT)])
        for number in range(1, 41)
    )
    found = folios(book, text_block(book))
    assert {folio.edge for folio in found.values()} == {"foot"}


@settings(max_examples=25, deadline=None)
@given(start=st.integers(1, 30), first=st.integers(1, 400), without=st.sets(st.integers(1, 60), max_size=20))
def test_a_count_is_read_whole_from_wherever_it_starts(start: int, first: int, without: set[int]) -> None:
    """Whichever pages leave their folio out: those that remain are read, and all from the first one on are counted."""
    printed = {number: str(first + number - start) for number in range(start, 61) if number not in without}
    numbers = counted(read(printed, PLACES["foot, centred"], pages=60), 60)
    assert {number: numbers[number].text for number in printed} == printed
