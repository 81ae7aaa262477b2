"""The rules about how a book is built: a sound book passes, and each flaw alone is found on its very page.

Every page is counted, the text begins with arabic 1 on a recto (CMOS 17 1.5-1.9, read second-hand); no folio or running
head on blanks, no running head over openings (CMOS 16 1.6 and 1.15, from memory); half title, title page, imprint,
dedication, contents in this order (Chicago 1.4, New Hart's Rules 1.2.1, both read second-hand); openings sunk alike and
odd folios on rectos (common practice, no source).
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.judge.built import (
    FIRST,
    FRONT,
    LAST,
    OPENINGS,
    PAGES,
    TITLES,
    book_page,
    entry,
    folio,
    head,
    listed,
    measured,
    opening,
    sound_book,
)
from tests.judge.factory import profile
from worker.book import Book
from worker.book.models import BookPage, ContentsEntry, ContentsList, NotRead, Opening, Stranded
from worker.judge import judge
from worker.judge.models import Finding, Judgement
from worker.measure.models import Image


def judged(book: Book, **facts: Any) -> Judgement:
    return judge(measured().model_copy(update=facts), profile(), book=book)


def only(book: Book, **facts: Any) -> Finding:
    """The one finding of a book that is flawed in one thing."""
    (finding,) = judged(book, **facts).findings
    return finding


def with_pages(changed: dict[int, dict[str, Any]], **keys: Any) -> Book:
    pages = {f"p{number}": book_page(number).model_copy(update=update) for number, update in changed.items()}
    return sound_book(**pages).model_copy(update=keys)


def shifted(by: int, first: int = 1, last: int = PAGES) -> dict[int, dict[str, Any]]:
    """Other numbers on the pages that bear one."""
    return {
        number: {"folio": folio(number, number - FRONT + by), "counted": str(number - FRONT + by)}
        for number in range(first, last + 1)
        if book_page(number).folio
    }


def openings(**changed: Opening) -> tuple[Opening, ...]:
    return tuple(changed.get(f"o{count}", opening(count)) for count in range(len(TITLES)))


def test_a_sound_book() -> None:
    judgement = judged(sound_book())
    assert judgement.findings == ()
    assert {each.rule for each in judgement.not_checked} & {"folio-order", "running-head", "widow"} == set()


def test_front_matter_counted_in_arabic() -> None:
    """Nine instead of one: the start number of the document is 2 − 9."""
    finding = only(with_pages(shifted(8)))
    assert (finding.rule, finding.pages) == ("first-folio", (9,))
    assert "-7" in finding.remedy


def test_front_matter_counted_in_arabic_before_a_part() -> None:
    """The title of the part is 1, the first chapter 3 (Chicago 1.4, read second-hand): 2 − 9 again, not 2 − 11."""
    part = Opening(
        page=9, kind="part", title="The Island", box=(150, 400, 280, 430), sinkage=230, size=24, signs=("size",)
    )
    pages = shifted(8) | {
        9: {"kind": "part", "folio": None, "counted": "9", "starts_with_text": False},
        10: {"kind": "blank", "folio": None, "head": None, "expected": True},
        11: {"kind": "opening", "head": None, "folio": folio(11, 11), "counted": "11", "starts_with_text": False},
    }
    first = opening(0).model_copy(update={"page": 11})
    contents = listed(entry(0, number="11", target=11, heading=11), *(_counted(n, 8) for n in range(1, 5)))
    finding = only(with_pages(pages, openings=(part, *openings(o0=first)), contents=contents))
    assert (finding.rule, finding.pages) == ("first-folio", (11,))
    assert "-7" in finding.remedy
    assert finding.required is not None
    assert finding.required.value == 3


def test_a_part_that_is_page_1_before_a_chapter_that_is_page_3() -> None:
    part = Opening(
        page=9, kind="part", title="The Island", box=(150, 400, 280, 430), sinkage=230, size=24, signs=("size",)
    )
    pages = {
        9: {"kind": "part", "folio": None, "starts_with_text": False},
        10: {"kind": "blank", "folio": None, "head": None, "expected": True},
        11: {"kind": "opening", "head": None, "starts_with_text": False},
    }
    first = opening(0).model_copy(update={"page": 11})
    contents = listed(entry(0, number="3", target=11, heading=11), *map(entry, range(1, 5)))
    assert judged(with_pages(pages, openings=(part, *openings(o0=first)), contents=contents)).findings == ()


def test_roman_numbers_on_the_wrong_side() -> None:
    front = {
        number: {"folio": folio(number, number - 1, text=text, numerals="roman")}
        for number, text in ((5, "iv"), (7, "vi"))
    }
    finding = only(with_pages(front))
    assert (finding.rule, finding.pages) == ("folio-parity", (5, 7))
    assert "before the text" in finding.title


def _counted(count: int, by: int) -> ContentsEntry:
    return entry(count, number=str(OPENINGS[count] - FRONT + by))


def test_an_opening_without_a_folio_may_be_any_number() -> None:
    assert judged(with_pages(shifted(8) | {9: {"folio": None}})).findings == ()


def test_a_start_number_that_is_odd_by_one() -> None:
    """One cause, one finding: the heavier, which is about the side."""
    finding = only(with_pages(shifted(1)))
    assert finding.rule == "folio-parity"
    assert finding.pages[:2] == (9, 10)


@pytest.mark.parametrize(
    ("changed", "pages"),
    [
        (shifted(2, 30), (30,)),  # skipped
        (shifted(-2, 30), (30,)),  # repeated, going back
        ({31: {"folio": folio(31, 99)}}, (31,)),  # a single wrong one
        (shifted(2, 30, 41) | shifted(4, 42), (30, 42)),
    ],
)
def test_a_count_that_breaks(changed: dict[int, dict[str, Any]], pages: tuple[int, ...]) -> None:
    finding = only(with_pages(changed))
    assert (finding.rule, finding.pages) == ("folio-order", pages)


def test_roman_front_matter_is_a_count_of_its_own() -> None:
    front = {
        number: {"folio": folio(number, number, text=text, numerals="roman")} for number, text in ((5, "v"), (7, "vii"))
    }
    assert judged(with_pages(front)).findings == ()


def test_a_folio_on_a_blank() -> None:
    finding = only(with_pages({20: {"folio": folio(20)}}))
    assert (finding.rule, finding.pages) == ("folio-on-blank", (20,))


def test_a_book_without_folios_is_not_accused() -> None:
    judgement = judged(with_pages({number: {"folio": None, "counted": None} for number in range(1, PAGES + 1)}))
    assert judgement.findings == ()
    assert {"folio-order", "folio-parity", "first-folio"} <= {each.rule for each in judgement.not_checked}


def test_a_chapter_on_a_verso_among_chapters_kept_to_rectos() -> None:
    """The second opens on the page before, which no blank precedes any more."""
    moved = opening(1).model_copy(update={"page": 20})
    pages: dict[int, dict[str, Any]] = {
        20: {"kind": "opening", "expected": None, "box": (60, 50, 370, 590)},
        21: {"kind": "text", "head": head(21)},
    }
    finding = only(
        with_pages(pages, openings=openings(o1=moved), contents=listed(*(entry(n) for n in (0, 2, 3, 4)),
                   entry(1, number="12", target=20, heading=20)))
    )  # fmt: skip
    assert (finding.rule, finding.pages) == ("chapter-on-verso", (20,))


@pytest.mark.parametrize(("by", "title"), [(24, "lower"), (-24, "higher")])
def test_an_opening_that_is_sunk_otherwise(by: float, title: str) -> None:
    x0, y0, x1, y1 = opening(2).box
    moved = opening(2).model_copy(update={"sinkage": 168.0 + by, "box": (x0, y0 - by, x1, y1 - by)})
    finding = only(sound_book().model_copy(update={"openings": openings(o2=moved)}))
    assert (finding.rule, finding.pages) == ("sinkage", (OPENINGS[2],))
    assert title in finding.title
    assert finding.measured is not None
    assert finding.measured.value == 168 + by


def test_a_title_of_two_lines_that_grows_upwards_is_sunk_like_the_others() -> None:
    x0, y0, x1, y1 = opening(2).box
    tall = opening(2).model_copy(update={"sinkage": 148.0, "box": (x0, y0, x1, y1 + 20)})
    assert judged(sound_book().model_copy(update={"openings": openings(o2=tall)})).findings == ()


def test_a_wrong_number_in_the_contents() -> None:
    contents = listed(entry(0), entry(1), entry(2, number="29", target=37), entry(3), entry(4))
    finding = only(sound_book().model_copy(update={"contents": contents}))
    assert (finding.rule, finding.pages, finding.weight.value) == ("contents-page-number", (7,), "spoilage")
    assert "“The Second Bell” is on 29; it is on 25" in finding.detail


def test_a_page_without_a_folio_between_two_that_do_not_agree_is_not_misnumbered() -> None:
    """The folio after the opening was typed wrong: that is all that is told."""
    wrong: dict[int, dict[str, Any]] = {
        33: {"folio": None, "counted": "96"},
        34: {"folio": folio(34, 97), "counted": "97"},
    }
    finding = only(with_pages(wrong))
    assert (finding.rule, finding.pages) == ("folio-order", (34,))


def test_a_contents_that_was_not_made_anew() -> None:
    contents = listed(*(entry(n, number=str(OPENINGS[n] - FRONT - 2), target=OPENINGS[n] - 2) for n in range(5)))
    finding = only(sound_book().model_copy(update={"contents": contents}))
    assert (finding.rule, finding.title) == ("contents-page-number", "The contents is out of date")


def test_a_contents_that_lacks_a_chapter() -> None:
    finding = only(sound_book().model_copy(update={"contents": listed(*(entry(n) for n in (0, 1, 3, 4)))}))
    assert (finding.rule, finding.pages) == ("contents-missing-entry", (7,))
    assert [mark.page for mark in finding.marks] == [OPENINGS[2]]


def test_a_contents_that_lists_what_is_no_heading() -> None:
    stray = entry(2, text="She had never seen it rain so", number="23", target=31, heading=None)
    finding = only(sound_book().model_copy(update={"contents": listed(*map(entry, range(5)), stray)}))
    assert (finding.rule, finding.key) == ("contents-missing-entry", "contents-missing-entry/stray")


def test_the_second_line_of_a_long_entry_is_no_stray_heading() -> None:
    rest = entry(2, text="Bell", number="25", heading=None)
    assert judged(sound_book().model_copy(update={"contents": listed(*map(entry, range(5)), rest)})).findings == ()


def test_what_a_chapter_lists_of_itself_is_not_the_contents_of_the_book() -> None:
    own = ContentsList(kind="contents", title=None, pages=(22,), entries=(entry(1, page=22, text="Sic", heading=None),))
    lists = (*sound_book().contents, own)
    assert judged(sound_book().model_copy(update={"contents": lists})).findings == ()


def test_contents_before_the_title_page() -> None:
    kinds = {3: {"kind": "contents"}, 7: {"kind": "title"}}
    finding = only(with_pages(kinds))
    assert (finding.rule, finding.pages) == ("front-matter-order", (3,))


HEADS: dict[str, tuple[dict[int, dict[str, Any]], tuple[int, ...]]] = {
    "blank": ({20: {"head": head(20)}}, (20,)),
    "opening": ({33: {"head": head(33)}}, (33,)),
    "missing": ({37: {"head": None}}, (37,)),
    "side": ({34: {"head": head(34, position="inside")}}, (34,)),
    "text of the other side": ({35: {"head": head(35, "The Salt Road")}}, (35,)),
    "other": ({35: {"head": head(35, "Two Harbours")}}, (35,)),
}


@pytest.mark.parametrize(("changed", "pages"), HEADS.values(), ids=HEADS.keys())
def test_running_heads(changed: dict[int, dict[str, Any]], pages: tuple[int, ...]) -> None:
    finding = only(with_pages(changed))
    assert (finding.rule, finding.pages) == ("running-head", pages)


def test_a_page_of_display_has_no_head_and_no_folio() -> None:
    display = {"head": None, "folio": None, "first_baseline": 380.0}
    assert judged(with_pages({37: display})).findings == ()


def test_a_page_of_text_that_lost_its_header() -> None:
    finding = only(with_pages({37: {"head": None, "folio": None}}))
    assert (finding.key, finding.pages) == ("running-head/missing", (37,))


def test_a_chapter_whose_heads_stand_otherwise_on_both_sides_exchanges_none() -> None:
    inside = {number: {"head": head(number, position="inside")} for number in range(34, 44)}
    assert judged(with_pages(inside)).findings == ()


def test_versos_whose_header_is_taller_than_that_of_rectos() -> None:
    """Facing pages start at one height (Bringhurst 2.4.9, from memory)."""
    versos = [n for n in range(FRONT + 1, PAGES) if n % 2 == 0 and book_page(n).kind == "text"]
    finding = only(with_pages({number: {"first_baseline": FIRST - 9} for number in versos}))
    assert (finding.key, finding.pages) == ("uneven-text-block/facing", tuple(versos))
    assert finding.measured is not None
    assert finding.measured.value == pytest.approx(9)


def test_a_page_that_starts_lower_than_the_others() -> None:
    finding = only(with_pages({14: {"first_baseline": FIRST - 10}}))
    assert (finding.rule, finding.pages) == ("uneven-text-block", (14,))


def test_a_page_that_ends_early_inside_a_chapter() -> None:
    finding = only(with_pages({14: {"last_baseline": LAST + 42}}))
    assert (finding.rule, finding.pages) == ("uneven-text-block", (14,))


@pytest.mark.parametrize(
    "changed",
    [
        {14: {"last_baseline": LAST + 14}, 15: {"last_baseline": LAST + 14}},  # a line short, both of a spread
        {14: {"last_baseline": LAST + 28}},  # a paragraph of three lines with room for two
        {14: {"first_baseline": 380.0, "last_baseline": LAST + 42}},  # something drawn fills the page
        {14: {"last_baseline": LAST + 42}, 15: {"first_baseline": FIRST - 60}},  # a drawing that did not fit
        {14: {"last_baseline": LAST + 42}, 15: {"starts_with_text": False}},  # a heading that did not fit
        {14: {"first_baseline": FIRST - 10, "starts_with_text": False}},  # a heading at the head
        {19: {"last_baseline": 500.0}},  # the last page of a chapter
    ],
)
def test_pages_that_are_set_as_they_must(changed: dict[int, dict[str, Any]]) -> None:
    assert judged(with_pages(changed)).findings == ()


def test_a_page_with_a_picture_is_left_out() -> None:
    picture = Image(page=14, box=(60, 400, 370, 590), pixels=(1300, 800), ppi=(300, 300), colour="gray", bits=8)
    assert judged(with_pages({14: {"first_baseline": 380.0}}), images=(picture,)).findings == ()


@pytest.mark.parametrize("kind", ["widow", "orphan"])
def test_stranded_lines(kind: str) -> None:
    line = Stranded(page=14, kind=kind, box=(60, 570, 120, 582), text="was out.")
    finding = only(sound_book().model_copy(update={"stranded": (line,)}))
    assert (finding.rule, finding.pages) == (kind, (14,))


def test_a_blank_inside_a_chapter() -> None:
    blank = BookPage(page=13, part="body", kind="blank", counted="5", expected=False)
    finding = only(sound_book(p13=blank))
    assert (finding.rule, finding.pages, finding.key) == ("blank-run", (13,), "blank-run/unexpected")


@pytest.mark.parametrize(
    ("title", "sound"),
    [("The Salt Road", True), ("THE SALT ROAD: a novel", True), ("Salt Road", True), ("manuscript final 3", False)],
)
def test_the_title_of_the_file_beside_the_title_page(title: str, sound: bool) -> None:
    document = measured().document.model_copy(update={"title": title})
    rules = [finding.rule for finding in judged(sound_book(), document=document).findings]
    assert rules == ([] if sound else ["document-title"])


def test_what_could_not_be_read_is_said() -> None:
    unread = NotRead(what="paragraphs", why="the text is verse")
    judgement = judged(sound_book().model_copy(update={"not_read": (unread,)}))
    assert {each.rule: each.why for each in judgement.not_checked}["widow"] == "The text is verse."


@settings(max_examples=30, deadline=None)
@given(st.integers(-3, 20))
def test_sides_depend_on_odd_and_even_alone(by: int) -> None:
    """Numbers that are all off by an even amount stand on the right side; by an odd one none does."""
    rules = {finding.rule for finding in judged(with_pages(shifted(2 * by if by >= 0 else 0))).findings}
    assert "folio-parity" not in rules
    assert "folio-parity" in {finding.rule for finding in judged(with_pages(shifted(2 * abs(by) + 1))).findings}


def test_a_book_bound_on_the_right_opens_on_the_left() -> None:
    """Its odd pages lie on the left; what is wrong with them is told so."""
    document = measured().document.model_copy(update={"binding_edge": "right"})
    findings = judged(with_pages(shifted(1)), document=document).findings
    (parity,) = (finding for finding in findings if finding.rule == "folio-parity")
    assert parity.title == "Odd page numbers stand on right-hand pages"
    assert "left-hand pages have odd numbers" in parity.detail
