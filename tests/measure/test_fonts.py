"""Fonts: which paint a glyph, what kind they are, whether they are embedded (ISO 32000-1 9.6 to 9.9).

Small files are judged by hand from the standard; real files and the sets of several producers by ``pdffonts``.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import reportlab
from fontTools.ttLib import TTFont
from pikepdf import Dictionary, Name, Stream
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont as ReportlabFont
from reportlab.pdfgen.canvas import Canvas

from tests.corpora import MEMOIR, R_EXTS, R_INTRO, corpus_parameters, source_pdf
from tests.measure.build import Sheet
from tests.measure.poppler import FontRow, pages_of, pdffonts
from tests.measured import facts_of
from tests.needs import needs_poppler
from worker.measure import measure
from worker.measure.models import Font, Measurements

VERA = Path(reportlab.__file__).parent / "fonts/Vera.ttf"

KINDS = {
    "Type 1": "type1",
    "Type 1C": "cff",
    "Type 1C (OT)": "cff",
    "TrueType": "truetype",
    "TrueType (OT)": "truetype",
    "Type 3": "type3",
    "CID Type 0C": "cid-cff",
    "CID Type 0C (OT)": "cid-cff",
    "CID Type 0": "cid-cff",
    "CID TrueType": "cid-truetype",
    "CID TrueType (OT)": "cid-truetype",
}


def without_tag(name: str) -> str:
    """The name without the tag of a subset (six capitals and a plus sign, ISO 32000-1 9.6.4)."""
    tag, plus, rest = name.partition("+")
    return rest if plus and len(tag) == 6 and tag.isupper() else name


def plain(row: FontRow) -> tuple[str, str, bool, bool]:
    name = without_tag(row.name).removesuffix("-Identity-H").removesuffix("-Identity-V")
    return name, KINDS[row.kind], row.embedded, row.subset


def measured(font: Font) -> tuple[str, str, bool, bool]:
    return font.name, font.kind, font.embedded, font.subset


def only_font(measurements: Measurements) -> Font:
    (font,) = measurements.fonts
    return font


def test_a_standard_font_is_not_embedded(tmp_path: Path) -> None:
    font = only_font(Sheet().page(b"BT /H 12 Tf 72 72 Td (Tern) Tj ET").measured(tmp_path))
    assert measured(font) == ("Helvetica", "type1", False, False)
    assert font.pages == (1,)
    assert font.sizes == pytest.approx((12, 12))


UNUSED = {
    "selected only": b"BT /H 12 Tf ET",
    "in the resources only": b"0 0 10 10 re f",
    "invisible": b"BT /H 12 Tf 3 Tr 72 72 Td (Tern) Tj ET",
}


@pytest.mark.parametrize("content", UNUSED.values(), ids=UNUSED.keys())
def test_a_font_that_paints_nothing_is_not_accused(tmp_path: Path, content: bytes) -> None:
    assert Sheet().page(content).measured(tmp_path).fonts == ()


def test_a_type3_font_is_always_embedded(tmp_path: Path) -> None:
    font = only_font(Sheet().page(b"BT /B 12 Tf 72 72 Td (A) Tj ET").measured(tmp_path))
    assert (font.kind, font.embedded) == ("type3", True)


def test_truetype_without_descriptor_is_not_embedded(tmp_path: Path) -> None:
    arial = Dictionary(Type=Name.Font, Subtype=Name.TrueType, BaseFont=Name.TernSans, Encoding=Name.WinAnsiEncoding)
    sheet = Sheet().page(b"BT /T 12 Tf 72 72 Td (Tern) Tj ET", resources={"Font": Dictionary(T=arial)})
    assert measured(only_font(sheet.measured(tmp_path))) == ("TernSans", "truetype", False, False)


@pytest.mark.parametrize(("subtype", "kind"), [("CIDFontType2", "cid-truetype"), ("CIDFontType0", "cid-cff")])
def test_a_composite_font_is_embedded_where_its_descendant_is(tmp_path: Path, subtype: str, kind: str) -> None:
    descriptor = Dictionary(
        Type=Name.FontDescriptor, FontName=Name.TernSerif, Flags=4, FontBBox=[0, -200, 1000, 800], ItalicAngle=0,
        Ascent=800, Descent=-200, CapHeight=700, StemV=80,
    )  # fmt: skip
    descendant = Dictionary(
        Type=Name.Font, Subtype=Name(f"/{subtype}"), BaseFont=Name.TernSerif, FontDescriptor=descriptor, DW=500,
        CIDSystemInfo=Dictionary(Registry=b"Adobe", Ordering=b"Identity", Supplement=0),
    )  # fmt: skip
    composite = Dictionary(
        Type=Name.Font, Subtype=Name.Type0, BaseFont=Name("/TernSerif-Identity-H"), Encoding=Name("/Identity-H"),
        DescendantFonts=[descendant],
    )  # fmt: skip
    sheet = Sheet().page(b"BT /C 12 Tf 72 72 Td <00240025> Tj ET", resources={"Font": Dictionary(C=composite)})
    font = only_font(sheet.measured(tmp_path))
    assert measured(font) == ("TernSerif", kind, False, False)


def test_a_font_in_a_form_counts(tmp_path: Path) -> None:
    sheet = Sheet()
    form = Stream(sheet.pdf, b"BT /F 10 Tf 5 5 Td (Tern) Tj ET")
    courier = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Courier)
    form.stream_dict = Dictionary(
        Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 99, 99], Resources=Dictionary(Font=Dictionary(F=courier))
    )
    resources = {"XObject": Dictionary(X=sheet.pdf.make_indirect(form))}
    sheet.page(b"").page(b"q 2 0 0 2 50 50 cm /X Do Q", resources=resources)
    font = only_font(sheet.measured(tmp_path))
    assert (font.name, font.embedded, font.pages) == ("Courier", False, (2,))
    assert font.sizes == pytest.approx((20, 20))


SIZES = {
    "text matrix halves it": (b"BT /H 10 Tf 0.5 0 0 0.5 72 72 Tm (Tern) Tj ET", 5),
    "size in the text matrix": (b"BT /H 1 Tf 11 0 0 11 72 72 Tm (Tern) Tj ET", 11),
    "page matrix halves it": (b"0.5 0 0 0.5 0 0 cm BT /H 12 Tf 72 72 Td (Tern) Tj ET", 6),
    "turned by 45 degrees": (b"BT /H 10 Tf 0.70710678 0.70710678 -0.70710678 0.70710678 99 99 Tm (Tern) Tj ET", 10),
    "flipped": (b"BT /H 9 Tf 1 0 0 -1 99 99 Tm (Tern) Tj ET", 9),
    "condensed is as tall": (b"BT 60 Tz /H 12 Tf 99 99 Td (Tern) Tj ET", 12),
}


@pytest.mark.parametrize(("content", "size"), SIZES.values(), ids=SIZES.keys())
def test_effective_size(tmp_path: Path, content: bytes, size: float) -> None:
    """Size of ``Tf`` x vertical scale of the text matrix x page matrix (ISO 32000-1 9.4.4)."""
    measurements = Sheet().page(content).measured(tmp_path)
    assert measurements.pages[0].smallest_type == pytest.approx(size, abs=0.001)
    assert only_font(measurements).sizes == pytest.approx((size, size), abs=0.001)
    assert measurements.pages[0].lines[0].size == pytest.approx(size, abs=0.001)


def test_user_unit_enlarges_type(tmp_path: Path) -> None:
    page = Sheet().page(b"BT /H 6 Tf 72 72 Td (Tern) Tj ET", UserUnit=2).measured(tmp_path).pages[0]
    assert page.smallest_type == pytest.approx(12)


def test_the_smallest_of_several_sizes_and_its_place(tmp_path: Path) -> None:
    content = b"BT /H 11 Tf 72 500 Td (Tern) Tj ET BT /H 4.5 Tf 72 300 Td (Small) Tj ET"
    page = Sheet().page(content).measured(tmp_path).pages[0]
    assert page.smallest_type == pytest.approx(4.5)
    assert page.smallest_type_box is not None
    x0, y0, x1, y1 = page.smallest_type_box
    assert 70 < x0 < x1 < 100
    assert 295 < y0 < y1 < 310


def _reportlab_book(path: Path, font_file: Path) -> Path:
    pdfmetrics.registerFont(ReportlabFont(f"Tern{font_file.stem}", str(font_file)))
    canvas = Canvas(str(path), pagesize=(432, 648))  # selects an unembedded Helvetica on every page
    canvas.setFont(f"Tern{font_file.stem}", 11)
    canvas.drawString(72, 500, "The island has two harbours and needs only one.")
    canvas.save()
    return path


def test_an_embedded_subset_beside_a_font_that_is_only_selected(tmp_path: Path) -> None:
    font = only_font(measure(_reportlab_book(tmp_path / "book.pdf", VERA)))
    assert font.embedded
    assert font.subset
    assert font.kind == "truetype"
    assert "Vera" in font.name
    assert "+" not in font.name


# OS/2 fsType (OpenType): 0 installable, 2 restricted licence, 4 preview and print, 8 editable. From version 2 of the
# table on 0x0100 forbids subsets, such as ReportLab makes, and 0x0200 outlines; 12 is what one Debian font says.
FS_TYPES = [(0, 1, False), (2, 1, True), (4, 3, False), (8, 3, False), (12, 4, False), (0x0104, 3, True)]
FS_TYPES += [(0x0104, 1, False), (0x0200, 3, True)]


@pytest.mark.parametrize(("fs_type", "version", "restricted"), FS_TYPES)
def test_what_the_font_program_permits(tmp_path: Path, fs_type: int, version: int, restricted: bool) -> None:
    changed = TTFont(VERA)
    table = changed["OS/2"]
    table.fsType, table.version = fs_type, version
    for field in ("ulCodePageRange1", "ulCodePageRange2", "sxHeight", "sCapHeight", "usDefaultChar", "usBreakChar",
                  "usMaxContext"):  # fmt: skip
        setattr(table, field, getattr(table, field, 0))
    for record in [record for record in changed["name"].names if record.nameID == 6]:
        record.string = f"Vera{fs_type}v{version}"  # ReportLab keeps fonts by this name
    file = tmp_path / f"Vera{fs_type}v{version}.ttf"
    changed.save(file)
    font = only_font(measure(_reportlab_book(tmp_path / "book.pdf", file)))
    assert font.restricted is restricted


@needs_poppler
@pytest.mark.parametrize("path", corpus_parameters(MEMOIR, R_INTRO, R_EXTS))
def test_fonts_of_real_manuals_agree_with_pdffonts(path: Path) -> None:
    """Every font that pdffonts has: its kind, embedding and subset. pdfTeX writes no font that it does not use."""
    ours = {measured(font) for font in facts_of(path).fonts}
    theirs = {plain(row) for row in pdffonts(path) if row.kind != "Type 3"}
    assert {font for font in ours if font[1] != "type3"} == theirs


@needs_poppler
@pytest.mark.parametrize("path", corpus_parameters(R_INTRO))
def test_pages_of_fonts_agree_with_pdffonts(path: Path) -> None:
    """On every page what paints is among what pdffonts finds in that page's resources; and each font somewhere."""
    measurements = facts_of(path)
    for page in range(1, pages_of(path) + 1):
        ours = {measured(font) for font in measurements.fonts if page in font.pages}
        theirs = {plain(row) for row in pdffonts(path, page, page)}
        assert ours <= theirs, f"page {page}"
    loose = {font.name for font in measurements.fonts if not font.embedded}
    assert loose == {"Helvetica", "Helvetica-Bold"}


@needs_poppler
def test_a_scan_with_invisible_text_has_no_font() -> None:
    """pdffonts lists its unembedded Times and Helvetica, which are only under text render mode 3."""
    path = source_pdf("pypdf", "resources/Seige_of_Vicksburg_Sample_OCR.pdf")
    assert {row.name for row in pdffonts(path) if not row.embedded}
    assert [font.name for font in measure(path).fonts if not font.embedded] == []
