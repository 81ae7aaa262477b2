"""Check digits of ISBN against python-stdnum, an independent reading of ISO 2108, and numbers that are in print."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.needs import needs_module
from worker.book.isbn import is_isbn10, is_isbn13, isbns_in

IN_PRINT = (
    ("0306406152", "9780306406157"), ("080442957X", "9780804429573"), ("020161622X", "9780201616224"),
    ("316148410X", "9783161484100"), ("123456789X", "9781234567897"), ("1402894627", "9781402894626"),
    ("033028987X", "9780330289870"),
)  # fmt: skip
"""The worked examples of handbooks: the ISBN Users' Manual 7.2 and agencies' pages among them."""


@pytest.mark.parametrize(("ten", "thirteen"), IN_PRINT)
def test_numbers_in_print(ten: str, thirteen: str) -> None:
    assert is_isbn10(ten)
    assert is_isbn13(thirteen)


@pytest.mark.parametrize(
    "digits", ["9780306406156", "9791090636072", "9770306406157", "978030640615", "97803064061570"]
)
def test_wrong_ones(digits: str) -> None:
    assert not is_isbn13(digits)


def test_music_has_numbers_of_its_own() -> None:
    """979-0 is ISMN (ISO 10957), whose check digit is made alike; other numbers in 979 are books'."""
    assert not is_isbn13("9790260000438")
    assert is_isbn13("9791090636071")
    assert is_isbn13("9798602405453")


@needs_module("stdnum")
@given(st.text("0123456789", min_size=10, max_size=10).map(lambda rest: f"978{rest}"))
def test_thirteen_digits_as_stdnum_has_them(digits: str) -> None:
    from stdnum import isbn

    assert is_isbn13(digits) == isbn.is_valid(digits)
    right = digits[:12] + _check_digit(digits[:12])
    assert is_isbn13(right)
    assert isbn.is_valid(right)


def _check_digit(twelve: str) -> str:
    from stdnum import ean

    return str(ean.calc_check_digit(twelve))


@needs_module("stdnum")
@given(st.text("0123456789", min_size=9, max_size=9), st.sampled_from("0123456789X"))
def test_ten_digits_as_stdnum_has_them(nine: str, last: str) -> None:
    from stdnum import isbn

    assert is_isbn10(nine + last) == isbn.is_valid(nine + last)


@pytest.mark.parametrize(
    "text",
    [
        "ISBN 978-0-306-40615-7",
        "ISBN: 978 0 306 40615 7 (paperback)",
        "978\u20110\u2011306\u201140615\u20117",
        "ISBN-13: 978–0–306–40615–7",
        "isbn 0-306-40615-2 / 978-0-306-40615-7",
    ],
)
def test_how_they_are_printed(text: str) -> None:
    assert "9780306406157" in set(isbns_in(text))


@pytest.mark.parametrize(
    "text",
    ["978-0-306-40615-6", "ISMN 979-0-2600-0043-8", "ISSN 977-1234567003", "0306406152", "97803064061571"],
)
def test_what_is_no_number_of_a_book(text: str) -> None:
    """A wrong digit, music, a serial; ten digits without the word, and digits that go on."""
    assert list(isbns_in(text)) == []


def test_ten_digits_want_the_word() -> None:
    assert list(isbns_in("ISBN 0-8044-2957-X")) == ["080442957X"]
    assert list(isbns_in("ISBN-10: 0-8044-2957-X")) == ["080442957X"]
