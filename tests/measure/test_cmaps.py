"""CMaps in the file (ISO 32000-1 9.7.5.3): two real ones by Ghostscript and poppler, others by the standard."""

from __future__ import annotations

import random
import subprocess
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st
from pikepdf import Array, Dictionary, Name, Stream, String

from tests.corpora import source_pdf
from tests.measure.build import Sheet
from tests.measure.ghostscript import bounding_box
from tests.measure.test_fonts import VERA
from tests.needs import needs_ghostscript, needs_poppler
from worker.measure import measure
from worker.measure.cmaps import FileCMap
from worker.measure.models import Page

TEXT = "A shore of their own"
REAL = ["fpdf2_cjk.pdf", "fpdf2_cjk_short.pdf"]


@needs_ghostscript
@needs_poppler
@pytest.mark.parametrize("file", REAL)
def test_a_real_one(file: str) -> None:
    """Japanese whose CIDs have nothing to do with its codes, in a subset by CID."""
    path = source_pdf("pikepdf", f"tests/resources/pdfa/{file}")
    page = measure(path).pages[0]
    assert page.text == pytest.approx(bounding_box(path), abs=0.25)
    shown = subprocess.run(["pdftotext", path, "-"], check=True, capture_output=True, text=True).stdout
    assert " ".join(line.text for line in page.lines).split() == shown.split()


def _cmap(mapping: dict[int, int], keys: bytes = b"") -> bytes:
    pairs = b"\n".join(b"<%04x> %d" % pair for pair in mapping.items())
    return (
        b"/CIDInit /ProcSet findresource begin 12 dict begin begincmap /CMapName /Own def\n" + keys
        + b"1 begincodespacerange <0000> <ffff> endcodespacerange\n"
        + b"%d begincidchar\n%s\nendcidchar endcmap end end" % (len(mapping), pairs)
    )  # fmt: skip


def _to_unicode(letters: dict[int, str]) -> bytes:
    pairs = b"\n".join(b"<%04x> <%04x>" % (code, ord(letter)) for code, letter in letters.items())
    return (
        b"begincmap 1 begincodespacerange <0000> <ffff> endcodespacerange\n"
        + b"%d beginbfchar\n%s\nendbfchar endcmap" % (len(letters), pairs)
    )


def _shown(folder: Path, encoding: object, glyphs: dict[str, int], codes: dict[str, int], **keys: object) -> Page:
    """A page that shows ``TEXT`` by these codes of Vera."""
    sheet = Sheet()
    pdf = sheet.pdf
    file = Stream(pdf, VERA.read_bytes())
    descriptor = Dictionary(
        Type=Name.FontDescriptor, FontName=Name.Vera, Flags=4, FontBBox=[0, -200, 1000, 900], ItalicAngle=0,
        Ascent=900, Descent=-200, CapHeight=700, StemV=80, FontFile2=pdf.make_indirect(file),
    )  # fmt: skip
    widths = [member for glyph in sorted(set(glyphs.values())) for member in (glyph, Array([500 + glyph]))]
    described = Dictionary(
        Type=Name.Font, Subtype=Name.CIDFontType2, BaseFont=Name.Vera, CIDToGIDMap=Name.Identity, W=Array(widths),
        CIDSystemInfo=Dictionary(Registry=String("Adobe"), Ordering=String("Identity"), Supplement=0),
        FontDescriptor=pdf.make_indirect(descriptor),
    )  # fmt: skip
    font = Dictionary(
        Type=Name.Font, Subtype=Name.Type0, BaseFont=Name.Vera,
        Encoding=pdf.make_indirect(Stream(pdf, encoding, **keys)) if isinstance(encoding, bytes) else encoding,
        DescendantFonts=Array([pdf.make_indirect(described)]),
        ToUnicode=Stream(pdf, _to_unicode({code: letter for letter, code in codes.items()})),
    )  # fmt: skip
    shown = b"".join(b"%04x" % codes[letter] for letter in TEXT)
    sheet.page(b"BT /V 18 Tf 60 300 Td <%s> Tj ET" % shown, resources={"Font": Dictionary(V=font)})
    return sheet.measured(folder).pages[0]


def _glyphs() -> dict[str, int]:
    font = TTFont(VERA)
    return {letter: font.getGlyphID(font.getBestCmap()[ord(letter)]) for letter in set(TEXT)}


def test_other_codes_for_the_same_glyphs_print_the_same(tmp_path: Path) -> None:
    glyphs = _glyphs()
    plain = _shown(tmp_path, Name("/Identity-H"), glyphs, glyphs)
    shuffled = list(range(1, 400))
    random.Random(7).shuffle(shuffled)
    codes = dict(zip(sorted(glyphs), shuffled, strict=False))
    own = _shown(tmp_path, _cmap({codes[letter]: glyphs[letter] for letter in glyphs}), glyphs, codes)
    assert plain.lines[0].text == TEXT
    assert (own.text, own.lines) == (plain.text, plain.lines)


def test_one_that_builds_on_a_predefined_one(tmp_path: Path) -> None:
    """``usecmap`` (9.7.5.4): a code that is not mapped anew means what it means there."""
    glyphs = _glyphs()
    codes = glyphs | {"A": 900}
    own = _shown(tmp_path, _cmap({900: glyphs["A"]}, b"/Identity-H usecmap\n"), glyphs, codes)
    assert own.lines == _shown(tmp_path, Name("/Identity-H"), glyphs, glyphs).lines


def test_one_that_says_nothing_goes_by_its_name(tmp_path: Path) -> None:
    glyphs = _glyphs()
    named = b"/CMapName /Identity-H def begincmap endcmap"
    own = _shown(tmp_path, named, glyphs, glyphs, CMapName=Name("/Identity-H"))
    assert own.lines[0].text == TEXT


def test_codes_of_one_and_of_two_bytes() -> None:
    """The spaces of codes of Shift-JIS, the example of 9.7.6.2 (recalled from memory)."""
    cmap = FileCMap()
    cmap.read(
        b"begincmap 4 begincodespacerange <00> <80> <8140> <9ffc> <a0> <df> <e040> <fcfc> endcodespacerange "
        b"2 begincidrange <20> <7e> 231 <8140> <817e> 633 endcidrange 1 begincidchar <a1> 327 endcidchar endcmap"
    )
    assert list(cmap.decode(b"\x20\x81\x41\xa1\x21")) == [231, 634, 327, 232]


@given(shown=st.binary(max_size=40), text=st.binary(max_size=200))
def test_no_text_of_a_cmap_and_no_bytes_break_it(shown: bytes, text: bytes) -> None:
    cmap = FileCMap()
    cmap.read(b"begincmap 1 begincodespacerange <00> <80> endcodespacerange " + text)
    assert len(list(cmap.decode(shown))) <= len(shown)
