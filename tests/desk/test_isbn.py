"""What is taken as an ISBN, held against python-stdnum (``stdnum.isbn``), which follows ISO 2108."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum import isbn as stdnum

from service.desk.isbn_field import BadIsbn, isbn_of

DIGITS = st.text("0123456789", min_size=9, max_size=9)


def _valid_13(nine: str, prefix: str) -> str:
    twelve = prefix + nine
    return next(twelve + last for last in "0123456789" if stdnum.is_valid(twelve + last))


def _valid_10(nine: str) -> str:
    return next(nine + last for last in "0123456789X" if stdnum.is_valid(nine + last))


@given(DIGITS)
def test_a_right_number_is_taken_with_and_without_hyphens(nine: str) -> None:
    thirteen = _valid_13(nine, "978")
    assert isbn_of(thirteen) == thirteen
    assert isbn_of(f"ISBN {thirteen[:3]}-{thirteen[3]}-{thirteen[4:12]}-{thirteen[12]}") == thirteen
    assert isbn_of(f" urn:isbn:{thirteen} ") == thirteen


@given(DIGITS)
def test_one_of_ten_digits_becomes_the_same_books_of_thirteen(nine: str) -> None:
    ten = _valid_10(nine)
    assert isbn_of(ten) == stdnum.to_isbn13(ten)
    assert isbn_of(ten.lower()) == stdnum.to_isbn13(ten)


@given(DIGITS, st.integers(0, 12), st.integers(1, 9))
def test_one_wrong_digit_is_always_found(nine: str, place: int, by: int) -> None:
    thirteen = _valid_13(nine, "978")
    wrong = thirteen[:place] + str((int(thirteen[place]) + by) % 10) + thirteen[place + 1 :]
    assert not stdnum.is_valid(wrong)
    with pytest.raises(BadIsbn):
        isbn_of(wrong)


@given(DIGITS)
def test_a_wrong_check_digit_is_told_with_the_right_one(nine: str) -> None:
    thirteen = _valid_13(nine, "978")
    wrong = thirteen[:12] + str((int(thirteen[12]) + 5) % 10)
    with pytest.raises(BadIsbn, match=f"it would be {thirteen[12]}"):
        isbn_of(wrong)


@given(st.text(max_size=20))
def test_nothing_is_taken_that_the_standard_does_not_know(typed: str) -> None:
    try:
        found = isbn_of(typed)
    except BadIsbn:
        return
    assert found is None or stdnum.validate(found) == found


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("97800000001", "this has 11"),
        ("9770000000019", "begins with 978 or 979"),
        ("9790000000018", "printed music"),
        ("978000000001X", "does not agree"),
        ("97800000000i9", "digits and hyphens alone"),
        ("٩٧٨٠٠٠٠٠٠٠٠١٩", "digits and hyphens alone"),
    ],
)
def test_what_is_wrong_is_said(typed: str, told: str) -> None:
    """979-0 is printed music: ISO 10957."""
    with pytest.raises(BadIsbn, match=told):
        isbn_of(typed)


def test_an_empty_field_is_none() -> None:
    assert isbn_of("  ") is None
