"""The report as a text: calm, within its width, plain when told so."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.judge import built
from tests.report.books import MEASURED_AT, book, finding, inside_finding, judgement, unreadable
from worker.book import read_book
from worker.judge.models import Weight
from worker.profiles import builtin_profiles
from worker.report.compose import compose
from worker.report.models import Report
from worker.report.text import LEAST_WIDTH, render_text

MONO = builtin_profiles()["ternhaven-mono"]


def report(pages: int = 300, words: str = "Words.") -> Report:
    findings = (
        inside_finding(tuple(range(3, pages + 1, 2))),
        finding("small-type", Weight.SPOILAGE, (7,), detail=words),
        finding("widow", Weight.POLISH, (7, 9), title=words),
    )
    return compose(book(pages), read_book(book(pages)), judgement(findings, pages), MONO, measured_at=MEASURED_AT)


@pytest.mark.parametrize("width", [40, 60, 80, 132])
def test_no_line_is_wider_than_the_screen(width: int) -> None:
    assert max(map(len, render_text(report(), width=width).splitlines())) <= width


@given(words=st.text(max_size=300), width=st.integers(min_value=1, max_value=200))
def test_any_words_fit_and_hold_no_control_codes(words: str, width: int) -> None:
    text = render_text(report(40, words), width=width)
    assert all(len(line) <= max(width, LEAST_WIDTH) for line in text.splitlines())
    assert "\x1b" not in text


def test_colour_adds_codes_and_changes_no_word() -> None:
    plain, bold = render_text(report()), render_text(report(), colour=True)
    assert "\x1b[" not in plain
    assert "\x1b[1m" in bold
    for code in ("\x1b[1m", "\x1b[2m", "\x1b[0m"):
        bold = bold.replace(code, "")
    assert bold == plain


def test_the_table_stays_whole_at_eighty_columns_in_either_unit() -> None:
    for unit in ("in", "mm"):
        lines = render_text(report(), unit=unit, width=80).splitlines()
        head = next(line for line in lines if line.startswith("Setting"))
        places = [head.index(name) for name in ("Measured", "Asked", "Type this")]
        inside = next(line for line in lines if line.startswith("Inside margin"))
        assert all(inside[place - 1] == " " and inside[place] != " " for place in places)


def test_the_fore_edge_shows_the_weightiest_of_each_place() -> None:
    text = render_text(compose(book(20), read_book(book(20)),
                               judgement((finding("widow", Weight.POLISH, (5,)),), 20), MONO,
                               measured_at=MEASURED_AT))  # fmt: skip
    assert "1 ··┆······· 20" in text


def test_how_the_book_is_built_is_told() -> None:
    made = compose(built.measured(), built.sound_book(), judgement((), built.PAGES), MONO, measured_at=MEASURED_AT)
    text = " ".join(render_text(made).split())
    assert "Folios: pages 9–67: 1 to 59" in text
    assert "Title page: page 3" in text
    assert "Openings: The Tide Book (page 9, folio 1); Two Harbours (page 21, folio 13);" in text
    assert "Entries of “Contents”: 5" in text


def test_a_file_without_pages_has_no_fore_edge_and_no_numbers() -> None:
    found = judgement((finding("damaged-file", Weight.REFUSAL, ()),), 0)
    text = render_text(compose(unreadable(), read_book(unreadable()), found, MONO, measured_at=MEASURED_AT))
    assert "the whole file" in text
    assert "numbers to set" not in text
