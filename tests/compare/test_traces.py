"""Traces of pages: the same words leave the same samples, however they are set; and they are small."""

from __future__ import annotations

import random
import string
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from tests.books.designs.by_typst import prose
from tests.books.designs.sound import PLAIN
from tests.compare.books import made
from tests.report.books import page_of
from worker.book.traces import FEWEST, MOST, SAMPLE, WINDOW, samples, traces
from worker.compare.followed import FIRM
from worker.measure.models import Line

WORDS = [word for chapter in prose() for paragraph in chapter["paragraphs"] for word in paragraph.split()]


def _trace(lines: list[str]) -> str:
    page = page_of(1, blank=True)
    made_lines = tuple(Line(box=(0, 0, 1, 1), baseline=0, text=text, font="Tern Serif", size=10) for text in lines)
    (trace,) = traces([page.model_copy(update={"lines": made_lines})])
    return trace


@given(st.integers(0, len(WORDS) - 400), st.data())
def test_line_breaks_hyphens_folios_and_ligatures_change_nothing(at: int, data: st.DataObject) -> None:
    words = WORDS[at : at + 300]
    lines = []
    while words:
        count = data.draw(st.integers(1, 60))
        line, words = " ".join(words[:count]), words[count:]
        if words and words[0].isalpha() and len(words[0]) > 5 and data.draw(st.booleans()):
            line, words[0] = f"{line} {words[0][:3]}-", words[0][3:]
        lines.append(line.replace("fi", "ﬁ").replace("fl", "ﬂ") if data.draw(st.booleans()) else line)
    lines.append(str(data.draw(st.integers(1, 999))))
    assert _trace(lines) == _trace([" ".join(WORDS[at : at + 300])])


def test_a_third_of_a_page_is_enough_to_find_it_again() -> None:
    """The last 150 words of a page of 450, at the head of another page: most of the time they share what is enough."""
    starts = range(0, len(WORDS) - 900, 25)
    shared = []
    for at in starts:
        before = _trace([" ".join(WORDS[at : at + 450])])
        after = _trace([" ".join(WORDS[at + 300 : at + 750])])
        shared.append(len(set(samples(before)) & set(samples(after))))
    assert sum(count >= FIRM for count in shared) >= 0.9 * len(shared)


@given(st.lists(st.text(max_size=200), max_size=8))
def test_any_text_has_a_trace_and_a_small_one(lines: list[str]) -> None:
    trace = _trace(lines)
    assert len(trace) <= MOST * SAMPLE
    assert len(trace) % SAMPLE == 0
    assert set(trace) <= set(string.ascii_letters + string.digits + "+/")  # base64: RFC 4648, section 4
    assert _trace(lines) == trace


@given(st.text(string.digits + string.punctuation + " —–“”’…", max_size=60))
def test_figures_and_marks_alone_leave_none(text: str) -> None:
    assert _trace([text]) == ""


def test_eight_hundred_pages_take_no_more_than_sixty_kilobytes() -> None:
    quotes_and_comma = 3
    assert 800 * (MOST * SAMPLE + quotes_and_comma) <= 60_000


def test_scripts_of_several_bytes_a_letter_leave_samples_too() -> None:
    texts = {
        "greek": "η παλίρροια κατέβηκε αργά και το νησί έμεινε μόνο του ως το πρωί",
        "cyrillic": "вода ушла от берега раньше обычного и через час зажгли огонь на маяке",
        "japanese": "潮が引く と島の 子ども たちは 浜へ出て 貝を拾い 夕方まで 帰らなかった という 話である",
    }
    for text in texts.values():
        page = " ".join(random.Random(7).choices(text.split(), k=300))
        assert FEWEST <= len(samples(_trace([page]))) <= MOST


def test_a_page_of_a_few_words_is_known_by_all_of_them() -> None:
    assert _trace(["For whoever", "finds this"]) == _trace(["For whoever finds", "this"]) != ""
    assert _trace(["For whoever", "finds this"]) != _trace(["For whoever", "lost this"])
    assert len("Forwhoeverfindsthis") < WINDOW


def test_every_page_of_a_book_has_one_and_only_blanks_have_an_empty_one(tmp_path: Path) -> None:
    book = made(PLAIN, tmp_path / "book.pdf")
    blank = [page.page for page in book.reading.facts.pages if page.blank]
    assert blank
    assert [page for page, trace in enumerate(book.reading.traces, start=1) if not trace] == blank
