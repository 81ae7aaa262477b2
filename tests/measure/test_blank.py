"""What would print and what would not.

The verdicts are those of rendered pages: small files were rendered at 100 dpi in grey with PDFium, and a page counts
as blank where no pixel is darker than paper (a 1 % tint is kept apart from paper: threshold 255).
"""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest
from pikepdf import Array, Dictionary, Name, Stream, String

from tests.measure.build import Sheet
from worker.measure import measure

CLEAR = {"ExtGState": Dictionary(Clear=Dictionary(ca=0, CA=0))}

BLANK = {
    "empty": b"",
    "one space": b"BT /H 12 Tf 72 72 Td ( ) Tj ET",
    "render mode 3": b"BT /H 12 Tf 3 Tr 72 72 Td (hidden) Tj ET",
    "clipping text": b"BT /H 12 Tf 7 Tr 72 72 Td (hidden) Tj ET",
    "white text": b"1 g BT /H 12 Tf 72 72 Td (white) Tj ET",
    "white text in RGB": b"1 1 1 rg BT /H 12 Tf 72 72 Td (white) Tj ET",
    "white text in CMYK": b"0 0 0 0 k BT /H 12 Tf 72 72 Td (white) Tj ET",
    "alpha 0": b"/Clear gs BT /H 12 Tf 72 72 Td (clear) Tj ET",
    "clipped away": b"0 0 10 10 re W n BT /H 12 Tf 72 272 Td (clipped) Tj ET",
    "off the page": b"BT /H 12 Tf 5000 5000 Td (far) Tj ET",
    "white rectangle over all": b"1 g 0 0 432 648 re f",
    "a path neither filled nor stroked": b"10 10 50 50 re n",
    "a width that is never stroked": b"0.1 w 10 10 m 50 50 l n",
}

INKED = {
    "hairline of width 0, 1 pt long": b"0 w 100 100 m 101 100 l S",
    "square of 0.1 pt": b"100 100 0.1 0.1 re f",
    "tint of one per cent": b"0 0 0 0.01 k 0 0 432 648 re f",
    "folio alone": b"BT /H 10 Tf 210 30 Td (8) Tj ET",
    "stroked text": b"BT /H 12 Tf 1 Tr 72 72 Td (outline) Tj ET",
    "white text on black": b"0 g 50 50 200 100 re f 1 g BT /H 12 Tf 72 72 Td (white) Tj ET",
    "shading": b"q 100 100 50 50 re W n /S sh Q",
}


def _resources() -> dict[str, object]:
    function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0], C1=[0.5], N=1)
    shading = Dictionary(ShadingType=2, ColorSpace=Name.DeviceGray, Coords=[100, 100, 150, 150], Function=function)
    return {**CLEAR, "Shading": Dictionary(S=shading)}


def _sheet(content: bytes) -> Sheet:
    return Sheet().page(content, resources=_resources())


def _inked(path: Path) -> bool:
    """Whether PDFium puts anything but paper on the page."""
    with pypdfium2.PdfDocument(path) as document:
        lightest, _ = document[0].render(scale=600 / 72, grayscale=True).to_pil().getextrema()
    return bool(lightest < 255)


@pytest.mark.parametrize("content", BLANK.values(), ids=BLANK.keys())
def test_blank(tmp_path: Path, content: bytes) -> None:
    path = _sheet(content).save(tmp_path / "sheet.pdf")
    page = measure(path).pages[0]
    assert page.blank
    assert page.ink is None
    assert page.text is None
    assert page.margins is None
    assert not _inked(path)


@pytest.mark.parametrize("content", INKED.values(), ids=INKED.keys())
def test_not_blank(tmp_path: Path, content: bytes) -> None:
    path = _sheet(content).save(tmp_path / "sheet.pdf")
    page = measure(path).pages[0]
    assert not page.blank
    assert page.ink is not None
    assert _inked(path)


def test_white_text_on_black_is_text(tmp_path: Path) -> None:
    page = _sheet(INKED["white text on black"]).measured(tmp_path).pages[0]
    assert page.text is not None
    assert page.text[0] == pytest.approx(72, abs=1)


@pytest.mark.parametrize("contents", [None, Array([])], ids=["none", "an empty list"])
def test_a_page_without_contents(tmp_path: Path, contents: Array | None) -> None:
    sheet = Sheet().page()
    del sheet.pdf.pages[0].obj["/Contents"]
    if contents is not None:
        sheet.pdf.pages[0].obj.Contents = contents
    assert sheet.measured(tmp_path).pages[0].blank


def _layered(*, hidden: bool) -> Sheet:
    """A page whose only text stands in an optional-content group (ISO 32000-1 8.11)."""
    sheet = Sheet()
    group = sheet.pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String("Proof marks")))
    state = Dictionary(OFF=[group]) if hidden else Dictionary(ON=[group])
    sheet.pdf.Root.OCProperties = Dictionary(OCGs=[group], D=state)
    content = b"/OC /Layer BDC BT /H 12 Tf 72 72 Td (layer) Tj ET EMC"
    return sheet.page(content, resources={"Properties": Dictionary(Layer=group)})


@pytest.mark.parametrize("hidden", [True, False])
def test_a_layer_prints_only_where_it_is_shown(tmp_path: Path, hidden: bool) -> None:
    measurements = _layered(hidden=hidden).measured(tmp_path)
    assert measurements.pages[0].blank is hidden
    assert (measurements.pages[0].text is None) is hidden
    assert measurements.document.layers == ("Proof marks",)


def test_ink_beyond_text(tmp_path: Path) -> None:
    """``ink`` has the picture or rule, ``text`` only the text."""
    content = b"20 30 300 1 re f BT /B 10 Tf 100 200 Td (A) Tj ET"
    page = Sheet().page(content).measured(tmp_path).pages[0]
    assert page.ink == pytest.approx((20, 30, 320, 210), abs=0.05)
    assert page.text == pytest.approx((100, 200, 110, 210), abs=0.05)


def test_ink_of_a_form(tmp_path: Path) -> None:
    sheet = Sheet()
    form = Stream(sheet.pdf, b"0 0 200 200 re f")
    form.stream_dict = Dictionary(Type=Name.XObject, Subtype=Name.Form, BBox=[50, 50, 100, 100])
    resources = {"XObject": Dictionary(X=sheet.pdf.make_indirect(form))}
    page = sheet.page(b"q 2 0 0 2 10 10 cm /X Do Q", resources=resources).measured(tmp_path).pages[0]
    assert page.ink == pytest.approx((110, 110, 210, 210), abs=0.05)
