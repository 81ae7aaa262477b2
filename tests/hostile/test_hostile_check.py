"""Hostile files through the command: a finding or a named limit, within the limits, never a traceback."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.hostile import bombs, damage, excess
from tests.hostile.check import assert_answered, check

Builder = Callable[[Path], Path]

# Every reader gives up on these, or mends them: the answer is a report.
UNREADABLE: dict[str, Builder] = {
    "a header alone": damage.header_alone,
    "no catalogue": damage.no_catalogue,
    "no page": damage.zero_pages,
    "pages that are all lost": damage.no_page_left,
}


@pytest.mark.parametrize("builder", UNREADABLE.values(), ids=UNREADABLE.keys())
def test_a_file_that_no_reader_opens_is_damaged(tmp_path: Path, builder: Builder) -> None:
    answer = check(builder(tmp_path / "hostile.pdf"))
    assert_answered(answer)
    assert answer.status == 1
    assert "damaged-file" in answer.rules


def test_a_truncated_file_is_damaged(tmp_path: Path) -> None:
    answer = check(damage.truncated(tmp_path / "hostile.pdf"))
    assert_answered(answer)
    assert "damaged-file" in answer.rules


def test_a_lost_page_is_damage_and_is_not_taken_for_a_blank_one(tmp_path: Path) -> None:
    answer = check(damage.lost_page(tmp_path / "hostile.pdf", "garbage", at=0))
    assert_answered(answer)
    assert answer.status == 1
    assert answer.report is not None
    assert answer.report["pages"] == 4
    assert "damaged-file" in answer.rules
    assert not answer.rules & {"blank-first", "mixed-page-sizes"}
    assert any("Page 1 could not be read" in item["why"] for item in answer.report["not_checked"])


@pytest.mark.parametrize("builder", [damage.encrypted, damage.encrypted_with_password], ids=["empty", "a real one"])
def test_a_password_is_found(tmp_path: Path, builder: Builder) -> None:
    answer = check(builder(tmp_path / "hostile.pdf"))
    assert_answered(answer)
    assert answer.status == 1
    assert "encrypted" in answer.rules


def test_with_an_empty_password_the_pages_are_measured(tmp_path: Path) -> None:
    answer = check(damage.encrypted(tmp_path / "hostile.pdf"))
    assert answer.report is not None
    assert answer.report["pages"] == 1
    assert "font-not-embedded" in answer.rules


MENDED: dict[str, Builder] = {
    "page tree that loops": damage.page_tree_loop,
    "parents that loop": damage.page_tree_parent_loop,
    "count that lies": damage.lying_count,
    "cross-reference table that loops": damage.previous_table_loop,
    "form that draws itself": excess.form_calls_itself,
    "forms that draw each other": excess.forms_call_each_other,
    "five thousand forms deep": excess.forms_without_end,
    "glyph that draws itself": excess.glyph_draws_itself,
    "arrays 200 000 deep in the content": excess.deep_arrays_in_content,
    "arrays 50 000 deep in an object": excess.deep_arrays_in_object,
    "a million graphics states": excess.deep_graphics_states,
    "outline that loops": excess.deep_outline,
    "names that loop": excess.deep_names,
    "form fields that loop": excess.deep_form_fields,
    "absurd user units": damage.absurd_user_unit,
    "map to endless text": excess.unicode_bomb,
    "a hundred thousand links": excess.long_annotations,
    "two million elements in an array": excess.long_text_array,
}


@pytest.mark.parametrize("builder", MENDED.values(), ids=MENDED.keys())
def test_an_answer_all_the_same(tmp_path: Path, builder: Builder) -> None:
    assert_answered(check(builder(tmp_path / "hostile.pdf")))


_INFLATES = r"page 1\b.*inflates past 256 MB"

# Each with what the line on standard error has to name.
TOO_MUCH: dict[str, tuple[Builder, str]] = {
    "content that inflates to 1 GiB": (excess.compression_bomb, _INFLATES),
    "the same, deflated twice": (excess.nested_compression_bomb, _INFLATES),
    "LZW": (bombs.by_lzw, _INFLATES),
    "run lengths": (bombs.by_run_lengths, _INFLATES),
    "LZW within deflate": (bombs.by_lzw_within_deflate, _INFLATES),
    "run lengths within base 85": (bombs.by_run_lengths_within_base_85, _INFLATES),
    "deflate within LZW": (bombs.by_deflate_within_lzw, _INFLATES),
    "a filter's short name": (bombs.by_short_name, _INFLATES),
    "a predictor's endless row": (bombs.by_predictor, _INFLATES),
    "such a row before LZW": (bombs.by_predictor_before_lzw, _INFLATES),
    "a hundred parts": (bombs.by_many_parts, _INFLATES),
    "a font program": (bombs.font_program, _INFLATES),
    "metadata": (bombs.metadata, "inflates past 256 MB"),
    "a map to Unicode": (bombs.to_unicode, _INFLATES),
    "a stream of objects": (bombs.object_stream, "a stream of objects inflates past 256 MB"),
    "six thousand pages": (excess.many_pages, r"6,000 pages.*5,000"),
}


@pytest.mark.parametrize(("builder", "named"), TOO_MUCH.values(), ids=TOO_MUCH.keys())
def test_a_limit_is_named(tmp_path: Path, builder: Builder, named: str) -> None:
    """Crossing a limit of the service is no finding: exit 2 names the limit and, where known, the page."""
    answer = check(builder(tmp_path / "hostile.pdf"), seconds=15)
    assert_answered(answer)
    assert answer.status == 2
    assert re.search(named, answer.said), answer.said


def test_forms_too_deep_to_follow_are_not_taken_for_a_blank_page(tmp_path: Path) -> None:
    """The text stands five thousand forms deep: the page is given up, and said to be."""
    answer = check(excess.forms_without_end(tmp_path / "hostile.pdf"))
    assert answer.report is not None
    assert "blank-first" not in answer.rules
    assert any("could not be read" in item["why"] for item in answer.report["not_checked"])


WORK: dict[str, Builder] = {
    "ten thousand million drawings": excess.exponential_forms,
    "a string of fifty million": excess.long_string,
    "five million operators": excess.five_million_operators,
    "two and a half million marks": excess.two_million_marks,
    "a picture that inflates to 1 GiB": excess.picture_bomb,
}


@pytest.mark.parametrize("builder", WORK.values(), ids=WORK.keys())
def test_much_work_is_done_or_the_limit_is_named(tmp_path: Path, builder: Builder) -> None:
    """Whichever comes first, in the time that there is: five seconds here, and one more to start and to say so."""
    answer = check(builder(tmp_path / "hostile.pdf"), seconds=5)
    assert_answered(answer)
    assert answer.status < 2 or re.search("5 seconds|operators", answer.said), answer.said


def test_markup_stays_text(tmp_path: Path) -> None:
    answer = check(damage.markup(tmp_path / "hostile.pdf"))
    assert_answered(answer)
    assert "font-not-embedded" in answer.rules


@pytest.mark.parametrize(
    ("name", "data"),
    [("empty.pdf", b""), ("letter.pdf", b"Dear Sir, I enclose my book."), ("picture.pdf", b"\x89PNG\r\n\x1a\n")],
)
def test_not_a_pdf_is_turned_away_in_one_line(tmp_path: Path, name: str, data: bytes) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    answer = check(path)
    assert answer.status == 2
    assert_answered(answer)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    answer = check(tmp_path / "none.pdf")
    assert answer.status == 2
    assert_answered(answer)


@pytest.mark.parametrize("box", damage.ABSURD_BOXES.values(), ids=damage.ABSURD_BOXES.keys())
def test_an_absurd_box_has_an_answer(tmp_path: Path, box: bytes) -> None:
    answer = check(damage.absurd_box(tmp_path / "hostile.pdf", box))
    assert_answered(answer)
    assert answer.report is not None
    assert answer.report["pages"] == 2


@pytest.mark.parametrize("tenths", range(1, 10))
def test_a_file_cut_anywhere_has_an_answer(tmp_path: Path, tenths: int) -> None:
    data = damage.sound(tmp_path / "sound.pdf").read_bytes()
    path = tmp_path / "hostile.pdf"
    path.write_bytes(data[: len(data) * tenths // 10])
    answer = check(path)
    assert_answered(answer)
    assert "damaged-file" in answer.rules


def test_a_file_that_is_too_large_is_turned_away(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PRESSWORTHY_MAX_BYTES", "1000")
    answer = check(damage.markup(tmp_path / "hostile.pdf"))
    assert_answered(answer)
    assert answer.status == 2
    assert "1 kB" in answer.said


def test_the_next_file_is_none_the_worse(tmp_path: Path) -> None:
    """A hostile file leaves nothing behind: a sound one is judged the same before and after it."""
    sound = damage.sound(tmp_path / "sound.pdf")
    before = check(sound)
    assert check(bombs.by_lzw_within_deflate(tmp_path / "hostile.pdf")).status == 2
    after = check(sound)
    assert before.report is not None
    assert after.report is not None
    assert (after.status, after.report["findings"]) == (before.status, before.report["findings"])
