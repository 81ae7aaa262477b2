"""Each rule: a sound book passes, a book flawed in just that fails on just those pages.

The geometry of the sound book and the figures of margins by page count are common practice, no source; arithmetic is
1 in = 72 pt.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.judge.factory import book, page, profile, sound
from worker.judge import judge
from worker.judge.models import Finding, Judgement, Verdict
from worker.measure.models import Annotation, Document, Font, Image, Link, Measurements, Reach, Unreadable

PICTURE = {"box": (50, 50, 338, 482), "pixels": (1200, 1800), "colour": "gray", "bits": 8, "filter": "DCTDecode"}


def only(measurements: Measurements, pages: int | None = None) -> Finding:
    """The one finding of a book that is flawed in one thing."""
    (finding,) = judge(measurements, profile(), judged_as_pages=pages).findings
    return finding


def flawed(**pages: object) -> Measurements:
    return book(*(pages.get(f"p{number}", page(number)) for number in range(1, 9)))  # type: ignore[arg-type]


def test_a_sound_book() -> None:
    judgement = judge(sound(), profile())
    assert judgement.findings == ()
    assert judgement.verdict is Verdict.PRESSWORTHY


@pytest.mark.parametrize("rule", ["inside", "outside", "head", "foot"])
def test_a_page_whose_text_stands_too_near_an_edge(rule: str) -> None:
    near: dict[str, Any] = {rule: 18.0}
    finding = only(flawed(p3=page(3, **near)))
    assert (finding.rule, finding.pages, finding.page_ranges) == (f"{rule}-margin", (3,), "3")
    assert finding.measured is not None
    assert finding.measured.value == 18
    assert "0.25 in" in finding.detail
    assert finding.marks[0].page == 3


@pytest.mark.parametrize(("pages", "least"), [(160, None), (164, 46.8), (420, 46.8), (424, 64.8)])
def test_the_inside_margin_follows_the_page_count(pages: int, least: float | None) -> None:
    measurements = book(*(page(number, inside=36, outside=34) for number in range(1, 9)))
    margins = [each for each in judge(measurements, profile(), judged_as_pages=pages).findings if "inside" in each.rule]
    assert [each.required.value for each in margins if each.required] == pytest.approx([] if least is None else [least])


@pytest.mark.parametrize(
    ("form", "recto", "verso"),
    [("same-side", (60, 36), (36, 60)), ("wrong-way", (36, 60), (36, 60)), ("equal", (54, 54), (54, 54))],
)
def test_three_ways_in_which_margins_are_not_mirrored(
    form: str, recto: tuple[float, float], verso: tuple[float, float]
) -> None:
    measurements = book(*(page(number, *(recto if number % 2 else verso)) for number in range(1, 9)))
    found = {finding.key for finding in judge(measurements, profile()).findings}
    assert f"mirrored-margins/{form}" in found


def test_sizes() -> None:
    digest = (0.0, 0.0, 396.0, 612.0)
    finding = only(book(*(page(number, trim=digest) for number in range(1, 9))))
    assert (finding.rule, finding.count) == ("trim-size", 8)
    finding = only(flawed(p5=page(5, trim=digest)))
    assert (finding.rule, finding.pages) == ("mixed-page-sizes", (5,))


@pytest.mark.parametrize(("pages", "added"), [(250, 2), (257, 3), (252, 0)])
def test_pages_fill_the_sheets(pages: int, added: int) -> None:
    """250 pages in fours are 252, 257 are 260 (common practice, no source)."""
    measurements = book(*(page(number, inside=66) for number in range(1, 9)))
    findings = list(judge(measurements, profile(), judged_as_pages=pages).findings)
    assert [finding.rule for finding in findings] == (["page-multiple"] if added else [])
    if added:
        assert f"{added} blank pages will be added to reach {pages + added}" in findings[0].detail


def test_too_few_and_too_many_pages() -> None:
    measurements = book(*(page(number, inside=66) for number in range(1, 5)))
    assert only(measurements, 844).key == "page-count/many"
    assert judge(sound(3), profile()).findings[0].key == "page-count/few"


def test_bleed() -> None:
    bare = page(3, reach=Reach(right=0.0))
    assert (only(flawed(p3=bare)).rule, only(flawed(p3=bare)).pages) == ("bleed-missing", (3,))
    at_spine = page(3, reach=Reach(left=0.0))
    assert judge(flawed(p3=at_spine), profile()).findings == ()
    roomy = (-9.0, -9.0, 441.0, 657.0)
    # 3 mm = 8.504 pt fails 0.125 in = 9 pt by 0.496 pt
    short = only(flawed(p3=page(3, media=roomy, reach=Reach(right=8.504))))
    assert (short.rule, short.pages) == ("bleed-short", (3,))
    assert judge(flawed(p3=page(3, media=roomy, reach=Reach(right=9.0))), profile()).findings == ()


def test_a_turned_page() -> None:
    assert only(flawed(p3=page(3, rotate=90))).rule == "page-rotation"


def test_blanks() -> None:
    run = book(*(page(number, blank=number in (4, 5, 6)) for number in range(1, 9)))
    assert (only(run).rule, only(run).page_ranges) == ("blank-run", "4–6")
    first = book(*(page(number, blank=number == 1) for number in range(1, 9)))
    assert (only(first).rule, only(first).pages) == ("blank-first", (1,))
    end = book(*(page(number, blank=number > 4) for number in range(1, 9)))
    assert (only(end).rule, only(end).pages) == ("blank-end", (7, 8))
    two = book(*(page(number, blank=number in (4, 5)) for number in range(1, 9)))
    assert judge(two, profile()).findings == ()


def test_links_and_annotations() -> None:
    pages = sound().pages
    link = Link(page=2, box=(100, 100, 200, 150), kind="uri")
    assert (only(book(*pages, links=(link,))).rule, only(book(*pages, links=(link,))).pages) == (
        "link-annotation",
        (2,),
    )
    note = Annotation(page=7, box=(100, 100, 120, 120), kind="Text")
    assert only(book(*pages, annotations=(note,))).rule == "other-annotation"


def test_fonts_and_small_type() -> None:
    font = Font(name="Helvetica", kind="type1", embedded=False, subset=False, pages=(2, 5), sizes=(9, 12))
    finding = only(book(*sound().pages, fonts=(font,)))
    assert (finding.rule, finding.pages) == ("font-not-embedded", (2, 5))
    assert "Helvetica" in finding.detail
    assert only(flawed(p4=page(4, smallest=4.5))).rule == "small-type"


@pytest.mark.parametrize(
    ("ppi", "keys"),
    [(299.6, []), (299.4, ["image-resolution/coarse"]), (199.6, ["image-resolution/coarse"]),
     (150, ["image-resolution/refused"])],
)  # fmt: skip
def test_pictures(ppi: float, keys: list[str]) -> None:
    """299.6 passes 300: producers round sizes (common practice, no source)."""
    image = Image(page=3, ppi=(ppi, ppi), **PICTURE)
    assert [finding.key for finding in judge(book(*sound().pages, images=(image,)), profile()).findings] == keys


def test_line_art() -> None:
    image = Image(page=3, ppi=(300, 300), line_art=True, **PICTURE | {"bits": 1})
    assert only(book(*sound().pages, images=(image,))).rule == "line-art-resolution"


@pytest.mark.parametrize(("reason", "rule"), [("damaged", "damaged-file"), ("password", "encrypted")])
def test_a_file_that_no_reader_opens(reason: str, rule: str) -> None:
    document = Document(pages=0, unreadable=Unreadable(reason=reason, detail="it ends early"))
    judgement = judge(book(document=document), profile())
    assert [finding.rule for finding in judgement.findings] == [rule]
    assert judgement.verdict is Verdict.NOT_PRESSWORTHY
    assert {"inside-margin", "trim-size"} <= {each.rule for each in judgement.not_checked}


def test_a_page_that_could_not_be_read_is_not_passed_in_silence() -> None:
    lost = page(3).model_copy(update={"unread": "its content could not be read"})
    reasons = {each.rule: each.why for each in judge(flawed(p3=lost), profile()).not_checked}
    assert reasons["inside-margin"] == "Page 3 could not be read: its content could not be read."


margins = st.floats(min_value=-20, max_value=200)


@given(st.lists(st.tuples(margins, margins, margins, margins), min_size=1, max_size=12))
def test_judging_is_pure_and_ordered(figures: list[tuple[float, float, float, float]]) -> None:
    measurements = book(*(page(number, *each) for number, each in enumerate(figures, 1)))

    def judged() -> Judgement:
        return judge(measurements, profile())

    assert judged() == judged()
    weights = [("refusal", "spoilage", "polish").index(finding.weight) for finding in judged().findings]
    assert weights == sorted(weights)
    tight = [number for number, each in enumerate(figures, 1) if each[2] < 21.6 - 0.05]
    found = [finding for finding in judged().findings if finding.rule == "head-margin"]
    assert [page for finding in found for page in finding.pages] == tight
