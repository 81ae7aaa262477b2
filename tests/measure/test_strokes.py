"""Strokes and clip paths reach as far as they are drawn: geometry by hand, and PDFium at 600 dpi within 0.15 pt.

Caps, joins, the miter limit and dashes: ISO 32000-1 8.4.3; the pen is round in user space, and a matrix may squeeze it.
"""

from __future__ import annotations

import random
from math import sqrt
from pathlib import Path

import pytest
from pikepdf import Dictionary

from tests.measure.build import Box, Sheet, picture
from tests.measure.oracle import drawn_pages
from worker.measure import measure

H = 10 / sqrt(2)
"""Half of a pen of 20 pt that lies across a diagonal line, along each axis."""

STROKES: dict[str, tuple[bytes, Box]] = {
    "level, butt": (b"10 w 100 300 m 200 300 l S", (100, 295, 200, 305)),
    "level, round": (b"1 J 10 w 100 300 m 200 300 l S", (95, 295, 205, 305)),
    "level, square": (b"2 J 10 w 100 300 m 200 300 l S", (95, 295, 205, 305)),
    "diagonal, butt": (b"20 w 100 300 m 200 400 l S", (100 - H, 300 - H, 200 + H, 400 + H)),
    "diagonal, round": (b"1 J 20 w 100 300 m 200 400 l S", (90, 290, 210, 410)),
    "diagonal, square": (b"2 J 20 w 100 300 m 200 400 l S", (100 - 2 * H, 300 - 2 * H, 200 + 2 * H, 400 + 2 * H)),
    "a right angle, mitred": (b"20 w 100 300 m 150 350 l 200 300 l S", (100 - H, 300 - H, 200 + H, 350 + 2 * H)),
    "a right angle, bevelled": (b"2 j 20 w 100 300 m 150 350 l 200 300 l S", (100 - H, 300 - H, 200 + H, 350 + H)),
    "a right angle, round": (b"1 j 20 w 100 300 m 150 350 l 200 300 l S", (100 - H, 300 - H, 200 + H, 360)),
    "past the miter limit": (b"1.2 M 20 w 100 300 m 150 350 l 200 300 l S", (100 - H, 300 - H, 200 + H, 350 + H)),
    "a box": (b"20 w 100 300 60 50 re S", (90, 290, 170, 360)),
    "a box closed by hand": (b"20 w 100 300 m 160 300 l 160 350 l 100 350 l s", (90, 290, 170, 360)),
    "a box left open": (b"20 w 100 300 m 160 300 l 160 350 l 100 350 l 100 300 l S", (90, 290, 170, 360)),
    "squeezed": (b"2 0 0 0.5 0 0 cm 20 w 50 600 m 100 600 l 100 700 l S", (100, 295, 220, 350)),
    "dashed to a gap": (b"[30 20] 0 d 10 w 100 300 m 145 300 l S", (100, 295, 130, 305)),
    "dashed from a gap": (b"[30 20] 35 d 10 w 100 300 m 200 300 l S", (115, 295, 195, 305)),
    "dots": (b"1 J [0 20] 0 d 10 w 100 300 m 150 300 l S", (95, 295, 145, 305)),
    "no pattern": (b"[] 0 d 10 w 100 300 m 200 300 l S", (100, 295, 200, 305)),
    "a dot": (b"1 J 10 w 100 300 m 100 300 l S", (95, 295, 105, 305)),
    "a curve": (b"10 w 100 300 m 100 366.667 200 366.667 200 300 c S", (95, 300, 205, 355)),
    "as the state says": (b"/G gs 100 300 m 200 300 l S", (95, 295, 205, 305)),
}  # fmt: skip
WITHOUT_LENGTH = {"dots", "a dot"}
"""PDFium makes these a little longer than they are; poppler and Ghostscript draw them as they are."""


@pytest.mark.parametrize("stroke", STROKES)
def test_a_stroke_reaches_as_far_as_it_is_drawn(tmp_path: Path, stroke: str) -> None:
    content, box = STROKES[stroke]
    sheet = Sheet().page(content, resources={"ExtGState": Dictionary(G=Dictionary(LW=10, LC=1))})
    assert sheet.measured(tmp_path).pages[0].ink == pytest.approx(box, abs=0.02)
    if stroke not in WITHOUT_LENGTH:
        (drawn,) = drawn_pages(tmp_path / "sheet.pdf")
        assert drawn.ink == pytest.approx(box, abs=0.15)


