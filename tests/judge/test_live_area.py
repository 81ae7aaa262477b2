"""Where text may stand. The sound page of a text block of 54 / 36 / 54 / 54 pt, its mirrored verso, and what fails."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.judge.factory import PROFILE, TRIM, book, document, page, profile, sound
from worker.judge import judge
from worker.judge.live_area import live_area
from worker.judge.models import Finding
from worker.measure.models import Measurements
from worker.profiles import Profile, load_profile, parse_profile_toml


def found(measurements: Measurements, rule: str, by: Profile | None = None, pages: int | None = None) -> Finding | None:
    findings = judge(measurements, by or profile(), judged_as_pages=pages).findings
    return next((finding for finding in findings if finding.rule == rule), None)


def filled(inside: float, outside: float, pages: int = 8) -> Measurements:
    return book(*(page(number, inside, outside) for number in range(1, pages + 1)))


def unmirrored(left: float, right: float, pages: int = 8) -> Measurements:
    """The same place on every page: inside is left on rectos and right on versos."""
    return book(*(page(n, left, right) if n % 2 else page(n, right, left) for n in range(1, pages + 1)))


@pytest.mark.parametrize(("pages", "asked"), [(799, 0.9), (800, 0.95), (900, 0.95)])
def test_a_thick_book_set_half_an_inch_on_both_sides_is_too_tight_inside(pages: int, asked: float) -> None:
    """Common practice, no source: a book of 800 pages and more wants 0.95 in inside."""
    finding = found(filled(36, 36), "inside-margin", load_profile("common-paperback"), pages)
    assert finding is not None
    assert finding.page_ranges == "1–8"
    assert finding.required is not None
    assert finding.required.value == pytest.approx(asked * 72)
    assert f"{asked:g} in" in finding.remedy
    assert found(filled(asked * 72, 36), "inside-margin", load_profile("common-paperback"), pages) is None


@pytest.mark.parametrize(("short", "accused"), [(0.0, False), (0.04, False), (0.06, True), (0.72, True)])
def test_a_margin_short_by_rounding_alone_is_not_accused(short: float, accused: bool) -> None:
    """A word processor rounds to a twip, 1/20 pt (common practice, no source)."""
    measurements = book(*(page(number, foot=21.6 - short) for number in range(1, 9)))
    finding = found(measurements, "foot-margin")
    assert (finding is not None) == accused
    if finding is not None:
        assert "within 0.3 in (7.6 mm) of" not in finding.detail


def test_text_past_the_edge_is_said_to_be_past_it() -> None:
    finding = found(
        book(*(page(number, outside=-9 if number == 5 else 36) for number in range(1, 9))), "outside-margin"
    )
    assert finding is not None
    assert (finding.pages, finding.measured and finding.measured.value) == ((5,), -9)
    assert "runs 0.125 in (3.2 mm) past the outer edge" in finding.detail


def test_a_line_that_stands_out_alone_is_mended_in_place() -> None:
    stray = found(book(*(page(number, head=10 if number == 5 else 54) for number in range(1, 9))), "head-margin")
    everywhere = found(book(*(page(number, head=10) for number in range(1, 9))), "head-margin")
    assert stray is not None
    assert everywhere is not None
    assert stray.remedy.startswith("On page 5, bring what stands out")
    assert everywhere.remedy.startswith("Set the top margin")


def test_marks_name_the_worst_pages_first_at_the_edge_concerned() -> None:
    finding = found(book(*(page(number, inside=30 - number) for number in range(1, 21))), "inside-margin")
    assert finding is not None
    assert [mark.page for mark in finding.marks] == list(range(20, 8, -1))
    verso, recto = finding.marks[0], finding.marks[1]
    assert verso.box[2] == pytest.approx(432 - 10)  # the right edge of the text of a verso
    assert recto.box[0] == pytest.approx(11)  # the left one of a recto
    assert verso.text == "0.139 in (3.5 mm)"


# --- mirroring ---


def test_margins_that_do_not_mirror() -> None:
    """Rectos 54 / 36, and the same box on versos, is 36 inside (common practice, no source)."""
    finding = found(unmirrored(54, 36), "mirrored-margins")
    assert finding is not None
    assert (finding.key, finding.pages) == ("mirrored-margins/same-side", (2, 4, 6, 8))
    assert found(unmirrored(36, 54), "mirrored-margins").pages == (1, 3, 5, 7)  # type: ignore[union-attr]
    assert found(filled(54, 36), "mirrored-margins") is None


def test_the_wide_margin_outside() -> None:
    finding = found(filled(36, 54), "mirrored-margins")
    assert finding is not None
    assert (finding.key, finding.count) == ("mirrored-margins/wrong-way", 8)


def test_a_page_of_the_canon_of_ninths_is_a_design() -> None:
    """6 × 9 in: 0.667 in inside, 1.333 in outside (canons of Van de Graaf, Rosarivo and Tschichold)."""
    assert found(filled(48, 96), "mirrored-margins") is None
    # but too tight inside for a book of this many pages is no design
    assert found(filled(48, 96), "mirrored-margins", pages=600).key == "mirrored-margins/wrong-way"  # type: ignore[union-attr]


def test_equal_margins_are_a_fault_only_where_a_gutter_is_wanted() -> None:
    assert found(filled(54, 54), "mirrored-margins").key == "mirrored-margins/equal"  # type: ignore[union-attr]
    no_gutter = PROFILE.replace('outside = "0.3 in"', 'outside = "0.9 in"')
    assert found(filled(70, 70), "mirrored-margins", parse_profile_toml(no_gutter)) is None


def test_ragged_lines_do_not_pass_for_margins() -> None:
    """Line starts stand still and line ends do not: mirrored 54 / 36, ends short by up to 17 pt."""
    pages = [
        page(n, inside=54 if n % 2 else 54 + 3 * (n % 7), outside=36 if n % 2 == 0 else 36 + 3 * (n % 6))
        for n in range(1, 41)
    ]
    assert found(book(*pages), "mirrored-margins") is None


def test_titles_in_the_middle_of_a_page_tell_nothing() -> None:
    titles = [page(n, inside=160, outside=160) for n in range(1, 7)]
    assert found(book(*titles, *(page(n) for n in range(7, 15))), "mirrored-margins") is None
    judgement = judge(book(*titles), profile())
    assert {each.rule for each in judgement.not_checked} >= {"mirrored-margins"}


def test_text_near_the_spine_because_margins_do_not_mirror_is_found_and_its_remedy_is_mirroring() -> None:
    finding = found(unmirrored(54, 20), "inside-margin")
    assert finding is not None
    assert finding.pages == (2, 4, 6, 8)
    assert finding.remedy.startswith("Mirror the margins first")
    wrong_way = found(filled(20, 54), "inside-margin")
    assert wrong_way is not None
    assert wrong_way.remedy.startswith("Exchange the inside and outside margins first")


# --- binding ---

RIGHT = PROFILE.replace("[interior]", '[interior]\nbinding_edge = "right"')


def test_a_profile_that_binds_on_the_right_turns_the_pages() -> None:
    """54 at the left of page 1 is its outside there, and 36 at the right its inside."""
    assert found(filled(54, 30), "inside-margin") is None
    finding = found(filled(54, 30), "inside-margin", parse_profile_toml(RIGHT))
    assert finding is not None
    assert finding.measured is not None
    assert finding.measured.value == 30


def test_a_file_that_binds_on_the_right_keeps_its_sides() -> None:
    turned = {"recto": "verso", "verso": "recto"}
    pages = [page(n, 30, 54).model_copy(update={"side": turned[page(n).side]}) for n in range(1, 9)]
    measurements = book(*pages, document=document(8, binding_edge="right"))
    for by in (profile(), parse_profile_toml(RIGHT)):
        finding = found(measurements, "inside-margin", by)
        assert finding is not None
        assert finding.measured is not None
        assert finding.measured.value == 30


def test_the_live_area() -> None:
    recto, verso = page(1), page(2)
    assert live_area(recto, profile(), 100) == pytest.approx((32.4, 21.6, 432 - 21.6, 648 - 21.6))
    assert live_area(verso, profile(), 100) == pytest.approx((21.6, 21.6, 432 - 32.4, 648 - 21.6))
    assert live_area(recto, profile(), 421)[0] == pytest.approx(64.8)
    assert live_area(recto, parse_profile_toml(RIGHT), 100) == pytest.approx((21.6, 21.6, 432 - 32.4, 648 - 21.6))


margin = st.floats(min_value=-20, max_value=150)


@given(st.integers(1, 2), margin, margin, margin, margin)
def test_text_is_within_the_live_area_just_where_no_margin_is_accused(
    number: int, inside: float, outside: float, head: float, foot: float
) -> None:
    sheet = page(number, inside, outside, head, foot)
    x0, y0, x1, y1 = live_area(sheet, profile(), 100)
    text = sheet.text or TRIM
    slack = min(text[0] - x0, text[1] - y0, x1 - text[2], y1 - text[3])
    accused = {
        each.rule for each in judge(book(*sound().pages[: number - 1], sheet), profile(), judged_as_pages=100).findings
    }
    margins = {"inside-margin", "outside-margin", "head-margin", "foot-margin"}
    if abs(slack + 0.05) > 1e-6:
        assert (slack < -0.05) == bool(accused & margins)
