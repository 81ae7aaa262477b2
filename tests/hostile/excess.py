"""PDFs that ask for too much time or memory, or lead too deep. Every builder takes the path to write and returns it."""

from __future__ import annotations

import zlib
from pathlib import Path

import pikepdf
from pikepdf import Dictionary, Name, Stream

from tests.hostile.raw import CATALOGUE, LINE, PAGE, PAGES, deflated, one_page, raw, stream
from tests.measure.build import Sheet, block_font, helvetica


def _flate_page(path: Path, part: bytes, times: int = 1, *, before: bytes = b"", after: bytes = b"") -> Path:
    return one_page(path, stream(deflated(part, times, before=before, after=after), b"/Filter /FlateDecode"))


# Too much


def compression_bomb(path: Path) -> Path:
    """A content stream of 1 MB that inflates to 1 GiB of spaces."""
    return _flate_page(path, b" " * (1 << 20), 1024)


def nested_compression_bomb(path: Path) -> Path:
    """The same, deflated twice: a few kilobytes."""
    once = deflated(b" " * (1 << 20), 1024)
    return one_page(path, stream(zlib.compress(once, 9), b"/Filter [/FlateDecode /FlateDecode]"))


def picture_bomb(path: Path) -> Path:
    """A picture that claims 60 000 pixels a side and inflates to a gigabyte."""
    data = deflated(bytes(1 << 20), 1024)
    keys = (
        b"/Type /XObject /Subtype /Image /Width 60000 /Height 60000 /ColorSpace /DeviceGray /BitsPerComponent 8"
        b" /Filter /FlateDecode"
    )
    page = PAGE.replace(b"/Resources <<", b"/Resources << /XObject << /P 5 0 R >>")
    return one_page(path, stream(b"q 400 0 0 400 9 9 cm /P Do Q"), stream(data, keys), page=page)


def five_million_operators(path: Path) -> Path:
    return _flate_page(path, b"1 0 0 1 0 0 cm\n" * 50_000, 100)


def two_million_marks(path: Path) -> Path:
    """Two and a half million painted paths: each is a mark on the page."""
    return _flate_page(path, b"9 9 1 1 re f\n" * 50_000, 50)


def long_text_array(path: Path) -> Path:
    """One TJ with two million elements."""
    return _flate_page(path, b"(a) 1 " * 50_000, 20, before=b"BT /H 9 Tf 72 72 Td [", after=b"] TJ ET")


def long_string(path: Path) -> Path:
    """One string of fifty million characters."""
    return _flate_page(path, b"a" * 1_000_000, 50, before=b"BT /H 9 Tf 72 72 Td (", after=b") Tj ET")


def long_annotations(path: Path) -> Path:
    """A hundred thousand times the same link."""
    page = PAGE.replace(b"/Contents", b"/Annots [" + b"5 0 R " * 100_000 + b"] /Contents")
    link = b"<< /Type /Annot /Subtype /Link /Rect [9 9 99 99] /A << /S /URI /URI (x) >> >>"
    return one_page(path, stream(LINE), link, page=page)


def many_pages(path: Path) -> Path:
    """Six thousand pages, all the same object but for their number."""
    kids = b" ".join(b"%d 0 R" % number for number in range(4, 6004))
    page = PAGE.replace(b"/Contents 4 0 R", b"/Contents 3 0 R")
    return raw(path, [CATALOGUE, b"<< /Type /Pages /Kids [%s] /Count 6000 >>" % kids, stream(LINE), *[page] * 6000])


# Too deep


def _form(pdf: pikepdf.Pdf, content: bytes) -> Stream:
    form = Stream(pdf, content)
    form.stream_dict = Dictionary(Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 432, 648])
    return pdf.make_indirect(form)


def form_calls_itself(path: Path) -> Path:
    sheet = Sheet()
    form = _form(sheet.pdf, LINE + b"/F Do")
    form.Resources = Dictionary(XObject=Dictionary(F=form), Font=Dictionary(H=helvetica()))
    return sheet.page(b"/F Do", resources={"XObject": Dictionary(F=form)}).save(path)


def forms_call_each_other(path: Path) -> Path:
    sheet = Sheet()
    one, two = _form(sheet.pdf, LINE + b"/F Do"), _form(sheet.pdf, b"/F Do /F Do")
    one.Resources = Dictionary(XObject=Dictionary(F=two), Font=Dictionary(H=helvetica()))
    two.Resources = Dictionary(XObject=Dictionary(F=one))
    return sheet.page(b"/F Do", resources={"XObject": Dictionary(F=one)}).save(path)


