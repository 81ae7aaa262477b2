"""Text in every way that a file can set it, within 0.25 pt of PDFium's drawing at 600 dpi.

A glyph of known shape (a Type 3 triangle, a block) gives figures by hand; a real TrueType font (Vera, which ReportLab
brings, written as a CID font) gives the rest. Rendering modes, rise, scaling and spacing: ISO 32000-1 9.3; vertical
writing: 9.7.4.3; Type 3: 9.6.5.
"""

from __future__ import annotations

from math import sqrt
from pathlib import Path

import pikepdf
import pytest
from fontTools.ttLib import TTFont
from pikepdf import Array, Dictionary, Name, Stream

from tests.books.books import VERA
from tests.measure.build import Box, Sheet, picture
from tests.measure.oracle import drawn_pages
from worker.measure import measure

WITHIN = 0.25


def _vera(pdf: pikepdf.Pdf, encoding: str) -> Dictionary:
    """Vera as a CID font whose codes are glyph indices, for level (H) or vertical (V) writing."""
    font = TTFont(VERA)
    em = font["head"].unitsPerEm
    widths = [round(1000 * font["hmtx"][name][0] / em) for name in font.getGlyphOrder()]
    program = pdf.make_indirect(Stream(pdf, VERA.read_bytes()))
    descriptor = Dictionary(Type=Name.FontDescriptor, FontName=Name.Vera, Flags=4, FontFile2=program,
                            FontBBox=[-200, -240, 1300, 930], ItalicAngle=0, Ascent=930, Descent=-240, CapHeight=730,
                            StemV=80)  # fmt: skip
    described = Dictionary(
        Type=Name.Font, Subtype=Name.CIDFontType2, BaseFont=Name.Vera, FontDescriptor=descriptor, DW=600,
        CIDSystemInfo=Dictionary(Registry="Adobe", Ordering="Identity", Supplement=0), W=Array([0, Array(widths)]),
        CIDToGIDMap=Name.Identity,
    )  # fmt: skip
    return Dictionary(Type=Name.Font, Subtype=Name.Type0, BaseFont=Name.Vera, Encoding=Name(f"/Identity-{encoding}"),
                      DescendantFonts=Array([pdf.make_indirect(described)]))  # fmt: skip


def _triangle(pdf: pikepdf.Pdf) -> Dictionary:
    """A Type 3 font whose glyph ``A`` is a triangle on the baseline, 1 em wide and high."""
    drawing = Stream(pdf, b"1000 0 0 0 1000 1000 d1 0 0 m 1000 0 l 0 1000 l h f")
    return Dictionary(
        Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 1000, 1000], FontMatrix=[0.001, 0, 0, 0.001, 0, 0],
        CharProcs=Dictionary(A=pdf.make_indirect(drawing)), FirstChar=65, LastChar=65, Widths=[1000],
        Encoding=Dictionary(Type=Name.Encoding, Differences=[65, Name.A]), Resources=Dictionary(),
    )  # fmt: skip


def _hex(text: str) -> bytes:
    cmap, font = TTFont(VERA).getBestCmap(), TTFont(VERA)
    return b"<" + "".join(f"{font.getGlyphID(cmap[ord(letter)]):04x}" for letter in text).encode() + b">"


TIDE, W = _hex("Tidegate"), _hex("WAVM")
TURNED = b"0.9396926 0.3420201 -0.3420201 0.9396926 150 300 Tm "
TEXT = {
    "level": b"/V 20 Tf 150 300 Td " + TIDE + b" Tj",
    "turned": b"/V 20 Tf " + TURNED + TIDE + b" Tj",
    "turned and spaced": b"/V 20 Tf 4 Tc " + TURNED + TIDE + b" Tj",
    "turned, condensed and raised": b"/V 20 Tf 60 Tz 7 Ts " + TURNED + TIDE + b" Tj",
    "slanted": b"/V 20 Tf 1 0 0.4 1 150 300 Tm " + TIDE + b" Tj",
    "mirrored": b"/V 20 Tf -1 0 0.2 1 250 300 Tm " + TIDE + b" Tj",
    "upside down": b"/V 20 Tf 1 0 0 -1 150 300 Tm " + TIDE + b" Tj",
    "kerned": b"/V 20 Tf 150 300 Td [" + TIDE + b" -700 " + TIDE + b" 1500 " + W + b"] TJ",
    "kerned and turned": b"/V 20 Tf " + TURNED + b"[" + TIDE + b" -700 " + TIDE + b"] TJ",
    "outlines alone": b"/V 40 Tf 1 Tr 3 w 150 300 Td " + W + b" Tj",
    "outlines with round joins": b"/V 40 Tf 2 Tr 1 j 6 w 150 300 Td " + W + b" Tj",
    "outlines, turned": b"/V 40 Tf 2 Tr 4 w " + TURNED + W + b" Tj",
    "a hairline around": b"/V 40 Tf 2 Tr 0 w 150 300 Td " + W + b" Tj",
    "hung": b"/U 20 Tf 200 400 Td " + TIDE + b" Tj",
    "hung and spaced": b"/U 20 Tf -6 Tc 200 400 Td [" + TIDE + b" 900 " + W + b"] TJ",
    "hung and slanted": b"/U 20 Tf 1 0.3 0 1 200 400 Tm " + TIDE + b" Tj",
    "a triangle": b"/T 40 Tf 150 300 Td (A) Tj",
    "a triangle, turned": b"/T 40 Tf " + TURNED + b"(AA) Tj",
    "a block, turned": b"/B 40 Tf " + TURNED + b"(AA) Tj",
    "twice the size by the matrix": b"/V 10 Tf 2 0 0 2 150 300 Tm " + TIDE + b" Tj",
}  # fmt: skip


