"""Text and margins: to the ink of the glyphs, within 0.5 pt of the page drawn at 600 dpi.

Blocks of known ink give the exact figures; real text is compared with PDFium's drawing (``oracle``).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

import pytest
from pikepdf import Dictionary, Name

from tests.corpora import ANNOTATIONS, DEBIAN_REFERENCE, MEMOIR, R_EXTS, R_INTRO, Corpus
from tests.measure.build import Box, Sheet, block_text
from tests.measure.oracle import text_boxes
from tests.measured import facts_of
from worker.measure.models import Margins, Page

WITHIN = 0.5
RECTO: Box = (54, 54, 396, 594)
VERSO: Box = (36, 54, 378, 594)


def _figures(margins: Margins | None) -> tuple[float, float, float, float]:
    assert margins is not None
    return margins.inside, margins.outside, margins.head, margins.foot


def _pages(folder: Path, *boxes: Box, binding: str | None = None, **keys: object) -> tuple[Page, ...]:
    sheet = Sheet()
    for box in boxes:
        sheet.page(block_text(box), **keys)  # type: ignore[arg-type]
    if binding:
        sheet.pdf.Root.ViewerPreferences = Dictionary(Direction=Name(f"/{binding}"))
    return sheet.measured(folder).pages


def test_a_mirrored_spread(tmp_path: Path) -> None:
    recto, verso = _pages(tmp_path, RECTO, VERSO)
    assert (recto.side, verso.side) == ("recto", "verso")
    assert recto.text == pytest.approx(RECTO, abs=0.05)
    assert _figures(recto.margins) == pytest.approx((54, 36, 54, 54), abs=0.05)
    assert _figures(verso.margins) == pytest.approx((54, 36, 54, 54), abs=0.05)


def test_the_same_box_on_both_sides_is_not_mirrored(tmp_path: Path) -> None:
    recto, verso = _pages(tmp_path, RECTO, RECTO)
    assert _figures(recto.margins) == pytest.approx((54, 36, 54, 54), abs=0.05)
    assert _figures(verso.margins) == pytest.approx((36, 54, 54, 54), abs=0.05)


def test_margins_are_from_the_trim(tmp_path: Path) -> None:
    moved: Box = (63, 63, 405, 603)
    (page,) = _pages(tmp_path, moved, media=(0, 0, 450, 666), TrimBox=[9, 9, 441, 657])
    assert page.text == pytest.approx(RECTO, abs=0.05)
    assert _figures(page.margins) == pytest.approx((54, 36, 54, 54), abs=0.05)


def test_a_book_bound_on_the_right(tmp_path: Path) -> None:
    """ViewerPreferences Direction R2L (ISO 32000-1 table 150): the first page lies to the left of its binding."""
    sheet_one, sheet_two = _pages(tmp_path, VERSO, RECTO, binding="R2L")
    assert _figures(sheet_one.margins) == pytest.approx((54, 36, 54, 54), abs=0.05)
    assert _figures(sheet_two.margins) == pytest.approx((54, 36, 54, 54), abs=0.05)


def test_the_binding_edge_is_reported(tmp_path: Path) -> None:
    sheet = Sheet().page()
    sheet.pdf.Root.ViewerPreferences = Dictionary(Direction=Name.R2L)
    assert sheet.measured(tmp_path).document.binding_edge == "right"


def test_user_unit_and_rotation_reach_the_margins(tmp_path: Path) -> None:
    """Half the size under a user unit of 2; turned clockwise, what stood at the foot stands on the left."""
    (page,) = _pages(tmp_path, (20, 30, 196, 290), media=(0, 0, 216, 324), UserUnit=2)
    assert _figures(page.margins) == pytest.approx((40, 40, 68, 60), abs=0.1)
    (page,) = _pages(tmp_path, (40, 60, 392, 580), Rotate=90)
    assert _figures(page.margins) == pytest.approx((60, 68, 40, 40), abs=0.05)


def test_text_across_the_edge_is_cut_to_the_media(tmp_path: Path) -> None:
    (page,) = _pages(tmp_path, (-5, 54, 396, 594), media=(0, 0, 450, 666), TrimBox=[9, 9, 441, 657])
    assert page.margins is not None
    assert page.margins.inside == pytest.approx(-9, abs=0.05)


PLACES = {
    "turned": b"BT /B 10 Tf 0.70710678 0.70710678 -0.70710678 0.70710678 200 300 Tm (A) Tj ET",
    "raised": b"BT /B 10 Tf 7 Ts 200 300 Td (A) Tj ET",
    "condensed": b"BT /B 10 Tf 50 Tz 200 300 Td (AA) Tj ET",
    "spaced": b"BT /B 10 Tf 4 Tc 200 300 Td (AA) Tj ET",
    "kerned": b"BT /B 10 Tf 200 300 Td [(A) -2000 (A)] TJ ET",
    "next line": b"BT /B 10 Tf 14 TL 200 300 Td (A) ' (A) Tj ET",
    "cut between letters": b"q 200 300 25 10 re W n BT /B 10 Tf 20 Tc 200 300 Td (AA) Tj ET Q",
    "clipped in half": b"q 200 300 5 10 re W n BT /B 10 Tf 200 300 Td (A) Tj ET Q",
}
_DIAGONAL = 10 / 2**0.5
INK: dict[str, Box] = {
    "turned": (200 - _DIAGONAL, 300, 200 + _DIAGONAL, 300 + 2 * _DIAGONAL),
    "raised": (200, 307, 210, 317),
    "condensed": (200, 300, 210, 310),
    "spaced": (200, 300, 224, 310),
    "kerned": (200, 300, 240, 310),
    "next line": (200, 286, 220, 296),
    "cut between letters": (200, 300, 210, 310),
    "clipped in half": (200, 300, 205, 310),
}


@pytest.mark.parametrize("place", PLACES)
def test_text_state_is_followed(tmp_path: Path, place: str) -> None:
    """Text-state and positioning operators of ISO 32000-1 9.3 and 9.4 on blocks of 10 pt."""
    page = Sheet().page(PLACES[place]).measured(tmp_path).pages[0]
    assert page.text == pytest.approx(INK[place], abs=0.1)


def assert_as_drawn(path: Path, pages: Iterable[int] | None = None) -> int:
    """Compare the text box of ``pages`` with the drawn one; returns how many had text."""
    measured = {page.page: page for page in facts_of(path).pages}
    compared = 0
    for number, drawn in text_boxes(path, pages):
        if drawn is None:
            assert measured[number].text is None, f"page {number} draws no text"
            continue
        assert measured[number].text == pytest.approx(drawn, abs=WITHIN), f"page {number}"
        compared += 1
    return compared


SPREADS = [
    (MEMOIR, range(1, 616, 11)),
    (ANNOTATIONS, range(1, 1152, 23)),
    (R_INTRO, range(1, 114, 3)),
    (R_EXTS, [27, *range(1, 237, 7)]),  # on page 27, and on those named below, text runs off the page
    (DEBIAN_REFERENCE, [35, 94, 173, *range(1, 262, 7)]),
]


@pytest.mark.parametrize(
    ("corpus", "pages"), [pytest.param(*row, marks=row[0].missing, id=row[0].path.stem) for row in SPREADS]
)
def test_text_of_real_manuals_is_where_it_is_drawn(corpus: Corpus, pages: Sequence[int]) -> None:
    assert assert_as_drawn(corpus.path, pages) >= len(pages) // 2


@pytest.mark.parametrize("name", ["keeper-of-the-low-light", "tide-tables"])
def test_text_of_the_sample_books_is_where_it_is_drawn(sample_pdfs: Path, name: str) -> None:
    assert assert_as_drawn(sample_pdfs / f"{name}.pdf") >= 12