CLIPS: dict[str, tuple[bytes, Box]] = {
    "a triangle": (b"100 300 m 200 300 l 150 400 l h W n 0 350 432 9 re f", (125, 350, 175, 359)),
    "a diamond and a picture": (
        b"100 350 m 150 300 l 200 350 l 150 400 l h W n q 432 0 0 20 0 300 cm /P Do Q", (130, 300, 170, 320)
    ),
    "a turned rectangle": (
        b"q 0.7071068 0.7071068 -0.7071068 0.7071068 200 300 cm 0 0 100 100 re W n Q "
        b"q 0.7071068 0.7071068 -0.7071068 0.7071068 200 300 cm 0 0 100 100 re W n 1 0 0 1 0 0 cm "
        b"0.7071068 -0.7071068 0.7071068 0.7071068 0 0 cm -200 0 400 20 re f Q", (180, 300, 220, 320)
    ),
    "a rectangle of lines": (b"100 300 m 200 300 l 200 400 l 100 400 l W n 0 0 432 648 re f", (100, 300, 200, 400)),
    "a curve": (b"100 300 m 100 366.667 200 366.667 200 300 c W n 0 0 432 648 re f", (100, 300, 200, 350)),
    "one within the other": (
        b"100 300 m 200 300 l 150 400 l h W n 0 375 m 432 375 l 150 325 l h W n 0 0 432 648 re f",
        (117.86, 325, 184.45, 375),
    ),
    "a star": (
        b"200 350 m 119.1 323.7 l 169.1 392.5 l 169.1 307.5 l 119.1 376.3 l h W n 0 0 432 648 re f",
        (119.1, 307.5, 200, 392.5),
    ),
    "two boxes": (b"100 300 20 20 re 300 400 20 20 re W n 0 0 432 310 re f", (100, 300, 120, 310)),
}  # fmt: skip


@pytest.mark.parametrize(("content", "box"), CLIPS.values(), ids=CLIPS.keys())
def test_what_a_clip_path_leaves(tmp_path: Path, content: bytes, box: Box) -> None:
    sheet = Sheet()
    sheet.page(content, resources={"XObject": Dictionary(P=picture(sheet.pdf))})
    assert sheet.measured(tmp_path).pages[0].ink == pytest.approx(box, abs=0.4)
    (drawn,) = drawn_pages(tmp_path / "sheet.pdf")
    assert drawn.ink == pytest.approx(box, abs=0.4)


def test_any_stroke_reaches_as_far_as_it_is_drawn(tmp_path: Path) -> None:
    """Sixty drawings at random, always the same: widths, caps, joins, dashes, matrices, lines and curves."""
    draw = random.Random(3)
    sheet = Sheet()
    for _ in range(60):
        sheet.page(_random_stroke(draw))
    sheet.save(tmp_path / "sheet.pdf")
    pages = measure(tmp_path / "sheet.pdf").pages
    for page, drawn in zip(pages, drawn_pages(tmp_path / "sheet.pdf"), strict=True):
        assert page.ink == pytest.approx(drawn.ink, abs=0.25), f"page {page.page}"


def _random_stroke(draw: random.Random) -> bytes:
    def place() -> str:
        return f"{draw.uniform(-60, 60):.2f} {draw.uniform(-60, 60):.2f}"

    dash = draw.choice(["[]", "[]", "[9 4]", "[2 3 7]", "[1 12]"])
    matrix = [draw.uniform(0.5, 1.5), draw.uniform(-0.8, 0.8), draw.uniform(-0.8, 0.8), draw.uniform(0.5, 1.5)]
    parts = [f"{' '.join(f'{figure:.3f}' for figure in matrix)} 216 324 cm"]
    parts += [f"{draw.choice([0.3, 1, 5])} w {draw.randrange(3)} J {draw.randrange(3)} j {dash} 3 d {place()} m"]
    for _ in range(draw.randrange(2, 5)):
        parts.append(draw.choice([f"{place()} l", f"{place()} {place()} {place()} c"]))
    return " ".join([*parts, "S" if dash != "[]" else draw.choice(["S", "s"])]).encode()
