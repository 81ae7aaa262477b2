"""How far ink goes past the trimmed edge: what bleed is judged by. Geometry by hand (9 pt is 1/8 in)."""

from __future__ import annotations

from pathlib import Path

import pytest
from pikepdf import Dictionary

from tests.measure.build import Sheet, picture
from worker.measure.models import Page

FOUR_SIDED = {"media": (0, 0, 450, 666), "TrimBox": [9, 9, 441, 657]}
RECTO_THREE_SIDED = {"media": (0, 0, 441, 666), "TrimBox": [0, 9, 432, 657]}


def _drawn(folder: Path, *boxes: tuple[float, float, float, float], **keys: object) -> Page:
    sheet = Sheet()
    content = b"".join(f"q {w} 0 0 {h} {x} {y} cm /P Do Q ".encode() for x, y, w, h in boxes)
    resources = {"XObject": Dictionary(P=picture(sheet.pdf))}
    return sheet.page(content, resources=resources, **keys).measured(folder).pages[0]  # type: ignore[arg-type]


def _sides(page: Page) -> tuple[float | None, ...]:
    return page.reach.left, page.reach.right, page.reach.head, page.reach.foot


def test_a_full_page_with_bleed(tmp_path: Path) -> None:
    assert _sides(_drawn(tmp_path, (0, 0, 450, 666), **FOUR_SIDED)) == pytest.approx((9, 9, 9, 9), abs=0.01)


def test_a_full_page_without_bleed_ends_at_the_edge(tmp_path: Path) -> None:
    assert _sides(_drawn(tmp_path, (0, 0, 432, 648))) == pytest.approx((0, 0, 0, 0), abs=0.01)


def test_no_room_at_the_spine(tmp_path: Path) -> None:
    page = _drawn(tmp_path, (0, 0, 441, 666), **RECTO_THREE_SIDED)
    assert _sides(page) == pytest.approx((0, 9, 9, 9), abs=0.01)


def test_a_picture_inside_the_page_reaches_nothing(tmp_path: Path) -> None:
    assert _sides(_drawn(tmp_path, (60, 60, 300, 200), **FOUR_SIDED)) == (None, None, None, None)


def test_one_edge(tmp_path: Path) -> None:
    page = _drawn(tmp_path, (200, 300, 246, 100), **FOUR_SIDED)
    assert page.reach.right == pytest.approx(5, abs=0.01)
    assert (page.reach.left, page.reach.head, page.reach.foot) == (None, None, None)


def test_within_half_a_point_counts_as_the_edge(tmp_path: Path) -> None:
    page = _drawn(tmp_path, (9.4, 300, 100, 100), **FOUR_SIDED)
    assert page.reach.left is not None
    assert page.reach.left <= 0
    assert _drawn(tmp_path, (9.6, 300, 100, 100), **FOUR_SIDED).reach.left is None


def test_the_shortest_counts(tmp_path: Path) -> None:
    page = _drawn(tmp_path, (0, 300, 100, 100), (6, 100, 100, 100), **FOUR_SIDED)
    assert page.reach.left == pytest.approx(3, abs=0.01)


def test_crop_marks_outside_the_trim_are_no_bleed(tmp_path: Path) -> None:
    marks = b"0.25 w 0 9 m 6 9 l S 0 657 m 6 657 l S 9 0 m 9 6 l S 441 660 m 441 666 l S"
    page = Sheet().page(marks, **FOUR_SIDED).measured(tmp_path).pages[0]  # type: ignore[arg-type]
    assert _sides(page) == (None, None, None, None)
