"""White pictures are no ink. The verdicts are those of pages rendered by PDFium; Pillow and zlib encode."""

from __future__ import annotations

import base64
import io
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2
import pytest
from pikepdf import Array, Dictionary, Name, Stream
from PIL import Image

from tests.hostile.bombs import lzw, run_lengths
from tests.hostile.raw import deflated
from tests.measure.build import Sheet
from worker.measure import measure, paper
from worker.measure.models import Page

WIDTH, HEIGHT = 101, 40
"""A row of one-bit samples does not end with a byte."""
PLACED = b"q 450 0 0 666 -9 -9 cm /P Do Q"
"""Over the whole page and past its edges."""
OVER_ALL = {"media": (-20.0, -20.0, 460.0, 680.0), "TrimBox": [0, 0, 432, 648]}


def _image(sheet: Sheet, data: bytes, **keys: Any) -> Stream:
    image = Stream(sheet.pdf, data)
    image.stream_dict = Dictionary(
        Type=Name.XObject,
        Subtype=Name.Image,
        Width=WIDTH,
        Height=HEIGHT,
        BitsPerComponent=8,
        ColorSpace=Name.DeviceGray,
    )
    for key, value in keys.items():
        image[f"/{key}"] = value
    if keys.get("ImageMask"):
        del image["/ColorSpace"]
    return sheet.pdf.make_indirect(image)


def _jpeg(mode: str, colour: Any) -> bytes:
    out = io.BytesIO()
    Image.new(mode, (WIDTH, HEIGHT), colour).save(out, "JPEG", quality=90)
    return out.getvalue()


def _fax(sample: int) -> bytes:
    """CCITT group 4 as a TIFF writer encodes it."""
    out = io.BytesIO()
    Image.new("1", (WIDTH, HEIGHT), sample).save(out, "TIFF", compression="group4", tiffinfo={278: HEIGHT})
    with Image.open(out) as written:
        start, size = written.tag_v2[273][0], written.tag_v2[279][0]  # type: ignore[attr-defined]
    return out.getvalue()[start : start + size]


