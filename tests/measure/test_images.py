"""Effective resolution: 72 x pixels / edge of the unit square under the whole matrix (ISO 32000-1 8.9.4).

The figures of the small files are worked by hand from that formula; real files are compared with ``pdfimages -list``.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Dictionary, Name, Stream

from tests.corpora import ANNOTATIONS, DEBIAN_REFERENCE, corpus_parameters, source_pdf
from tests.measure.build import Sheet, picture
from tests.measure.poppler import ImageRow, pdfimages
from tests.measured import facts_of
from tests.needs import needs_poppler
from worker.measure import measure
from worker.measure.models import Image

WITHIN = 0.01  # one per cent

_COS, _SIN = math.cos(math.radians(30)), math.sin(math.radians(30))

# Matrix of a picture of 300 x 200 pixels, and the resolution along its own axes.
MATRICES = {
    "upright": ("72 0 0 48 100 100 cm", (300, 300)),
    "stretched": ("144 0 0 48 100 100 cm", (150, 300)),
    "turned by 30 degrees": (f"{72 * _COS} {72 * _SIN} {-48 * _SIN} {48 * _COS} 100 100 cm", (300, 300)),
    "turned by 90 degrees": ("0 72 -48 0 200 100 cm", (300, 300)),
    "flipped": ("72 0 0 -48 100 200 cm", (300, 300)),
    "skewed": ("72 0 20 48 100 100 cm", (300, 276.923)),
    "skewed by 45 degrees": ("72 0 48 48 100 100 cm", (300, 212.132)),
    "two matrices": ("2 0 0 2 0 0 cm 36 0 0 24 50 50 cm", (300, 300)),
}


def drawn(folder: Path, content: str, *, sheet: Sheet | None = None, **keys: Any) -> tuple[Image, ...]:
    """The pictures measured on a page with ``content``, which calls the 300 x 200 picture ``/P``."""
    sheet = sheet or Sheet()
    resources = {"XObject": Dictionary(P=picture(sheet.pdf))}
    return sheet.page(content.encode(), resources=resources, **keys).measured(folder).images


@pytest.mark.parametrize(("matrix", "ppi"), MATRICES.values(), ids=MATRICES.keys())
def test_ppi_along_the_axes_of_the_picture(tmp_path: Path, matrix: str, ppi: tuple[float, float]) -> None:
    (image,) = drawn(tmp_path, f"q {matrix} /P Do Q")
    assert image.ppi == pytest.approx(ppi, rel=1e-4)
    assert image.pixels == (300, 200)
    assert (image.colour, image.bits, image.page) == ("gray", 8, 1)


@needs_poppler
@pytest.mark.parametrize(("matrix", "ppi"), MATRICES.values(), ids=MATRICES.keys())
def test_pdfimages_has_the_same_figures(tmp_path: Path, matrix: str, ppi: tuple[float, float]) -> None:
    sheet = Sheet()
    resources = {"XObject": Dictionary(P=picture(sheet.pdf))}
    path = sheet.page(f"q {matrix} /P Do Q".encode(), resources=resources).save(tmp_path / "sheet.pdf")
    (row,) = pdfimages(path)
    assert row.ppi == pytest.approx(ppi, abs=0.5)


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
def test_the_rotation_of_the_page_changes_nothing(tmp_path: Path, rotate: int) -> None:
    (image,) = drawn(tmp_path, "q 144 0 0 48 100 100 cm /P Do Q", Rotate=rotate)
    assert image.ppi == pytest.approx((150, 300), rel=1e-4)


def test_user_unit_enlarges_the_picture(tmp_path: Path) -> None:
    (image,) = drawn(tmp_path, "q 72 0 0 48 100 100 cm /P Do Q", UserUnit=2)
    assert image.ppi == pytest.approx((150, 150), rel=1e-4)


def test_the_box_is_the_place_on_the_trimmed_page(tmp_path: Path) -> None:
    (image,) = drawn(tmp_path, "q 72 0 0 48 109 209 cm /P Do Q", media=(0, 0, 450, 666), TrimBox=[9, 9, 441, 657])
    assert image.box == pytest.approx((100, 200, 172, 248), abs=0.01)


def test_a_form_counts_in_with_its_matrix(tmp_path: Path) -> None:
    sheet = Sheet()
    form = Stream(sheet.pdf, b"q 72 0 0 48 0 0 cm /P Do Q")
    form.stream_dict = Dictionary(
        Type=Name.XObject,
        Subtype=Name.Form,
        BBox=[0, 0, 400, 400],
        Matrix=[0.5, 0, 0, 0.5, 10, 10],
        Resources=Dictionary(XObject=Dictionary(P=picture(sheet.pdf))),
    )
    resources = {"XObject": Dictionary(F=sheet.pdf.make_indirect(form))}
    (image,) = sheet.page(b"q 1 0 0 1 90 90 cm /F Do Q", resources=resources).measured(tmp_path).images
    assert image.ppi == pytest.approx((600, 600), rel=1e-4)
    assert image.box == pytest.approx((100, 100, 136, 124), abs=0.01)


def test_a_coarse_soft_mask_is_no_picture(tmp_path: Path) -> None:
    sheet = Sheet()
    masked = picture(sheet.pdf, SMask=picture(sheet.pdf, 60, 40))
    page = sheet.page(b"q 72 0 0 48 100 100 cm /P Do Q", resources={"XObject": Dictionary(P=masked)})
    (image,) = page.measured(tmp_path).images
    assert image.ppi == pytest.approx((300, 300), rel=1e-4)


def test_a_mask_finer_than_its_picture_carries_the_detail(tmp_path: Path) -> None:
    sheet = Sheet()
    masked = picture(sheet.pdf, 60, 40, SMask=picture(sheet.pdf, 300, 200))
    page = sheet.page(b"q 72 0 0 48 100 100 cm /P Do Q", resources={"XObject": Dictionary(P=masked)})
    (image,) = page.measured(tmp_path).images
    assert image.ppi == pytest.approx((300, 300), rel=1e-4)
    assert image.mask_ppi == pytest.approx((300, 300), rel=1e-4)
    assert image.pixels == (60, 40)


def test_a_picture_drawn_twice_is_two_placements(tmp_path: Path) -> None:
    images = drawn(tmp_path, "q 72 0 0 48 50 50 cm /P Do Q q 144 0 0 96 50 200 cm /P Do Q")
    assert sorted(round(min(image.ppi)) for image in images) == [150, 300]


def test_an_inline_picture(tmp_path: Path) -> None:
    content = b"q 72 0 0 48 100 100 cm BI /W 4 /H 4 /CS /G /BPC 8 ID " + bytes(range(65, 81)) + b" EI Q"
    (image,) = Sheet().page(content).measured(tmp_path).images
    assert image.ppi == pytest.approx((4, 6), rel=1e-4)
    assert image.pixels == (4, 4)


NOT_PRINTED = {
    "of no height": "q 72 0 0 0 100 100 cm /P Do Q",
    "clipped away": "q 0 0 10 10 re W n 72 0 0 48 100 100 cm /P Do Q",
    "off the page": "q 72 0 0 48 5000 5000 cm /P Do Q",
    "never drawn": "",
}


@pytest.mark.parametrize("content", NOT_PRINTED.values(), ids=NOT_PRINTED.keys())
def test_what_would_not_print_is_left_out(tmp_path: Path, content: str) -> None:
    assert drawn(tmp_path, content) == ()


def test_line_art_is_known(tmp_path: Path) -> None:
    """1-bit pictures and stencils larger than a rule are line art; a stencil of one pixel is a rule."""
    sheet = Sheet()
    one_bit = picture(sheet.pdf, 296, 200, BitsPerComponent=1)
    stencil = picture(sheet.pdf, 296, 200, BitsPerComponent=1, ImageMask=True)
    del stencil["/ColorSpace"]
    dot = picture(sheet.pdf, 1, 1, BitsPerComponent=1, ImageMask=True)
    del dot["/ColorSpace"]
    content = b"q 72 0 0 48 50 50 cm /A Do Q q 72 0 0 48 50 150 cm /B Do Q q 72 0 0 1 50 250 cm /C Do Q"
    resources = {"XObject": Dictionary(A=one_bit, B=stencil, C=dot)}
    bitmap, mask, rule = sorted(
        sheet.page(content, resources=resources).measured(tmp_path).images, key=lambda image: image.box[1]
    )
    assert bitmap.line_art
    assert bitmap.bits == 1
    assert mask.line_art
    assert mask.colour == "mask"
    assert not rule.line_art


COLOURS = {
    "gray": Name.DeviceGray,
    "rgb": Name.DeviceRGB,
    "cmyk": Name.DeviceCMYK,
    "lab": pikepdf.Array([Name.Lab, Dictionary(WhitePoint=[0.9505, 1, 1.089])]),
    "indexed-rgb": pikepdf.Array([Name.Indexed, Name.DeviceRGB, 1, b"\x00\x00\x00\xff\xff\xff"]),
}


@pytest.mark.parametrize("colour", COLOURS)
def test_colour_of_a_picture(tmp_path: Path, colour: str) -> None:
    sheet = Sheet()
    image = picture(sheet.pdf, 30, 20, ColorSpace=COLOURS[colour])
    image.write(bytes(30 * 20 * 4))
    page = sheet.page(b"q 72 0 0 48 9 9 cm /P Do Q", resources={"XObject": Dictionary(P=image)})
    (measured,) = page.measured(tmp_path).images
    assert measured.colour == colour


def _pictures(path: Path) -> list[ImageRow]:
    """What poppler lists, masks apart."""
    return [row for row in pdfimages(path) if row.kind not in ("smask", "mask")]


@needs_poppler
@pytest.mark.parametrize("path", corpus_parameters(ANNOTATIONS, DEBIAN_REFERENCE))
def test_pictures_of_real_manuals_agree_with_pdfimages(path: Path) -> None:
    """The same pictures on the same pages, and every resolution within one per cent (and poppler's rounding)."""
    measured = sorted((image.page, image.pixels, image.ppi) for image in facts_of(path).images)
    listed = sorted((row.page, row.pixels, row.ppi) for row in _pictures(path))
    assert listed
    assert [item[:2] for item in measured] == [item[:2] for item in listed]
    for (page, _, ours), (_, _, theirs) in zip(measured, listed, strict=True):
        assert ours == pytest.approx(theirs, rel=WITHIN, abs=0.5), f"page {page}"


LIBRARY_FILES = [
    ("pikepdf", "tests/resources/cmyk-jpeg.pdf"),
    ("pikepdf", "tests/resources/formxobject.pdf"),
    ("pikepdf", "tests/resources/jbig2.pdf"),
    ("pikepdf", "tests/resources/1biticc.pdf"),
    ("pypdf", "resources/imagemagick-lzw.pdf"),
    ("ocrmypdf", "tests/resources/skew.pdf"),
]


@needs_poppler
@pytest.mark.parametrize(("name", "relative"), LIBRARY_FILES, ids=[item[1] for item in LIBRARY_FILES])
def test_pictures_of_library_files_agree_with_pdfimages(name: str, relative: str) -> None:
    path = source_pdf(name, relative)
    measured = sorted((image.page, image.pixels, image.ppi) for image in measure(path).images)
    listed = sorted((row.page, row.pixels, row.ppi) for row in _pictures(path))
    assert listed
    assert [item[:2] for item in measured] == [item[:2] for item in listed]
    for (page, _, ours), (_, _, theirs) in zip(measured, listed, strict=True):
        assert ours == pytest.approx(theirs, rel=WITHIN, abs=0.5), f"page {page}"


@needs_poppler
def test_a_layered_scan_is_judged_by_its_mask() -> None:
    """A 6-page scan with a coarse picture under a fine 1-bit soft mask: poppler lists picture and mask apart."""
    path = source_pdf("pypdf", "resources/Seige_of_Vicksburg_Sample_OCR.pdf")
    finest = max(row.ppi for row in pdfimages(path) if row.page == 1 and row.kind == "smask")
    layered = [image for image in measure(path).images if image.page == 1 and image.mask_ppi]
    assert [image.mask_ppi for image in layered] == [pytest.approx(finest, rel=WITHIN)]
    assert layered[0].ppi == layered[0].mask_ppi


@pytest.mark.parametrize("bits", [0, -1])
def test_a_depth_that_cannot_be_is_none(tmp_path: Path, bits: int) -> None:
    """A component has some bits (ISO 32000-1 Table 89)."""
    sheet = Sheet()
    odd = picture(sheet.pdf, BitsPerComponent=bits)
    sheet.page(b"72 0 0 48 100 100 cm /P Do", resources={"XObject": Dictionary(P=odd)})
    assert [image.bits for image in sheet.measured(tmp_path).images] == [8]
