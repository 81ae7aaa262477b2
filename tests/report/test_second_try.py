"""The remedy holds after it is applied: the numbers of the report typed in by script, and nothing else, the book set
again by the program that set it, and checked again. Then it is pressworthy, and as long as was foretold.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.books.novel import Novel, set_by_libreoffice, set_by_typst
from tests.needs import needs_libreoffice
from tests.report.books import MEASURED_AT
from worker.book import read_book
from worker.judge import judge
from worker.judge.models import Verdict
from worker.measure import measure
from worker.profiles import parse_profile_toml
from worker.profiles.models import PageCount
from worker.report.compose import compose
from worker.report.models import Report
from worker.report.outlook import outlook
from worker.units import show_length

PRINTER = parse_profile_toml("""
id = "second-try"
name = "Ferry Lane Press, invented"
revision = "2026-11"
unit = "in"
[interior]
trims = [
  { name = "Trade", width = "6 in", height = "9 in" },
  { name = "Royal", width = "170 mm", height = "244 mm", page_count = { most = 600 } },
]
trim_tolerance = "0.01 in"
page_count = { least = 40, most = 320 }
[interior.margins]
outside = "0.4 in"
head = "0.4 in"
foot = "0.4 in"
inside = [{ pages = 160, least = "0.6 in" }, { pages = 250, least = "0.8 in" }, { least = "1 in" }]
[interior.type]
embedded = true
least_size = "6 pt"
[interior.images]
least_ppi = 200
wanted_ppi = 300
[interior.blanks]
longest_run = 2
end = 2
""")
Setter = Callable[[Novel, Path], Path]
MENDED = {
    "inside-margin", "outside-margin", "head-margin", "foot-margin", "mirrored-margins", "trim-size", "page-count",
    "first-folio", "image-resolution",
}  # fmt: skip
WITHIN = 0.02
"""So near to the length that it has the book's foretold one has to be."""

FLAWED = {
    "too near the spine": Novel(inside=40),
    "on into the next bracket": Novel(inside=36, chapters=19, words=3600),
    "chapters on rectos": Novel(inside=40, rectos=True),
    "too near the edge": Novel(outside=16),
    "too near head and foot": Novel(head=24, foot=22, header=8, footer=8),
    "running head and folio at the edge": Novel(header=12, footer=10),
    "another paper": Novel(trim=(419.5, 595.3)),
    "equal margins": Novel(inside=44, outside=44),
    "wide margin outside": Novel(inside=40, outside=68),
    "not mirrored": Novel(inside=68, outside=40, mirrored=False),
    "the front matter counted": Novel(folio_start=1),
    "a coarse picture": Novel(picture_width=320),
    "too long for its size": Novel(inside=76, chapters=36, words=4000),
    "too long once the margin is right": Novel(inside=36, chapters=33, words=4250),
}

BY_LIBREOFFICE = (
    "too near the spine",
    "too near head and foot",
    "another paper",
    "equal margins",
    "wide margin outside",
    "too long once the margin is right",
)


def reported(path: Path) -> Report:
    measurements = measure(path)
    book = read_book(measurements)
    judged = judge(measurements, PRINTER, book=book)
    return compose(measurements, book, judged, PRINTER, measured_at=MEASURED_AT)


def second_try(novel: Novel, set_by: Setter, folder: Path) -> tuple[Report, Report]:
    """The reports on the book as it was set first, and with the numbers of the first report typed in."""
    first = reported(set_by(novel, folder))
    return first, reported(set_by(novel.typed(first.setup), folder))


@pytest.mark.parametrize("name", FLAWED)
def test_typst_sets_it_right_at_the_second_try(name: str, tmp_path: Path) -> None:
    hold(*second_try(FLAWED[name], set_by_typst, tmp_path))


@needs_libreoffice
@pytest.mark.parametrize("name", BY_LIBREOFFICE)
def test_libreoffice_sets_it_right_at_the_second_try(name: str, tmp_path: Path) -> None:
    hold(*second_try(FLAWED[name], set_by_libreoffice, tmp_path))


def hold(first: Report, again: Report) -> None:
    """The flaw was found, the numbers mend it for good, and the length was foretold."""
    assert {finding.rule for finding in first.findings} & MENDED
    typed = {f"{setting.name}-margin": setting.set for setting in first.setup if setting.set is not None}
    for finding in first.findings:
        if finding.rule in typed:
            assert finding.remedy.endswith(f"type {show_length(typed[finding.rule], 'in')}.")
    assert again.verdict == Verdict.PRESSWORTHY
    assert not {finding.rule for finding in again.findings} & MENDED
    assert all(setting.set is None for setting in again.setup)
    assert first.after_setup is not None
    assert first.after_setup.fits
    assert first.after_setup.pages == pytest.approx(again.pages, rel=WITHIN)
    assert again.after_setup is not None
    assert again.after_setup.pages == again.pages


def test_no_size_of_this_printer_holds_the_book(tmp_path: Path) -> None:
    """A book of 181 pages, for a printer who binds no more than 120 of any size."""
    few = PRINTER.model_copy(
        update={"interior": PRINTER.interior.model_copy(
            update={"trims": PRINTER.interior.trims[:1], "page_count": PageCount(most=120)})}
    )  # fmt: skip
    measurements = measure(set_by_typst(Novel(outside=16), tmp_path))
    book = read_book(measurements)
    report = compose(measurements, book, judge(measurements, few, book=book), few, measured_at=MEASURED_AT)
    assert report.after_setup is not None
    assert not report.after_setup.fits
    assert "would make it shorter" in outlook(report, "in")


def test_a_book_too_short_for_the_printer_is_not_told_to_be_shorter(tmp_path: Path) -> None:
    report = reported(set_by_typst(Novel(outside=16, chapters=2), tmp_path))
    assert report.after_setup is not None
    assert not report.after_setup.fits
    assert "does not fit" in outlook(report, "in")
    assert "shorter" not in outlook(report, "in")


def test_a_sample_is_foretold_as_a_part_of_its_book(tmp_path: Path) -> None:
    """The first chapters of a book of 200 pages: the numbers are those for the whole, and so is its length."""
    measurements = measure(set_by_typst(Novel(inside=40, chapters=4), tmp_path))
    book = read_book(measurements)
    judged = judge(measurements, PRINTER, book=book, judged_as_pages=200)
    report = compose(measurements, book, judged, PRINTER, measured_at=MEASURED_AT)
    assert report.after_setup is not None
    assert report.after_setup.pages is not None
    assert 200 < report.after_setup.pages < 220
    assert next(each for each in report.setup if each.name == "inside").required == pytest.approx(0.8 * 72)
