"""Books of known geometry, set on the spot by several producers, come out with that geometry.

The text block of the plan is the source of the figures; ink may fall short of the block by a side bearing or pass it
by a hung hyphen, which PDFium's drawing at 600 dpi settles within 0.5 pt.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from tests.books.books import Plan
from tests.books.fixtures import PRODUCERS, BookOf
from tests.measure.oracle import text_boxes
from worker.measure import measure

MIRRORED = Plan()
UNMIRRORED = Plan(mirrored=False, inside=72, outside=54)
A5 = Plan(trim=(419.528, 595.276), inside=60, outside=45, picture_ppi=300)
BEARING = 2.0


@pytest.mark.parametrize("producer", PRODUCERS)
@pytest.mark.parametrize("plan", [MIRRORED, UNMIRRORED, A5], ids=["mirrored", "unmirrored", "A5 with pictures"])
def test_text_is_where_it_is_drawn(book_of: BookOf, producer: str, plan: Plan) -> None:
    path = book_of(producer, plan)
    pages = {page.page: page for page in measure(path).pages}
    drawn = dict(text_boxes(path))
    assert set(drawn) == set(pages)
    for number, box in drawn.items():
        assert pages[number].text == pytest.approx(box, abs=0.5), f"page {number}"


@pytest.mark.parametrize("producer", PRODUCERS)
def test_mirrored_margins(book_of: BookOf, producer: str) -> None:
    for page in measure(book_of(producer, MIRRORED)).pages:
        assert page.margins is not None
        assert page.margins.inside == pytest.approx(MIRRORED.inside, abs=BEARING)
        assert page.margins.outside == pytest.approx(MIRRORED.outside, abs=BEARING)
        assert page.margins.head == pytest.approx(MIRRORED.head, abs=6)


@pytest.mark.parametrize("producer", PRODUCERS)
def test_unmirrored_margins_change_places_on_the_verso(book_of: BookOf, producer: str) -> None:
    pages = measure(book_of(producer, UNMIRRORED)).pages
    for recto, verso in pairwise(pages):
        if recto.side != "recto":
            continue
        assert recto.margins is not None
        assert verso.margins is not None
        assert recto.margins.inside == pytest.approx(72, abs=BEARING)
        assert verso.margins.inside == pytest.approx(54, abs=BEARING)


@pytest.mark.parametrize("producer", PRODUCERS)
@pytest.mark.parametrize("plan", [MIRRORED, A5], ids=["6 x 9 in", "A5"])
def test_trim_and_pages(book_of: BookOf, producer: str, plan: Plan) -> None:
    """Within 0.05 pt: LibreOffice keeps page sizes in whole twips of a hundredth of a millimetre."""
    measurements = measure(book_of(producer, plan))
    assert measurements.document.pages == plan.pages
    for page in measurements.pages:
        assert page.trim == pytest.approx((0, 0, *plan.trim), abs=0.05)


@pytest.mark.parametrize("producer", ["typst", "reportlab", "fpdf2"])
def test_resolution_of_the_pictures(book_of: BookOf, producer: str) -> None:
    images = measure(book_of(producer, A5)).images
    assert [image.page for image in images] == list(range(1, A5.pages + 1))
    for image in images:
        assert image.pixels == A5.picture_pixels()
        assert image.ppi == pytest.approx((300, 300), rel=0.01)


KINDS = {"typst": {"cid-cff"}, "reportlab": {"truetype"}, "fpdf2": {"cid-truetype"}, "libreoffice": {"truetype"}}


@pytest.mark.parametrize("producer", PRODUCERS)
def test_fonts_of_each_producer_are_embedded(book_of: BookOf, producer: str) -> None:
    """Kinds as pdffonts (poppler 22.12) names them for these producers."""
    fonts = measure(book_of(producer, MIRRORED)).fonts
    assert {font.kind for font in fonts} == KINDS[producer]
    assert all(font.embedded and font.subset for font in fonts)


@pytest.mark.parametrize("producer", ["typst", "reportlab"])
def test_bleed_is_beyond_the_trim(book_of: BookOf, producer: str) -> None:
    plan = Plan(bleed=9)
    for page in measure(book_of(producer, plan)).pages:
        assert page.trim == pytest.approx((0, 0, *plan.trim), abs=0.01)
        assert page.media == pytest.approx((-9, -9, plan.trim[0] + 9, plan.trim[1] + 9), abs=0.01)
        assert page.margins is not None
        assert page.margins.inside == pytest.approx(plan.inside, abs=BEARING)
        if producer == "typst":
            assert (page.reach.left, page.reach.right, page.reach.head) == pytest.approx((9, 9, 9), abs=0.05)


# Trimmed sizes in mm: ISO 216 A5, A6, B6; B format, demy and royal octavo (publishers' glossaries); 6 x 9 in.
SIZES = {
    "A5": (148, 210, 419.528, 595.276),
    "A6": (105, 148, 297.638, 419.528),
    "B6": (125, 176, 354.331, 498.898),
    "B format": (129, 198, 365.669, 561.260),
    "demy octavo": (138, 216, 391.181, 612.283),
    "royal octavo": (156, 234, 442.205, 663.307),
    "6 x 9 in": (152.4, 228.6, 432, 648),
}


@pytest.mark.parametrize(("width", "height", "width_pt", "height_pt"), SIZES.values(), ids=SIZES.keys())
def test_trade_sizes_in_points(book_of: BookOf, width: float, height: float, width_pt: float, height_pt: float) -> None:
    plan = Plan(trim=(width * 72 / 25.4, height * 72 / 25.4), inside=50, outside=40, pages=1)
    page = measure(book_of("typst", plan)).pages[0]
    assert page.trim[2:] == pytest.approx((width_pt, height_pt), abs=0.01)
