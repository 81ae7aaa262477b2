"""Letters that a font has not: glyph 0 stands in their place (OpenType, glyph 0 is the .notdef glyph).

What a font has is what fontTools finds in its cmap; what a producer writes for a letter beyond it is ReportLab's.
"""

from __future__ import annotations

from pathlib import Path

import pikepdf
import pytest
import reportlab
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from pikepdf import Array, Dictionary, Name, Stream, String
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont as ReportlabFont
from reportlab.pdfgen.canvas import Canvas

from tests.measure.build import Sheet
from worker.measure import measure
from worker.measure.models import MissingGlyphs

VERA = Path(reportlab.__file__).parent / "fonts/Vera.ttf"
BEYOND = "ő"
SIZE = 20
TO_UNICODE = b"""/CIDInit /ProcSet findresource begin 12 dict begin begincmap
1 begincodespacerange <0000> <ffff> endcodespacerange 1 beginbfchar <0000> <%s> endbfchar
endcmap CMapName currentdict /CMap defineresource pop end end"""


def test_the_font_lacks_the_letter_of_these_tests() -> None:
    assert ord(BEYOND) not in TTFont(VERA).getBestCmap()
    assert ord("ö") in TTFont(VERA).getBestCmap()


def _by_reportlab(path: Path, *pages: str) -> Path:
    pdfmetrics.registerFont(ReportlabFont("Vera", VERA))
    canvas = Canvas(str(path), pagesize=(432, 648), initialFontName="Vera")
    for text in pages:
        canvas.setFont("Vera", SIZE)
        canvas.drawString(72, 500, text)
        canvas.showPage()
    canvas.save()
    return path


def test_a_book_by_reportlab(tmp_path: Path) -> None:
    """ReportLab shows glyph 0 for a letter that the font has not; Vera draws it as a box of 0.6 em."""
    (font,) = measure(_by_reportlab(tmp_path / "book.pdf", "fine", "erdő and idő", "öffnen")).fonts
    assert font.missing is not None
    assert (font.missing.count, font.missing.pages) == (2, (2,))
    (place,) = font.missing.places
    before = pdfmetrics.stringWidth("erd", "Vera", SIZE)
    glyph = TTFont(VERA)["glyf"][".notdef"]
    expected = [72 + before + glyph.xMin * SIZE / 2048, 500 + glyph.yMin * SIZE / 2048,
                72 + before + glyph.xMax * SIZE / 2048, 500 + glyph.yMax * SIZE / 2048]  # fmt: skip
    assert place.box == pytest.approx(expected, abs=0.05)


def test_a_book_that_lacks_nothing(tmp_path: Path) -> None:
    (font,) = measure(_by_reportlab(tmp_path / "book.pdf", "fine \u00a0 and whole", "öffnen")).fonts
    assert font.missing is None


def _without_a_box(folder: Path) -> bytes:
    """Vera with a glyph 0 that shows nothing, as subsets often have it."""
    font = TTFont(VERA)
    font["glyf"][".notdef"] = TTGlyphPen(None).glyph()
    font.save(folder / "bare.ttf")
    return (folder / "bare.ttf").read_bytes()


def _font(pdf: pikepdf.Pdf, program: bytes, means: str | None) -> Dictionary:
    """Vera by glyph numbers, each 0.6 em wide; ``means`` is what the file says that glyph 0 stands for."""
    file = Stream(pdf, program)
    file.Length1 = len(program)
    descriptor = Dictionary(
        Type=Name.FontDescriptor, FontName=Name.Vera, Flags=4, FontBBox=[0, -200, 1000, 900], ItalicAngle=0,
        Ascent=900, Descent=-200, CapHeight=700, StemV=80, FontFile2=pdf.make_indirect(file),
    )  # fmt: skip
    described = Dictionary(
        Type=Name.Font, Subtype=Name.CIDFontType2, BaseFont=Name.Vera, DW=600, CIDToGIDMap=Name.Identity,
        CIDSystemInfo=Dictionary(Registry=String("Adobe"), Ordering=String("Identity"), Supplement=0),
        FontDescriptor=pdf.make_indirect(descriptor),
    )  # fmt: skip
    font = Dictionary(
        Type=Name.Font, Subtype=Name.Type0, BaseFont=Name.Vera, Encoding=Name("/Identity-H"),
        DescendantFonts=Array([pdf.make_indirect(described)]),
    )  # fmt: skip
    if means is not None:
        font.ToUnicode = Stream(pdf, TO_UNICODE % means.encode("utf-16-be").hex().encode())
    return font


