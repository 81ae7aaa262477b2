"""The paper to type where the file's own size is not what it is meant for. Sizes by hand, 1 in = 72 pt."""

from __future__ import annotations

import pytest

from tests.judge.factory import PROFILE, book, page
from worker.book import read_book
from worker.judge import judge
from worker.measure.models import Page
from worker.profiles import parse_profile_toml
from worker.report.setup import setup

SIZES = """trims = [{ width = "6 in", height = "9 in" }, { width = "12 in", height = "12 in" }]"""
BY = parse_profile_toml(PROFILE.replace('trims = [{ name = "Trade", width = "6 in", height = "9 in" }]', SIZES))


def sized(number: int, width: float, height: float, *declared: str) -> Page:
    return page(number, trim=(0.0, 0.0, width, height)).model_copy(update={"declared": ("media", *declared)})


@pytest.mark.parametrize(
    "pages",
    [
        [sized(n, 450.0, 666.0) for n in range(1, 9)],
        [sized(n, 450.0, 666.0, "trim") for n in range(1, 9)],
        [sized(n, 864.0, 648.0, "trim") for n in range(1, 9)],
        [sized(n, 648.0, 432.0, "trim") for n in range(1, 9)],
    ],
    ids=["bleed and no TrimBox", "bleed within the TrimBox", "two pages side by side", "lying"],
)
def test_the_paper_to_set_is_the_size_that_the_book_is_meant_for(pages: list[Page]) -> None:
    """6 × 9 in whatever stands in the way; by its sides alone a spread of 12 × 9 in is closer to 12 × 12 in."""
    measurements = book(*pages)
    settled = setup(measurements, read_book(measurements), judge(measurements, BY), BY)
    settings = {each.name: each.set for each in settled.settings}
    assert (settings["paper-width"], settings["paper-height"]) == (432, 648)
    assert settled.after is not None
    assert settled.after.pages is None, "two pages side by side may be one or two of the book: it is not told"
    assert settled.after.fits


def test_a_crop_box_of_the_right_size_changes_no_paper() -> None:
    pages = [
        page(n, media=(-9.0, -9.0, 441.0, 657.0)).model_copy(update={"declared": ("media", "crop")})
        for n in range(1, 9)
    ]
    measurements = book(*pages)
    settled = setup(measurements, read_book(measurements), judge(measurements, BY), BY)
    settings = {each.name: each.set for each in settled.settings}
    assert settings["paper-width"] is None
