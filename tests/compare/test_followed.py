"""Pages followed into another setting: laws, and real books held against the layout of Typst, which set them."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.compare.books import RESET, made, went
from worker.compare.followed import follow

BY_WORDS = 0.98
"""Of the pages on which a paragraph starts or ends, how many have to be found."""


@st.composite
def _books(draw: st.DrawFn) -> tuple[list[str], list[str]]:
    """The traces of a book, some of its pages blank, and those of pages with words that are put in."""
    blank = draw(st.lists(st.booleans(), min_size=1, max_size=40))
    most = draw(st.integers(1, 12))
    sample = iter(range(10_000))
    traces = ["" if each else "".join(f"{next(sample):04}" for _ in range(most)) for each in blank]
    inserted = [f"{next(sample):04}" for _ in range(draw(st.integers(0, 6)))]
    return traces, inserted


@given(_books(), st.data())
def test_pages_put_in_shift_all_that_come_after(book: tuple[list[str], list[str]], data: st.DataObject) -> None:
    traces, inserted = book
    at = data.draw(st.integers(0, len(traces)))
    followed = follow(traces, [*traces[:at], *inserted, *traces[at:]])
    shift = len(inserted)
    if any(traces):
        assert followed.main == {page: page if page <= at else page + shift for page in range(1, len(traces) + 1)}


@given(_books(), st.data())
def test_pages_taken_out_are_gone_and_the_others_are_not(
    book: tuple[list[str], list[str]], data: st.DataObject
) -> None:
    traces = [trace for trace in book[0] if trace]
    out = data.draw(st.sets(st.integers(1, len(traces)), max_size=len(traces) - 1)) if traces else set()
    left = [page for page in range(1, len(traces) + 1) if page not in out]
    followed = follow(traces, [traces[page - 1] for page in left])
    assert followed.main == {page: at for at, page in enumerate(left, start=1)}


@given(st.lists(st.text("abAB", max_size=24), max_size=30))
def test_a_book_followed_into_itself_stays_where_it_is(traces: list[str]) -> None:
    followed = follow(traces, traces)
    assert all(page == place for page, place in followed.main.items())
    assert set(followed.main) == set(range(1, len(traces) + 1))


@given(st.lists(st.text("abAB", max_size=24), max_size=30), st.lists(st.text("abAB", max_size=24), max_size=30))
def test_whatever_the_traces_places_are_pages_and_runs_say_the_same(old: list[str], new: list[str]) -> None:
    followed = follow(old, new)
    assert all(1 <= page <= len(old) and 1 <= place <= len(new) for page, place in followed.main.items())
    spelt = {
        page: new_first + page - first for first, last, new_first in followed.runs for page in range(first, last + 1)
    }
    assert spelt == dict(followed.main)


def test_chapters_that_change_places_are_found_where_they_are() -> None:
    one, two = ["aaaabbbbccccdddd", "eeeeffffgggghhhh"], ["iiiijjjjkkkkllll", "mmmmnnnnoooopppp"]
    assert follow([*one, *two], [*two, *one]).main == {1: 3, 2: 4, 3: 1, 4: 2}


def test_a_running_head_tells_no_page_from_another() -> None:
    book = [f"HEAD{page:04}" for page in range(30)]
    assert follow(book, ["HEADnewp", *book]).main == {page: page + 1 for page in range(1, 31)}


@pytest.mark.parametrize("name", RESET)
def test_pages_are_found_where_typst_has_put_their_paragraphs(name: str, tmp_path: Path) -> None:
    old, new = (made(design, tmp_path / f"{at}.pdf") for at, design in enumerate(RESET[name]))
    followed = follow(old.reading.traces, new.reading.traces)
    places = went(old.layout, new.layout)
    assert len(places) >= 25
    assert {page for page, to in places.items() if page not in to}, "the book has been set anew, and has moved"
    found = [page for page, to in places.items() if followed.main.get(page) in to]
    assert len(found) >= BY_WORDS * len(places)
    beyond = [place for page in places for place in followed.all.get(page, ()) if place not in _reach(places[page])]
    assert beyond == [], "no page is said to be where none of its words can be"
    openings = [followed.main.get(page) for page in old.layout.openings]
    assert openings == list(new.layout.openings)


def _reach(pages: set[int]) -> range:
    """The pages from the first to the last of a page's paragraphs and those around, where they may reach."""
    return range(min(pages) - 1, max(pages) + 2)
