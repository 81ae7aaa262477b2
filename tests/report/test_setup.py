"""The numbers to set: typed into a typesetter and nothing else changed, they mend what was found."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path
from typing import Any

import pytest
import typst
from hypothesis import given
from hypothesis import strategies as st

from sample_pdfs.prose import paragraphs
from tests.books.books import Plan, set_by_libreoffice, set_by_typst
from tests.needs import needs_libreoffice
from tests.report.books import MEASURED_AT, book, finding, judgement, page_of
from worker.book import read_book
from worker.judge import judge
from worker.judge.models import Judgement, Weight
from worker.measure import measure
from worker.measure.models import Measurements
from worker.profiles import Profile, builtin_profiles, parse_profile_toml
from worker.report.compose import compose
from worker.report.margins import STEP, rounded_up
from worker.report.models import AfterSetup, Setting
from worker.report.setup import setup
from worker.units import POINTS_IN, Unit
from worker.words import told

MONO = builtin_profiles()["ternhaven-mono"]
LENGTH = 300
"""The books below are a few pages of one of 300: the printer then asks 0.65 in (46.8 pt) inside, 0.3 in elsewhere."""
ABOUT_MARGINS = {"inside-margin", "outside-margin", "head-margin", "foot-margin", "mirrored-margins", "trim-size"}


def numbers(measurements: Measurements, profile: Profile = MONO) -> tuple[set[str], dict[str, Setting]]:
    """The rules about margins and size that found something, and the numbers to set by name."""
    judged = judge(measurements, profile, judged_as_pages=LENGTH)
    report = compose(measurements, read_book(measurements), judged, profile, measured_at=MEASURED_AT)
    found = {finding.rule for finding in judged.findings} & ABOUT_MARGINS
    return found, {setting.name: setting for setting in report.setup}


def typed(plan: Plan, found: set[str], settings: dict[str, Setting]) -> Plan:
    """The plan with every number typed that the report says to type, and mirroring turned on where it says so."""
    values = {name: settings[name].set for name in ("inside", "outside", "head", "foot")}
    margins: dict[str, Any] = {name: value for name, value in values.items() if value is not None}
    changed = replace(plan, **margins)
    width, height = settings["paper-width"].set, settings["paper-height"].set
    if width is not None and height is not None:
        changed = replace(changed, trim=(width, height))
    return replace(changed, mirrored=True) if "mirrored-margins" in found else changed


FLAWED = {
    "too near the spine": Plan(inside=40, outside=30),
    "too near the edge": Plan(inside=60, outside=15),
    "too near head and foot": Plan(head=12, foot=14),
    "equal": Plan(inside=50, outside=50),
    "equal and too near": Plan(inside=36, outside=36),
    "wide margin outside": Plan(inside=30, outside=60),
    "wide margin outside, both wide enough": Plan(inside=50, outside=70),
    "not mirrored": Plan(inside=60, outside=36, mirrored=False),
    "not mirrored, the other way": Plan(inside=36, outside=60, mirrored=False),
    "everything": Plan(inside=20, outside=20, head=10, foot=10, mirrored=False, size=14, leading=19),
    "another paper": Plan(trim=(419.5, 595.3), inside=40, outside=30),
    "large type": Plan(inside=40, outside=20, head=20, foot=20, size=16, leading=22),
}


@pytest.mark.parametrize("plan", FLAWED.values(), ids=FLAWED.keys())
def test_typst_sets_it_right_at_the_second_try(plan: Plan, tmp_path: Path) -> None:
    plan = replace(plan, pages=8)
    found, settings = numbers(measure(set_by_typst(plan, tmp_path)))
    assert found, "the book was meant to be flawed"
    again, after = numbers(measure(set_by_typst(typed(plan, found, settings), tmp_path)))
    assert not again
    assert all(setting.set is None for setting in after.values())


@needs_libreoffice
@pytest.mark.parametrize("name", ["too near the spine", "everything", "wide margin outside"])
def test_libreoffice_sets_it_right_at_the_second_try(name: str, tmp_path: Path) -> None:
    plan = replace(FLAWED[name], pages=6)
    found, settings = numbers(measure(set_by_libreoffice(plan, tmp_path)))
    assert found
    again, _ = numbers(measure(set_by_libreoffice(typed(plan, found, settings), tmp_path)))
    assert not again


@pytest.mark.parametrize("plan", FLAWED.values(), ids=FLAWED.keys())
def test_no_more_than_need_be(plan: Plan, tmp_path: Path) -> None:
    """A margin that costs pages for nothing is a fault too: what is asked, a hang of a few points, one step up."""
    found, settings = numbers(measure(set_by_typst(replace(plan, pages=8), tmp_path)))
    for name in ("inside", "outside", "head", "foot"):
        setting = settings[name]
        if setting.set is None or setting.note == told("setup.notes.stays") or "mirrored-margins" in found:
            continue
        assert setting.required is not None
        assert setting.required <= setting.set <= setting.required + 0.5 * plan.size + 0.72


RUNNING = """
#let plan = json(bytes(sys.inputs.plan))
#let pt(value) = value * 1pt
#set page(
  width: 432pt, height: 648pt,
  margin: (inside: 63pt, outside: 40pt, top: pt(plan.head), bottom: pt(plan.foot)),
  background: context {
    set text(size: 9pt, top-edge: "bounds", bottom-edge: "bounds")
    place(top + center, dy: pt(plan.header), [The Salt Road])
    place(bottom + center, dy: -pt(plan.footer), counter(page).display())
  },
)
#set text(font: "Libertinus Serif", size: 11pt)
#set par(justify: true)
#for words in plan.words { par(words) }
"""


@dataclass(frozen=True)
class Running:
    """A book with running heads and folios; distances in points from the trimmed edge to their nearer edge."""

    head: float = 60
    foot: float = 60
    header: float = 36
    footer: float = 36

    def set(self, folder: Path) -> Measurements:
        facts = {name: getattr(self, name) for name in ("head", "foot", "header", "footer")}
        inputs = {"plan": json.dumps(facts | {"words": list(islice(paragraphs(3), 60))})}
        source = folder / "running.typ"
        source.write_text(RUNNING, "utf-8")
        data = typst.compile(str(source), format="pdf", ignore_system_fonts=True, sys_inputs=inputs, pdf_tags=False)
        assert isinstance(data, bytes)
        (folder / "running.pdf").write_bytes(data)
        return measure(folder / "running.pdf")


def test_header_and_footer_are_told_from_the_block(tmp_path: Path) -> None:
    """Where Typst was told to put them: the lines at 36 pt, the block between 60 pt and 60 pt."""
    _, settings = numbers(Running().set(tmp_path))
    assert settings["header"].measured == pytest.approx(36, abs=0.5)
    assert settings["footer"].measured == pytest.approx(36, abs=0.5)
    assert settings["head"].measured == pytest.approx(60, abs=1.5)
    assert settings["foot"].measured is not None
    assert 57 < settings["foot"].measured < 60 + 14.5


@pytest.mark.parametrize(
    "book_",
    [
        Running(header=12),
        Running(footer=10),
        Running(header=8, head=26, footer=9, foot=26),
    ],
    ids=["header", "footer", "both, close to the block"],
)
def test_a_running_line_is_moved_and_the_block_keeps_clear(book_: Running, tmp_path: Path) -> None:
    found, settings = numbers(book_.set(tmp_path))
    assert found & {"head-margin", "foot-margin"}
    values = {name: settings[name].set for name in ("head", "foot", "header", "footer") if name in settings}
    mended = replace(book_, **{name: value for name, value in values.items() if value is not None})
    assert mended != book_
    if settings.get("header") and settings["header"].set is not None:
        assert mended.head >= mended.header + 9
    if settings.get("footer") and settings["footer"].set is not None:
        assert mended.foot >= mended.footer + 9
    assert not numbers(mended.set(tmp_path))[0]


def test_one_line_that_stands_out_sets_no_margin_for_the_book() -> None:
    measurements = book(40)
    page = page_of(9)
    out = replace(page.lines[4], box=(10.0, *page.lines[4].box[1:]))
    margins = page.margins
    assert margins is not None
    odd = page.model_copy(
        update={
            "lines": (*page.lines[:4], out, *page.lines[5:]),
            "margins": margins.model_copy(update={"inside": 10.0}),
        }
    )
    measurements = measurements.model_copy(update={"pages": (*measurements.pages[:8], odd, *measurements.pages[9:])})
    inside = next(
        setting
        for setting in setup(measurements, read_book(measurements), judge(measurements, MONO), MONO).settings
        if setting.name == "inside"
    )
    assert inside.measured == 10
    assert inside.set is None
    assert inside.note is not None


def test_nothing_is_typed_where_nothing_was_found() -> None:
    measurements = book(64).model_copy(update={"images": ()})
    judged = judge(measurements, MONO)
    settled = setup(measurements, read_book(measurements), judged, MONO)
    assert all(setting.set is None for setting in settled.settings)
    assert settled.after == AfterSetup(pages=64, trim=(432, 648), fits=True)


def test_the_width_of_a_coarse_picture() -> None:
    """252 pt wide at 142.3 pixels an inch: as fine as 300 are at 119.5 pt, and 0.01 in is what is typed."""
    measurements = book(64)
    (coarse,) = (image for image in measurements.images if image.page == 40)
    judged = judge(measurements, MONO)
    (row,) = (
        each
        for each in setup(measurements, read_book(measurements), judged, MONO).settings
        if each.name == "image-width"
    )
    assert row.set is not None
    assert coarse.pixels[0] / (row.set / 72) >= 300
    assert coarse.pixels[0] / ((row.set + 0.72) / 72) < 300
    assert row.note is not None
    assert "page 40" in row.note
    width, height = map(int, re.findall(r"\d+", row.note)[1:3])
    assert (width, height) == pytest.approx([side * 300 / min(coarse.ppi) for side in coarse.pixels], abs=1)


def test_a_book_too_long_for_its_paper_goes_to_the_next_that_takes_it() -> None:
    """Common practice: past 800-odd pages at 6 × 9 in a book moves to 170 × 244 mm (common practice, no source)."""
    measurements = book(860)
    paper = {
        setting.name: setting
        for setting in setup(measurements, read_book(measurements), judge(measurements, MONO), MONO).settings
    }
    assert paper["paper-width"].set == pytest.approx(481.89, abs=0.01)
    assert paper["paper-height"].set == pytest.approx(691.65, abs=0.01)


def test_a_printer_who_asks_nothing_is_told_so() -> None:
    bare = parse_profile_toml(
        'id = "bare"\nname = "Bare"\nrevision = "1"\nunit = "mm"\n'
        '[interior]\ntrims = [{ width = "6 in", height = "9 in" }]\n[interior.margins]\n',
        source="bare.toml",
    )
    settings = setup(book(40), read_book(book(40)), judge(book(40), bare), bare).settings
    assert [setting.name for setting in settings] == [
        *("paper-width", "paper-height", "inside", "outside", "head", "foot"),
    ]
    assert all(setting.set is None for setting in settings)
    assert all(setting.required is None for setting in settings[2:])


@pytest.mark.parametrize("findings", [(), (finding("inside-margin", Weight.REFUSAL, (1,)),)])
def test_pages_without_text_have_no_margins(findings: tuple[object, ...]) -> None:
    blank = book(3).model_copy(update={"pages": tuple(page_of(n, blank=True) for n in (1, 2, 3))})
    judged: Judgement = judgement(findings, 3)  # type: ignore[arg-type]
    settings = {setting.name: setting for setting in setup(blank, read_book(blank), judged, MONO).settings}
    assert settings["inside"].measured is None
    assert settings["inside"].set is None
    assert "gutter" not in settings


@given(points=st.floats(min_value=0, max_value=2000), unit=st.sampled_from(["in", "mm", "pt"]))
def test_rounding_up_is_up_and_by_less_than_a_step(points: float, unit: Unit) -> None:
    value = rounded_up(points, unit)
    step = STEP[unit] * POINTS_IN[unit]
    assert points - 1e-4 <= value < points + step + 1e-4
    assert abs(value / step - round(value / step)) < 1e-6


def test_the_foot_is_typed_as_it_is_where_the_depth_changes(tmp_path: Path) -> None:
    """So that it is known how many lines a page will have; by a step at most nearer the edge than the text ends now."""
    _, settings = numbers(measure(set_by_typst(Plan(trim=(419.5, 595.3), pages=8), tmp_path)))
    foot = settings["foot"]
    assert foot.set is not None
    assert foot.note == told("setup.notes.stays")
    assert settings["head"].set is None
    _, unchanged = numbers(measure(set_by_typst(Plan(outside=15, pages=8), tmp_path)))
    assert unchanged["foot"].set is None