def _shown(folder: Path, content: bytes, *, means: str | None = BEYOND) -> MissingGlyphs | None:
    """What is missing of a page that shows glyph 0 of a font in which it is empty."""
    sheet = Sheet()
    font = _font(sheet.pdf, _without_a_box(folder), means)
    sheet.page(content, resources={"Font": Dictionary(V=sheet.pdf.make_indirect(font))})
    return next((font.missing for font in sheet.measured(folder).fonts), None)


def _hex(text: str) -> bytes:
    """The glyphs of a text, 0 for what Vera has not."""
    cmap, font = TTFont(VERA).getBestCmap(), TTFont(VERA)
    return "".join(f"{font.getGlyphID(cmap.get(ord(letter), '.notdef')):04x}" for letter in text).encode()


def test_a_letter_of_which_nothing_is_seen_is_missing(tmp_path: Path) -> None:
    missing = _shown(tmp_path, b"BT /V 20 Tf 100 300 Td <%s> Tj ET" % _hex("idő"))
    assert missing is not None
    assert (missing.count, missing.pages, missing.letters) == (1, (1,), (BEYOND,))
    assert missing.places[0].box == pytest.approx((100 + 2 * 12, 300, 100 + 3 * 12, 314))


def test_a_page_of_nothing_but_missing_letters(tmp_path: Path) -> None:
    missing = _shown(tmp_path, b"BT /V 20 Tf 100 300 Td <0000> Tj 0 -24 Td [<0000> -500 <0000>] TJ ET")
    assert missing is not None
    assert missing.count == 3


def test_a_glyph_beyond_the_last_is_missing(tmp_path: Path) -> None:
    """Vera has some 270 glyphs. What readers show in such a place is the font's glyph 0, or nothing."""
    sheet = Sheet()
    font = _font(sheet.pdf, VERA.read_bytes(), None)
    font.ToUnicode = Stream(sheet.pdf, TO_UNICODE.replace(b"<0000> <%s>", b"<7530> <%s>") % b"0151")
    sheet.page(b"BT /V 20 Tf 100 300 Td <7530> Tj ET", resources={"Font": Dictionary(V=font)})
    (seen,) = sheet.measured(tmp_path).fonts
    assert seen.missing is not None
    assert (seen.missing.count, seen.missing.letters) == (1, (BEYOND,))


@pytest.mark.parametrize("means", [" ", "\u00a0", "\u00ad", "\u200b", "\ufffd", None])
def test_glyph_0_without_ink_for_no_letter_is_nothing(tmp_path: Path, means: str | None) -> None:
    """A space that the subset left out, a joiner, and a code that means nothing."""
    assert _shown(tmp_path, b"BT /V 20 Tf 100 300 Td <%s> Tj ET" % _hex("időid"), means=means) is None


@pytest.mark.parametrize(
    "content",
    [
        b"BT /V 20 Tf 3 Tr 100 300 Td <0000> Tj ET",  # invisible
        b"BT /V 20 Tf 5000 300 Td <0000> Tj ET",  # off the page
        b"0 0 9 9 re W n BT /V 20 Tf 100 300 Td <0000> Tj ET",  # clipped
        b"BT 1 g /V 20 Tf 100 300 Td <0000> Tj ET",  # white on nothing
    ],
)
def test_what_does_not_print_is_not_missed(tmp_path: Path, content: bytes) -> None:
    assert _shown(tmp_path, content) is None


def test_a_real_manual_with_a_box_for_a_letter() -> None:
    """XeTeX's set of a manual: page 20 says "$R\u25a1\\text{Mod}$", seen in poppler's picture of it."""
    path = Path("/usr/share/doc/texlive-doc/latex/unicode-math/unicode-math.pdf")
    if not path.exists():
        pytest.skip("needs texlive-latex-recommended-doc")
    missing = {font.name: font.missing.pages for font in measure(path).fonts if font.missing}
    assert missing == {"Inconsolatazi4-Regular": (20,)}
