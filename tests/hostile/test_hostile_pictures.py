"""A hostile file costs its report pictures, never the report. The files: :mod:`tests.hostile.damage`, ``bombs``."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.hostile import bombs, damage
from tests.report.books import finding
from worker.fence import picture_fenced
from worker.inspection import inspect
from worker.judge.models import Mark, Weight
from worker.limits import Limits
from worker.profiles import builtin_profiles
from worker.report.html import render_html
from worker.report.underlay import PictureOrder, Wanted, picture_order

FILES = {
    "lying count": damage.lying_count,
    "absurd box": lambda path: damage.absurd_box(path, b"[0 0 1e30 -1e30]"),
    "absurd user unit": damage.absurd_user_unit,
    "truncated": damage.truncated,
}


@pytest.mark.parametrize("make", FILES.values(), ids=FILES.keys())
def test_there_is_a_report_with_pictures_or_without(make: Callable[[Path], Path], tmp_path: Path) -> None:
    path, profile = make(tmp_path / "book.pdf"), builtin_profiles()["ternhaven-mono"]
    done = inspect(path, lambda: profile, name="book.pdf")
    measurements = done.reading.measurements
    pages = tuple(page.page for page in measurements.pages)
    marks = tuple(Mark(page=page, box=(60, 60, 120, 72), text="5.5 pt") for page in pages)
    found = (finding("small-type", Weight.SPOILAGE, pages, marks=marks),)
    report = done.report.model_copy(update={"findings": found})
    made = picture_fenced(path, picture_order(report, measurements), limits=Limits(seconds=20))
    page = render_html(report, measurements, profile, pictures=made.pictures)
    assert page.rstrip().endswith("</html>")
    assert page.count("data:image/webp;base64,") == len(made.pictures) <= len(pages)


@pytest.mark.parametrize("make", [bombs.by_deflate_within_lzw, bombs.by_predictor, bombs.font_program])
def test_a_bomb_goes_off_behind_the_fence(make: Callable[[Path], Path], tmp_path: Path) -> None:
    """Files that measuring refuses; drawn all the same, they cost at most what the fence gives."""
    box = (0.0, 0.0, 432.0, 648.0)
    order = PictureOrder(pages=(Wanted(page=1, crop=box, view=box, size=(440, 660)),))
    made = picture_fenced(make(tmp_path / "bomb.pdf"), order, limits=Limits(seconds=20, memory=500_000_000))
    assert set(made.pictures) <= {1}
    assert made.trouble is None or "\n" not in str(made.trouble)
