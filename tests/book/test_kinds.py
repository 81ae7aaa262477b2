"""What the pages of a book are, on books made by hand.

The order of the front matter and the blanks that belong to it follow the Chicago Manual of Style, 1.4, and New Hart's
Rules, 1.2.1, both read second-hand; that part titles, half titles and dedications have a blank verso, and that a
chapter on a recto may have a blank before it, is from memory of the same.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from tests.book.made import FOOT, HEAD, centred, edges, line, page, text_lines
from tests.judge.factory import book as measurements_of
from worker.book import read_book
from worker.book.models import Book
from worker.book.numerals import to_roman
from worker.measure.geometry import around
from worker.measure.models import Image, Line, Page

TITLE = "The Salt Road"
FRONT: dict[int, list[Line]] = {
    1: [centred(TITLE, 500, size=14)],
    3: [centred(TITLE, 500, size=26), centred("and the way back", 470, size=14), centred("Vesna Okoro", 400, size=12),
        centred("Tern Island Writers’ Cooperative", 80, size=10)],
    4: [line("© 2026 Vesna Okoro", 36, 120, size=8), line("ISBN 978-0-306-40615-7", 36, 108, size=8),
        line("Set on the island.", 36, 96, size=8)],
    5: [centred("For the harbourmaster", 420, size=10.5)],
}  # fmt: skip
OPENED = {9: "Low Water", 15: "Slack", 21: "The Mole", 27: "Home"}
PAGES = 32


def _contents(number: int) -> list[Line]:
    left, right = edges(number)
    rows = [f"{title} . . . . {at - 8}" for at, title in OPENED.items()]
    return [line(row, left, 540 - 18 * at, x1=right) for at, row in enumerate(rows)]


def _book(changed: Mapping[int, list[Line]] | None = None, *, images: tuple[Image, ...] = ()) -> Book:
    """Half title, blank, title page, imprint, dedication, blank, contents, blank, and four chapters on rectos."""
    lines: dict[int, list[Line]] = {number: [] for number in range(1, PAGES + 1)} | FRONT | {7: _contents(7)}
    for number in range(9, PAGES + 1):
        folio = centred(str(number - 8), FOOT)
        if number in OPENED:
            lines[number] = [centred(OPENED[number], 500, size=18), *text_lines(number, 24, first=420), folio]
        elif number + 1 in OPENED:
            lines[number] = []
        else:
            lines[number] = [centred(TITLE, HEAD), *text_lines(number), folio]
    lines |= changed or {}
    return read_book(measurements_of(*(_page(number, lines[number]) for number in sorted(lines)), images=images))


def _page(number: int, lines: list[Line]) -> Page:
    """A page on which nothing prints but these lines."""
    return page(number, lines).model_copy(update={"ink": around([each.box for each in lines])})


def _kinds(book: Book, pages: range) -> list[str]:
    return [each.kind for each in book.pages if each.page in pages]


def _expected(book: Book) -> dict[int, bool | None]:
    return {each.page: each.expected for each in book.pages if each.kind == "blank"}


def test_front_matter_in_its_order() -> None:
    book = _book()
    assert _kinds(book, range(1, 10)) == [
        "half-title", "blank", "title", "imprint", "dedication", "blank", "contents", "blank", "opening"
    ]  # fmt: skip
    assert [each.part for each in book.pages if each.page < 10] == ["front"] * 8 + ["body"]
    assert book.title == TITLE
    assert book.imprint is not None
    assert (book.imprint.page, book.imprint.isbns) == (4, ("9780306406157",))
    assert book.imprint.copyright == "© 2026 Vesna Okoro"
    assert "front-matter" not in {each.what for each in book.not_read}


def test_blanks_of_a_sound_book_are_expected() -> None:
    assert _expected(_book()) == dict.fromkeys((2, 6, 8, 14, 20, 26), True)


def test_a_blank_that_no_convention_asks_for() -> None:
    """In the middle of a chapter, and the second of two."""
    assert _expected(_book({18: []}))[18] is False
    assert _expected(_book({19: []}))[19] is False
    assert _expected(_book({19: []}))[20] is True
    assert _expected(_book({17: [], 18: []})) == dict.fromkeys((2, 6, 8, 14, 20, 26), True) | {17: False, 18: False}


def test_blanks_at_the_very_end_are_left_to_another_rule() -> None:
    assert _expected(_book({31: [], 32: []}))[32] is None


def test_a_page_that_only_bears_what_runs_around_the_text_is_blank() -> None:
    """A running head and a folio on a blank verso, as LaTeX leaves them (C++ Annotations, pages 46 and 90)."""
    book = _book({14: [centred(TITLE, HEAD), centred("6", FOOT)]})
    assert book.pages[13].kind == "blank"
    assert book.pages[13].expected is True


def test_a_title_page_of_several_lines_with_small_words_between() -> None:
    lines = [centred("The Memory", 520, size=26), centred("of", 495, size=12), centred("the Salt Road", 470, size=26),
             centred("VOLUME ONE", 300, size=26)]  # fmt: skip
    assert _book({1: [], 3: lines}).title == "The Memory of the Salt Road"


def test_a_half_title_set_as_large_as_the_title() -> None:
    book = _book({1: [centred(TITLE, 500, size=26)]})
    assert _kinds(book, range(1, 4)) == ["half-title", "blank", "title"]


def test_a_second_half_title_before_the_text() -> None:
    """The page that faces chapter one has the book's title alone (common practice, no source)."""
    book = _book({8: [centred(TITLE, 500, size=14)]})
    assert book.pages[7].kind == "half-title"


