"""Marks and notes lie where the report says, whatever the page's boxes, rotation and unit.

Each page holds one red square; where a reader sees it is worked out by hand in ``tests.report.test_pictures``. PDFium
draws the square and the marks: they must coincide.
"""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from PIL import Image, ImageChops

from tests.needs import needs_poppler, needs_qpdf
from tests.proof.made import FINE, SCALE, coarse, drawn, mark, order, own_notes, proof_of, without_layer
from tests.report.test_pictures import CASES, Case, near, of_colour, red, write
from worker.proof.frame import inverse
from worker.proof.pen import INK, VERDIGRIS
from worker.proof.pen import figure as written


def marked(case: Case, folder: Path, **more: Any) -> Path:
    path = write(case, folder / "page.pdf")
    return proof_of(path, order(coarse(1), marks=(mark(case.square, text=""),), **more))


def changed(one: Image.Image, other: Image.Image) -> tuple[int, int, int, int]:
    found = ImageChops.difference(one, other).getbbox()
    assert found is not None
    return found


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_a_mark_lies_on_what_it_marks(case: Case, tmp_path: Path) -> None:
    proof = marked(case, tmp_path, live_areas=((0, 0, 1, 1),))
    left, top, right, bottom = red(drawn(without_layer(proof), -1, scale=FINE))
    within = drawn(proof, -1, notes=False, scale=FINE).crop((left - 5, top - 5, right + 5, bottom + 5))
    assert near(of_colour(within, INK), (5, 5, right - left + 5, bottom - top + 5), 6)


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_the_live_area_is_drawn_where_it_is(case: Case, tmp_path: Path) -> None:
    path = write(case, tmp_path / "page.pdf")
    proof = proof_of(path, order(coarse(1), live_areas=(case.square,)))
    left, top, right, bottom = red(drawn(without_layer(proof), -1, scale=FINE))
    above_its_name = (left - 5, top - 5, right + 5, bottom)
    around = drawn(proof, -1, notes=False, scale=FINE).crop(above_its_name)
    assert near(of_colour(around, VERDIGRIS), (5, 5, right - left + 5, bottom - top + 5), 6)


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_a_note_stands_beside_what_it_is_about(case: Case, tmp_path: Path) -> None:
    """Its icon, as PDFium draws it, is on the page, near the square. PDFium turns icons with the page."""
    proof = marked(case, tmp_path)
    left, top, right, bottom = red(drawn(without_layer(proof), -1))
    whole = drawn(proof, -1)
    x0, y0, x1, y1 = changed(drawn(proof, -1, notes=False), whole)
    far = 30 * SCALE
    assert left - far < x0 < x1 < right + far
    assert top - far < y0 < y1 < bottom + far
    assert min(x0, y0) >= 0
    assert (x1, y1) <= whole.size


def test_a_note_has_its_title_and_says_what_to_do(tmp_path: Path) -> None:
    """ISO 32000-1 12.5.6.2 (``T`` is the title, ``Contents`` the text) and 12.5.6.4 (text annotations)."""
    finding = coarse(1, title="Pictures — Zoë’s", detail="100 pixels an inch. 中", remedy="Scan “it” again.")
    path = write(CASES["plain"], tmp_path / "page.pdf")
    with pikepdf.open(proof_of(path, order(finding, marks=(mark((60, 100, 100, 160)),)))) as pdf:
        (note,) = own_notes(pdf.pages[-1].obj)
        assert str(note.T) == "1. Pictures — Zoë’s"
        assert str(note.Contents) == "100 ppi: 100 pixels an inch. 中\r\rScan “it” again."
        assert str(note.Subj).startswith("refusal")
        assert note.Rect[2] > note.Rect[0]


def test_a_page_without_a_mark_has_a_note_at_its_head(tmp_path: Path) -> None:
    path = write(CASES["plain"], tmp_path / "page.pdf")
    with pikepdf.open(proof_of(path, order(coarse(1)))) as pdf:
        (note,) = own_notes(pdf.pages[-1].obj)
        assert float(note.Rect[1]) > 250


def test_a_finding_about_the_file_is_a_note_on_the_opening_page(tmp_path: Path) -> None:
    path = write(CASES["plain"], tmp_path / "page.pdf")
    with pikepdf.open(proof_of(path, order(coarse(title="A font is not in the file")))) as pdf:
        assert own_notes(pdf.pages[-1].obj) == []
        (note,) = own_notes(pdf.pages[0].obj)
        assert str(note.T) == "1. A font is not in the file"


def _light(page: Image.Image, x: int, y: int) -> int:
    """The three values of a pixel of RGB, added up: 0 is black, 765 white."""
    return sum(page.crop((x, y, x + 1, y + 1)).tobytes())


def test_a_distance_is_a_line_from_the_edge_to_the_ink(tmp_path: Path) -> None:
    """A row of PDFium's pixels at the middle of the mark, from the trimmed edge to the square at 60 pt."""
    case = CASES["plain"]
    path = write(case, tmp_path / "page.pdf")
    proof = proof_of(path, order(coarse(1), marks=(mark(case.square, text="60 pt", edge="left"),), live_areas=()))
    page = drawn(proof, -1, notes=False)
    y = round((300 - 130) * SCALE)
    darkest = [min(_light(page, x, at) for at in (y - 1, y, y + 1)) for x in range(2, round(58 * SCALE))]
    assert max(darkest) < 3 * 200, "the line is broken"


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_the_way_back_undoes_the_view(case: Case) -> None:
    """By hand: the square of the reader's frame, taken back, is the square as it was written."""
    from tests.report.test_pictures import SQUARE
    from worker.measure.geometry import transform
    from worker.measure.pagetree import PageNode
    from worker.proof.frame import frame_of

    page = pikepdf.Dictionary({"/MediaBox": list(case.media)} | {f"/{key}": value for key, value in case.keys.items()})
    back = frame_of(PageNode(page, {})).back
    assert transform(case.square, back) == pytest.approx(SQUARE)
    assert inverse(inverse(back)) == pytest.approx(back)


def test_numbers_have_no_exponent() -> None:
    """ISO 32000-1 7.3.3: a real is written without one."""
    assert [written(value) for value in (1e-9, 0.5, 1e300, -1e300, -2.25)] == [
        "0",
        "0.5",
        "1000000",
        "-1000000",
        "-2.25",
    ]


@needs_qpdf
@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_qpdf_finds_nothing_wrong(case: Case, tmp_path: Path) -> None:
    proof = marked(case, tmp_path)
    done = subprocess.run(["qpdf", "--check", proof], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


@needs_poppler
@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_poppler_draws_the_mark_too(case: Case, tmp_path: Path) -> None:
    """At 72 dpi of the page's own units poppler, like PDFium, takes no notice of UserUnit: a unit is a pixel."""
    proof = marked(case, tmp_path, live_areas=((0, 0, 1, 1),))
    pictures = []
    for at in (without_layer(proof), proof):
        command: list[str | Path] = [
            "pdftoppm",
            "-f",
            "2",
            "-singlefile",
            "-r",
            "144",
            "-cropbox",
            "-png",
            at,
            at.with_suffix(""),
        ]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        assert done.stderr == ""
        pictures.append(Image.open(at.with_suffix(".png")).convert("RGB"))
    left, top, right, bottom = red(pictures[0])
    inked = of_colour(pictures[1].crop((left - 2, top - 2, right + 2, bottom + 2)), INK)
    assert near(inked, (2, 2, right - left + 2, bottom - top + 2), 3)