def _sheet(content: bytes, **resources: object) -> Sheet:
    sheet = Sheet()
    sheet.page(content, resources=resources)
    fonts = sheet.pdf.pages[0].Resources.Font
    fonts.V, fonts.U, fonts.T = _vera(sheet.pdf, "H"), _vera(sheet.pdf, "V"), _triangle(sheet.pdf)
    return sheet


def _compared(sheet: Sheet, folder: Path) -> tuple[Box, Box]:
    """The box of the page's ink as measured and as drawn."""
    path = sheet.save(folder / "sheet.pdf")
    (drawn,) = drawn_pages(path)
    measured = measure(path).pages[0].ink
    assert measured is not None
    assert drawn.ink is not None
    return measured, drawn.ink


@pytest.mark.parametrize("way", TEXT)
def test_text_is_where_it_is_drawn(tmp_path: Path, way: str) -> None:
    sheet = _sheet(b"BT " + TEXT[way] + b" ET")
    measured, drawn = _compared(sheet, tmp_path)
    assert measured == pytest.approx(drawn, abs=WITHIN)
    assert measure(tmp_path / "sheet.pdf").pages[0].text == measured


def test_a_type3_glyph_is_turned_to_its_shape(tmp_path: Path) -> None:
    """A right-angled triangle of 40 pt turned by 45 degrees: 0 to 40/√2 up, where its box would reach 40√2."""
    content = b"BT /T 40 Tf 0.7071068 0.7071068 -0.7071068 0.7071068 200 300 Tm (A) Tj ET"
    half = 40 / sqrt(2)
    assert _sheet(content).measured(tmp_path).pages[0].text == pytest.approx(
        (200 - half, 300, 200 + half, 300 + half), abs=0.02
    )


DRAWN = {
    "a form within a form, turned": b"q 0.9396926 0.3420201 -0.3420201 0.9396926 200 200 cm /F Do Q",
    "a form clipped by its box": b"q 3 0 0 3 100 100 cm /F Do Q",
    "a picture clipped by text": b"q BT /V 60 Tf 7 Tr 100 300 Td " + W + b" Tj ET 432 0 0 648 0 0 cm /P Do Q",
    "a picture turned": b"q 100 40 -60 90 200 200 cm /P Do Q",
    "a layer that is off": b"0 0 9 9 re f /OC /L BDC 300 300 50 50 re f EMC",
    "white text on a bar": b"100 300 200 40 re f BT 1 g /V 20 Tf 110 310 Td " + TIDE + b" Tj ET",
    "a tiling pattern": b"/Pattern cs /T scn 100 300 80 50 re f",
    "curves": b"100 300 m 100 400 200 400 200 300 c 180 220 120 220 100 300 c f",
}  # fmt: skip


@pytest.mark.parametrize("way", DRAWN)
def test_marks_are_where_they_are_drawn(tmp_path: Path, way: str) -> None:
    sheet = _sheet(DRAWN[way])
    pdf, resources = sheet.pdf, sheet.pdf.pages[0].Resources
    inner = Stream(pdf, b"0 0 m 60 0 l 30 80 l h f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 50, 60])
    outer = Stream(
        pdf, b"q 1 0.2 0 1 10 10 cm /I Do Q 1 w 5 5 60 40 re S", Type=Name.XObject, Subtype=Name.Form,
        BBox=[0, 0, 70, 90], Matrix=[1, 0, 0.3, 1, 0, 0], Resources=Dictionary(XObject=Dictionary(I=inner)),
    )  # fmt: skip
    layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="Proofs"))
    pdf.Root.OCProperties = Dictionary(OCGs=[layer], D=Dictionary(OFF=[layer]))
    cell = Stream(pdf, b"0 0 10 10 re f", PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 10, 10], XStep=10,
                  YStep=10, Resources=Dictionary())  # fmt: skip
    resources.XObject = Dictionary(F=outer, P=picture(pdf))
    resources.Properties = Dictionary(L=layer)
    resources.Pattern = Dictionary(T=cell)
    measured, drawn = _compared(sheet, tmp_path)
    assert measured == pytest.approx(drawn, abs=WITHIN)
