"""A real file that leaves out its TrimBox is judged as the same file with one, but for saying that it is missing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.judge.factory import profile
from tests.measure.build import Sheet, block_text
from worker.judge import judge
from worker.judge.models import Judgement
from worker.measure import measure

Box = tuple[float, float, float, float]


def judged(path: Path, media: Box, corners: tuple[tuple[float, float], ...], *, declares: bool) -> Judgement:
    """Eight pages with text 40 pt from the spine and 18 pt from the outer edge of where they are cut."""
    sheet = Sheet()
    for number in range(1, 9):
        x0, y0 = corners[(number - 1) % 2]
        trim = (x0, y0, x0 + 432, y0 + 648)
        inside_left = number % 2 == 1
        left, right = (40, 18) if inside_left else (18, 40)
        text = block_text((trim[0] + left, trim[1] + 54, trim[2] - right, trim[3] - 54))
        boxes: dict[str, Any] = {"TrimBox": list(trim)} if declares else {}
        sheet.page(text, media=media, **boxes)
    return judge(measure(sheet.save(path)), profile(), judged_as_pages=200)


@pytest.mark.parametrize(
    ("media", "corners"),
    [
        ((0, 0, 450, 666), ((9, 9), (9, 9))),
        ((-9, -9, 441, 657), ((0, 0), (0, 0))),
        ((0, 0, 441, 666), ((0, 9), (9, 9))),
    ],
    ids=["all round", "from a negative corner", "not at the spine"],
)
def test_a_trim_box_left_out_changes_no_margin(
    tmp_path: Path, media: Box, corners: tuple[tuple[float, float], ...]
) -> None:
    """TrimBox is where the page is cut (ISO 32000-1 14.11.2.1); a bleed of 9 pt is common practice, no source."""
    without = judged(tmp_path / "without.pdf", media, corners, declares=False)
    declared = judged(tmp_path / "with.pdf", media, corners, declares=True)
    figures = {
        each.key: (each.pages, each.measured and round(each.measured.value, 2), each.remedy)
        for each in without.findings
        if each.rule != "page-boxes"
    }
    assert {"inside-margin", "outside-margin"} <= set(figures)
    assert figures == {
        each.key: (each.pages, each.measured and round(each.measured.value, 2), each.remedy)
        for each in declared.findings
    }
    assert [each.key for each in without.findings if each.rule == "page-boxes"] == ["page-boxes/no-trim"]