def test_an_epigraph_after_the_contents_is_no_dedication() -> None:
    book = _book({8: [centred("The sea keeps no accounts.", 420, size=10.5)]})
    assert "dedication" not in _kinds(book, range(6, 10))


def test_numbers_on_the_title_page_itself() -> None:
    """A book without an imprint page: the notice stands below the title."""
    notice = [centred("© 2026 Vesna Okoro", 90, size=8), centred("ISBN 978-0-306-40615-7", 80, size=8)]
    book = _book({3: [centred(TITLE, 500, size=26), *notice], 4: []})
    assert book.pages[2].kind == "title"
    assert book.imprint is not None
    assert (book.imprint.page, book.imprint.isbns) == (3, ("9780306406157",))


def test_an_imprint_at_the_end() -> None:
    """As in several countries of the continent (common practice, no source)."""
    book = _book({4: [], 32: FRONT[4]})
    assert book.imprint is not None
    assert (book.imprint.page, book.pages[31].kind) == (32, "imprint")


def test_a_title_verso_without_a_notice_is_the_imprint() -> None:
    book = _book({4: [line("Set on the island, in small type.", 36, 96, size=8)]})
    assert book.imprint is not None
    assert (book.imprint.page, book.imprint.isbns, book.imprint.copyright) == (4, (), None)


def test_where_no_title_page_is_told_it_is_said() -> None:
    book = _book({1: [], 3: [], 4: [], 5: []})
    assert book.title is None
    assert "front-matter" in {each.what for each in book.not_read}


def test_a_plate_shows_a_picture_and_a_caption() -> None:
    left, right = edges(18)
    picture = Image(page=18, box=(left, 200, right, 560), pixels=(1200, 1600), ppi=(300, 300), colour="gray", bits=8)
    caption = [line("The pier in the year of the ice.", left, 180, size=9)]
    assert _book({18: caption}, images=(picture,)).pages[17].kind == "plate"
    assert _book(images=(picture,)).pages[17].kind == "text"
    small = picture.model_copy(update={"box": (left, 500, left + 80, 560)})
    assert _book({18: []}, images=(small,)).pages[17].kind == "plate"


def test_the_body_starts_where_arabic_numbers_follow_roman_ones() -> None:
    """An introduction in the body, before chapter one, on folio 1; the preface on vii is in front."""
    roman = {number: [*text_lines(number), centred(to_roman(number), FOOT)] for number in (5, 6)}
    roman[7] = [*_contents(7), centred("vii", FOOT)]
    book = _book({**roman, 8: [*text_lines(8), centred("viii", FOOT)]})
    assert next(each.page for each in book.pages if each.part == "body") == 9


def test_back_matter_is_what_follows_the_last_numbered_chapter() -> None:
    names = {9: "1 Low Water", 15: "2 Slack", 21: "3 The Mole", 27: "About the author"}
    opened = {
        number: [centred(name, 500, size=18), *text_lines(number, 24, first=420), centred(str(number - 8), FOOT)]
        for number, name in names.items()
    }
    book = _book(opened)
    assert [each.part for each in book.pages if each.page in (26, 27, 32)] == ["body", "back", "back"]
    assert {each.part for each in _book().pages} == {"front", "body"}


@pytest.mark.parametrize("number", [5, 6])
def test_a_page_of_full_lines_in_front_is_text(number: int) -> None:
    book = _book({5: [], number: text_lines(number, 4, first=480)})
    assert book.pages[number - 1].kind == "text"