def exponential_forms(path: Path) -> Path:
    """Ten forms, each drawing the next ten times: ten thousand million drawings."""
    sheet = Sheet()
    form = _form(sheet.pdf, b"9 9 1 1 re f")
    for _ in range(10):
        outer = _form(sheet.pdf, b"/F Do " * 10)
        outer.Resources = Dictionary(XObject=Dictionary(F=form))
        form = outer
    return sheet.page(b"/F Do", resources={"XObject": Dictionary(F=form)}).save(path)


def forms_without_end(path: Path) -> Path:
    """A chain of five thousand forms, each in the one before."""
    sheet = Sheet()
    form = _form(sheet.pdf, LINE)
    form.Resources = Dictionary(Font=Dictionary(H=helvetica()))
    for _ in range(5000):
        outer = _form(sheet.pdf, b"/F Do")
        outer.Resources = Dictionary(XObject=Dictionary(F=form))
        form = outer
    return sheet.page(b"/F Do", resources={"XObject": Dictionary(F=form)}).save(path)


def glyph_draws_itself(path: Path) -> Path:
    """A Type 3 glyph whose procedure shows the same glyph."""
    sheet = Sheet()
    font = sheet.pdf.make_indirect(block_font(sheet.pdf))
    font.CharProcs.A = sheet.pdf.make_indirect(Stream(sheet.pdf, b"1000 0 d0 BT /B 1 Tf (A) Tj ET"))
    font.Resources = Dictionary(Font=Dictionary(B=font))
    return sheet.page(b"BT /B 10 Tf 72 72 Td (A) Tj ET", resources={"Font": Dictionary(B=font)}).save(path)


def deep_arrays_in_content(path: Path) -> Path:
    return _flate_page(path, b"[" * 200_000 + b"]" * 200_000 + b" TJ " + LINE)


def deep_arrays_in_object(path: Path) -> Path:
    depth = 50_000
    return one_page(
        path, stream(LINE), b"[" * depth + b"]" * depth, page=PAGE.replace(b"/Parent", b"/Deep 5 0 R /Parent")
    )


def deep_graphics_states(path: Path) -> Path:
    """A million times q, never Q."""
    return _flate_page(path, b"q " * 1_000_000 + LINE)


def deep_outline(path: Path) -> Path:
    """An outline entry that is its own next and its own child."""
    catalogue = b"<< /Type /Catalog /Pages 2 0 R /Outlines 5 0 R >>"
    outline = b"<< /First 6 0 R /Last 6 0 R /Count 1 >>"
    entry = b"<< /Title (Round) /Parent 5 0 R /Next 6 0 R /First 6 0 R /Last 6 0 R /Dest [3 0 R /Fit] >>"
    return raw(path, [catalogue, PAGES, PAGE, stream(LINE), outline, entry])


def deep_names(path: Path) -> Path:
    """A tree of embedded files that is its own kid."""
    catalogue = b"<< /Type /Catalog /Pages 2 0 R /Names << /EmbeddedFiles 5 0 R /JavaScript 5 0 R >> >>"
    return raw(path, [catalogue, PAGES, PAGE, stream(LINE), b"<< /Kids [5 0 R 5 0 R] >>"])


def deep_form_fields(path: Path) -> Path:
    """A form field that is its own kid."""
    catalogue = b"<< /Type /Catalog /Pages 2 0 R /AcroForm << /Fields [5 0 R] >> >>"
    return raw(path, [catalogue, PAGES, PAGE, stream(LINE), b"<< /T (a) /Kids [5 0 R 5 0 R] >>"])


def unicode_bomb(path: Path) -> Path:
    """A ToUnicode map of one range over all codes, each to a long text, and a map that uses itself."""
    text = b"0041" * 20_000
    cmap = (
        b"begincmap 1 begincodespacerange <00> <ff> endcodespacerange 1 beginbfrange <00> <ff> <"
        + text
        + b"> endbfrange"
    )
    sheet = Sheet()
    stream = sheet.pdf.make_indirect(Stream(sheet.pdf, cmap + b" endcmap"))
    stream.UseCMap = stream
    font = helvetica()
    font.ToUnicode = stream
    return sheet.page(LINE * 50, resources={"Font": Dictionary(H=font)}).save(path)