def _palette(base: Name, table: bytes) -> Array:
    return Array([Name.Indexed, base, len(table) // 3 - 1, pikepdf.String(table)])


def _g4(**more: bool) -> Dictionary:
    return Dictionary(None, K=-1, Columns=WIDTH, Rows=HEIGHT, **more)


GRAY, BITS = WIDTH * HEIGHT, -(-WIDTH // 8) * HEIGHT
FLATE = {"Filter": Name.FlateDecode}
FAX = {"Filter": Name.CCITTFaxDecode, "DecodeParms": _g4(), "BitsPerComponent": 1}
ROW = b"\xff" * (WIDTH // 8) + b"\xf8"
"""101 ones, and three bits that are none of the picture's."""
BLACK_AND_WHITE = _palette(Name.DeviceRGB, b"\0\0\0\xff\xff\xff")

WHITE: dict[str, tuple[bytes, dict[str, Any]]] = {
    "gray": (b"\xff" * GRAY, {}),
    "gray, deflated": (zlib.compress(b"\xff" * GRAY), FLATE),
    "gray by LZW": (lzw(b"\xff" * GRAY), {"Filter": Name.LZWDecode}),
    "gray by run lengths": (run_lengths(b"\xff" * GRAY), {"Filter": Name.RunLengthDecode}),
    "gray by rows that differ from none": (
        zlib.compress((b"\1\xff" + bytes(WIDTH - 1)) * HEIGHT),
        {**FLATE, "DecodeParms": Dictionary(Predictor=15, Columns=WIDTH)},
    ),
    "gray, 16 bits": (b"\xff\xff" * GRAY, {"BitsPerComponent": 16}),
    "gray, turned round": (bytes(GRAY), {"Decode": [1, 0]}),
    "RGB": (zlib.compress(b"\xff" * 3 * GRAY), {**FLATE, "ColorSpace": Name.DeviceRGB}),
    "CMYK": (zlib.compress(bytes(4 * GRAY)), {**FLATE, "ColorSpace": Name.DeviceCMYK}),
    "one bit": (b"\xff" * BITS, {"BitsPerComponent": 1}),
    "one bit, rows filled up with black": (ROW * HEIGHT, {"BitsPerComponent": 1}),
    "white of a palette": (b"\1" * GRAY, {"ColorSpace": BLACK_AND_WHITE}),
    "white of a palette, one bit": (ROW * HEIGHT, {"ColorSpace": BLACK_AND_WHITE, "BitsPerComponent": 1}),
    "JPEG, gray": (_jpeg("L", 255), {"Filter": Name.DCTDecode}),
    "JPEG, RGB": (_jpeg("RGB", (255, 255, 255)), {"Filter": Name.DCTDecode, "ColorSpace": Name.DeviceRGB}),
    "fax": (_fax(0), FAX),
    "fax, turned round": (_fax(1), {**FAX, "DecodeParms": _g4(BlackIs1=True)}),
    "stencil that spares all": (ROW * HEIGHT, {"ImageMask": True, "BitsPerComponent": 1}),
}
NOT_WHITE: dict[str, tuple[bytes, dict[str, Any]]] = {
    "one sample of another gray": (b"\xff" * (GRAY - 1) + b"\xfe", {}),
    "the last sample of a row": ((b"\xff" * (WIDTH // 8) + b"\xf0") * HEIGHT, {"BitsPerComponent": 1}),
    "gray, turned round": (b"\xff" * GRAY, {"Decode": [1, 0]}),
    "black": (zlib.compress(bytes(GRAY)), FLATE),
    "CMYK": (zlib.compress(b"\xff" * 4 * GRAY), {**FLATE, "ColorSpace": Name.DeviceCMYK}),
    "black of a palette": (b"\0" * GRAY, {"ColorSpace": BLACK_AND_WHITE}),
    "JPEG": (_jpeg("L", 250), {"Filter": Name.DCTDecode}),
    "fax": (_fax(1), FAX),
    "fax, turned round": (_fax(0), {**FAX, "DecodeParms": _g4(BlackIs1=True)}),
    "stencil that paints all": (bytes(BITS), {"ImageMask": True, "BitsPerComponent": 1}),
}


def _page(folder: Path, case: tuple[bytes, dict[str, Any]], content: bytes = PLACED) -> tuple[Page, bool]:
    """The page measured, and whether PDFium puts anything but paper on it."""
    sheet = Sheet()
    data, keys = case
    resources = {"XObject": Dictionary(P=_image(sheet, data, **keys))}
    path = sheet.page(content, resources=resources, **OVER_ALL).save(folder / "sheet.pdf")  # type: ignore[arg-type]
    measured = measure(path)
    assert [image.pixels for image in measured.images] == [(WIDTH, HEIGHT)] * content.count(b"Do")
    with pypdfium2.PdfDocument(path) as document:
        lightest, _ = document[0].render(scale=2, grayscale=True).to_pil().getextrema()
    return measured.pages[0], bool(lightest < 255)


@pytest.mark.parametrize("case", WHITE.values(), ids=WHITE.keys())
def test_a_white_picture_is_no_ink(tmp_path: Path, case: tuple[bytes, dict[str, Any]]) -> None:
    page, inked = _page(tmp_path, case)
    assert not inked
    assert page.blank
    assert page.ink is None
    assert page.colours == ()
    assert page.reach.left is None


@pytest.mark.parametrize("case", NOT_WHITE.values(), ids=NOT_WHITE.keys())
def test_any_other_picture_is(tmp_path: Path, case: tuple[bytes, dict[str, Any]]) -> None:
    page, inked = _page(tmp_path, case)
    assert inked
    assert not page.blank
    assert page.reach.left == pytest.approx(9)


def test_white_beneath_a_text_reaches_no_edge(tmp_path: Path) -> None:
    """And white text upon it is none."""
    content = PLACED + b" BT /B 10 Tf 100 200 Td (A) Tj ET 1 g BT /B 10 Tf 300 500 Td (A) Tj ET"
    page, _ = _page(tmp_path, WHITE["RGB"], content)
    assert page.ink == page.text == pytest.approx((100, 200, 110, 210), abs=0.05)
    assert page.reach.left is page.reach.head is None
    assert page.colours == ("gray",)


def test_the_same_picture_is_looked_into_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    looked: list[int] = []
    look = paper._is_white
    monkeypatch.setattr(paper, "_is_white", lambda *of: looked.append(1) or look(*of))  # type: ignore[func-returns-value]
    page, _ = _page(tmp_path, WHITE["gray"], PLACED * 20)
    assert page.blank
    assert looked == [1]


def test_a_page_has_only_so_much_looked_into(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is past that counts as ink."""
    monkeypatch.setattr(paper, "MOST_A_PAGE", 3 * GRAY)
    assert _page(tmp_path, WHITE["gray"], PLACED * 3)[0].blank
    assert not _page(tmp_path, WHITE["gray"], PLACED * 4)[0].blank


INLINE = {
    "as it is": b"/W 8 /H 8 /CS /G /BPC 8 ID " + b"\xff" * 64,
    "full names": b"/Width 8 /Height 8 /ColorSpace /DeviceGray /BitsPerComponent 8 ID " + b"\xff" * 64,
    "deflated, in base 85": b"/W 8 /H 8 /CS /G /BPC 8 /F [/A85 /Fl] ID "
    + base64.a85encode(zlib.compress(b"\xff" * 64))
    + b"~>",
}


@pytest.mark.parametrize("inline", INLINE.values(), ids=INLINE.keys())
def test_an_inline_picture(tmp_path: Path, inline: bytes) -> None:
    white = b"q 450 0 0 666 -9 -9 cm BI " + inline + b"\nEI Q"
    assert Sheet().page(white).measured(tmp_path).pages[0].blank
    assert not Sheet().page(white.replace(b"BI ", b"BI /D [1 0] ")).measured(tmp_path).pages[0].blank


def _hostile() -> Iterator[tuple[bytes, dict[str, Any]]]:
    yield deflated(b"\xff" * 1_000_000, 300)[:5_000], FLATE
    yield zlib.compress(b"\xff" * GRAY)[:-9], FLATE
    yield b"\xff" * (GRAY - 1), {}
    yield _jpeg("L", 255)[:-40], {"Filter": Name.DCTDecode}
    yield _jpeg("L", 255), {"Filter": Name.DCTDecode, "Width": 60_000, "Height": 60_000}
    yield b"\xff" * GRAY, {"Filter": Name.CCITTFaxDecode, "BitsPerComponent": 1}
    yield b"\xff" * GRAY, {"Filter": Name.JPXDecode}
    yield b"\1" * GRAY, {"ColorSpace": Array([Name.Indexed, 5, 1, 7])}
    yield b"\xff" * GRAY, {"BitsPerComponent": 3}
    yield b"\xff" * GRAY, {"Width": 2**31}


@pytest.mark.parametrize("case", list(_hostile()))
def test_what_cannot_be_known_counts_as_ink(tmp_path: Path, case: tuple[bytes, dict[str, Any]]) -> None:
    sheet = Sheet()
    data, keys = case
    resources = {"XObject": Dictionary(P=_image(sheet, data, **keys))}
    page = sheet.page(PLACED, resources=resources).measured(tmp_path).pages[0]
    assert page.unread is None
    assert not page.blank
