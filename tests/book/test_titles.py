"""What of a heading is its number and what its title, in any language; real books' titles are in ``test_truth.py``.

That a chapter is numbered above its title, in figures or in words, is common practice, no source.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.book.made import centred
from worker.book.titles import labels_of, parts_of, spellings, title_of
from worker.measure.models import Line

SIZE, LARGE = 10.5, 12.0
TITLES = ("The Tide Book", "Two Harbours", "Low Water", "The Pilot’s Daughter")


def heading(*rows: tuple[str, float]) -> list[Line]:
    """Lines of these sizes, one below the other, each part clear of the one above."""
    return [centred(text, 500.0 - 60 * at, size=size) for at, (text, size) in enumerate(rows)]


def read(headings: list[list[Line]], listed: str = "") -> list[tuple[str | None, str]]:
    """The number and the title of each."""
    parts = [parts_of(each) for each in headings]
    labels = labels_of(parts)
    titles = (title_of(each, labels, LARGE, spellings(listed)) for each in parts)
    return [(title.number, title.text) for title in titles]


@pytest.mark.parametrize(
    "numbers",
    [
        ("1", "2", "3", "4"),
        ("IV", "V", "VI", "VII"),
        ("Chapter 1", "Chapter 2", "Chapter 3", "Chapter 4"),
        ("Chapter One", "Chapter Two", "Chapter Three", "Chapter Twenty One"),
        ("Erstes Kapitel", "Zweites Kapitel", "Drittes Kapitel", "Viertes Kapitel"),
        ("1. fejezet", "2. fejezet", "3. fejezet", "4. fejezet"),
        ("ГЛАВА ПЕРВАЯ", "ГЛАВА ВТОРАЯ", "ГЛАВА ТРЕТЬЯ", "ГЛАВА ЧЕТВЁРТАЯ"),
    ],
)
def test_what_numbers_chapters_is_no_title(numbers: tuple[str, ...]) -> None:
    headings = [heading((number, 9.0), (title, 18.0)) for number, title in zip(numbers, TITLES, strict=True)]
    assert read(headings) == list(zip(numbers, TITLES, strict=True))


def test_a_word_above_its_number() -> None:
    headings = [heading(("CHAPTER", 9.0), (number, 14.0), (title, 14.0), ("1.1 Scope", 14.0))
                for number, title in zip(("ONE", "TWO", "THREE", "FOUR"), TITLES, strict=True)]  # fmt: skip
    assert read(headings) == [
        (f"CHAPTER {number}", title) for number, title in zip(("ONE", "TWO", "THREE", "FOUR"), TITLES, strict=True)
    ]


def test_titles_that_share_an_article_are_titles() -> None:
    """Each with a line below it that says where and when, as novels have."""
    titles = ("The Tide Book", "The Two Harbours", "The Loft", "The Lamp")
    assert read([heading((title, 18.0), ("Tern Island, March", 11.0)) for title in titles]) == [
        (None, title) for title in titles
    ]


def test_a_heading_with_a_number_before_it_is_a_title() -> None:
    headings = [heading((f"{at} {title}", 20.0), (f"{at}.1 Scope", 14.0)) for at, title in enumerate(TITLES, 1)]
    assert read(headings) == [(None, f"{at} {title}") for at, title in enumerate(TITLES, 1)]


def test_a_number_alone_is_the_title_too() -> None:
    assert read([heading(("Chapter 3", 18.0))]) == [("Chapter 3", "Chapter 3")]
    assert read([heading(("7", 10.5))]) == [("7", "7")]


def test_the_contents_knows_which_part_is_the_title() -> None:
    """A number in a word of its own, which nothing else tells from a title."""
    assert read([heading(("Nine", 18.0), ("Low Water", 18.0))], listed="Low Water") == [("Nine", "Low Water")]
    assert read([heading(("Nine", 18.0), ("Low Water", 18.0))]) == [(None, "Nine")]


def test_lines_of_one_title_are_one_text() -> None:
    long = [centred("The Pilot’s Daughter and the", 480, size=18), centred("Keeper of the Light", 458, size=18)]
    assert read([[*heading(("3", 9.0)), *long]]) == [("3", "The Pilot’s Daughter and the Keeper of the Light")]


@given(st.lists(st.tuples(st.text("abc 12.", min_size=1), st.sampled_from((9.0, 18.0))), min_size=1, max_size=5))
def test_whatever_a_heading_says_it_has_a_title(rows: list[tuple[str, float]]) -> None:
    """Number and title are lines of the heading, in their order, and no line is told twice."""
    lines = heading(*rows)
    parts = parts_of(lines)
    title = title_of(parts, labels_of([parts] * 3), LARGE)
    assert [line for part in parts for line in part] == lines
    assert title.lines
    assert [line for line in lines if line in title.lines] == list(title.lines)
