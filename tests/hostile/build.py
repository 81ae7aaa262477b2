"""Hostile PDFs, each built in a few lines. Every builder takes the path to write and returns it."""

from __future__ import annotations

import io
import zlib
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream, String

from tests.measure.build import Sheet, block_font, helvetica

LINE = b"BT /H 12 Tf 72 300 Td (The island has two harbours) Tj ET "


def _raw(path: Path, objects: Iterable[bytes], *, root: int = 1, trailer: bytes = b"") -> Path:
    """A PDF whose bytes are all ours: ``objects`` are numbered from 1; nothing is checked or mended."""
    out = io.BytesIO()
    out.write(b"%PDF-1.7\n")
    offsets = []
    for number, body in enumerate(objects, start=1):
        offsets.append(out.tell())
        out.write(b"%d 0 obj\n%s\nendobj\n" % (number, body))
    start = out.tell()
    out.write(b"xref\n0 %d\n0000000000 65535 f \n" % (len(offsets) + 1))
    out.writelines(b"%010d 00000 n \n" % offset for offset in offsets)
    out.write(b"trailer\n<< /Size %d /Root %d 0 R %s >>\n" % (len(offsets) + 1, root, trailer))
    out.write(b"startxref\n%d\n%%%%EOF\n" % start)
    path.write_bytes(out.getvalue())
    return path


def _stream(data: bytes, keys: bytes = b"") -> bytes:
    return b"<< /Length %d %s >>\nstream\n%s\nendstream" % (len(data), keys, data)


_CATALOGUE = b"<< /Type /Catalog /Pages 2 0 R >>"
_PAGES = b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>"
_FONTS = b"/Font << /H << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >>"
_PAGE = b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 432 648] /Resources << %s >> /Contents 4 0 R >>" % _FONTS


def _one_page(path: Path, content_object: bytes, *more: bytes, page: bytes = _PAGE) -> Path:
    return _raw(path, [_CATALOGUE, _PAGES, page, content_object, *more])


def _deflated(chunks: Iterator[bytes]) -> bytes:
    """Deflate ``chunks`` without ever holding them all."""
    squeeze = zlib.compressobj(9)
    return b"".join([*(squeeze.compress(chunk) for chunk in chunks), squeeze.flush()])


def _flate_page(path: Path, chunks: Iterator[bytes]) -> Path:
    return _one_page(path, _stream(_deflated(chunks), b"/Filter /FlateDecode"))


# Damage


def sound(path: Path) -> Path:
    """Not hostile: two pages of text, the ground that damage is done to."""
    return Sheet().page(LINE).page(LINE).save(path)


def truncated(path: Path) -> Path:
    """The first two thirds of a file: no cross-reference table, no trailer."""
    data = sound(path).read_bytes()
    path.write_bytes(data[: len(data) * 2 // 3])
    return path


def header_alone(path: Path) -> Path:
    path.write_bytes(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")
    return path


def no_catalogue(path: Path) -> Path:
    return _raw(path, [b"<< /Type /Nothing >>"])


def zero_pages(path: Path) -> Path:
    return _raw(path, [_CATALOGUE, b"<< /Type /Pages /Kids [] /Count 0 >>"])


def page_tree_loop(path: Path) -> Path:
    """A node of the page tree that is its own child."""
    return _raw(path, [_CATALOGUE, b"<< /Type /Pages /Kids [2 0 R 3 0 R] /Count 2 >>", _PAGE, _stream(LINE)])


def page_tree_parent_loop(path: Path) -> Path:
    """Two nodes that are each other's parent: inheritance never ends."""
    return _raw(
        path,
        [
            _CATALOGUE,
            b"<< /Type /Pages /Kids [3 0 R] /Count 1 /Parent 3 0 R >>",
            b"<< /Type /Page /Parent 2 0 R /Contents 4 0 R >>",
            _stream(LINE),
        ],
    )


def lying_count(path: Path) -> Path:
    """One page that claims to be two thousand million."""
    return _raw(path, [_CATALOGUE, b"<< /Type /Pages /Kids [3 0 R] /Count 2000000000 >>", _PAGE, _stream(LINE)])


def previous_table_loop(path: Path) -> Path:
    """A cross-reference table whose previous table is itself."""
    _one_page(path, _stream(LINE))
    data = path.read_bytes()
    start = data.rindex(b"startxref\n") + len(b"startxref\n")
    offset = data[start:].split(b"\n")[0]
    path.write_bytes(data.replace(b"trailer\n<<", b"trailer\n<< /Prev " + offset))
    return path


def encrypted(path: Path, *, user: str = "") -> Path:
    """Encrypted with AES-256; opens without a password unless ``user`` is one."""
    pdf = Sheet().page(LINE).pdf
    pdf.save(path, encryption=pikepdf.Encryption(owner="lamp", user=user, R=6))
    return path


def encrypted_with_password(path: Path) -> Path:
    return encrypted(path, user="wick")


# Too much


def compression_bomb(path: Path) -> Path:
    """A content stream of 1 MB that inflates to 1 GiB of spaces."""
    return _flate_page(path, (b" " * (1 << 20) for _ in range(1024)))


def nested_compression_bomb(path: Path) -> Path:
    """The same, deflated twice: a few kilobytes."""
    once = _deflated(b" " * (1 << 20) for _ in range(1024))
    return _one_page(path, _stream(zlib.compress(once, 9), b"/Filter [/FlateDecode /FlateDecode]"))


def picture_bomb(path: Path) -> Path:
    """A picture that claims 60 000 pixels a side and inflates to a gigabyte."""
    data = _deflated(bytes(1 << 20) for _ in range(1024))
    keys = (
        b"/Type /XObject /Subtype /Image /Width 60000 /Height 60000 /ColorSpace /DeviceGray /BitsPerComponent 8"
        b" /Filter /FlateDecode"
    )
    page = _PAGE.replace(b"/Resources <<", b"/Resources << /XObject << /P 5 0 R >>")
    return _one_page(path, _stream(b"q 400 0 0 400 9 9 cm /P Do Q"), _stream(data, keys), page=page)


def five_million_operators(path: Path) -> Path:
    return _flate_page(path, (b"1 0 0 1 0 0 cm\n" * 50_000 for _ in range(100)))


def two_million_marks(path: Path) -> Path:
    """Two and a half million painted paths: each is a mark on the page."""
    return _flate_page(path, (b"9 9 1 1 re f\n" * 50_000 for _ in range(50)))


def long_text_array(path: Path) -> Path:
    """One TJ with two million elements."""
    return _flate_page(path, iter([b"BT /H 9 Tf 72 72 Td [", *[b"(a) 1 " * 50_000] * 20, b"] TJ ET"]))


def long_string(path: Path) -> Path:
    """One string of fifty million characters."""
    return _flate_page(path, iter([b"BT /H 9 Tf 72 72 Td (", *[b"a" * 1_000_000] * 50, b") Tj ET"]))


def long_annotations(path: Path) -> Path:
    """Half a million times the same link."""
    page = _PAGE.replace(b"/Contents", b"/Annots [" + b"5 0 R " * 500_000 + b"] /Contents")
    link = b"<< /Type /Annot /Subtype /Link /Rect [9 9 99 99] /A << /S /URI /URI (x) >> >>"
    return _one_page(path, _stream(LINE), link, page=page)


def many_pages(path: Path) -> Path:
    """Six thousand pages, all the same object but for their number."""
    kids = b" ".join(b"%d 0 R" % number for number in range(4, 6004))
    page = _PAGE.replace(b"/Contents 4 0 R", b"/Contents 3 0 R")
    return _raw(path, [_CATALOGUE, b"<< /Type /Pages /Kids [%s] /Count 6000 >>" % kids, _stream(LINE), *[page] * 6000])


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
    return _flate_page(path, iter([b"[" * 200_000, b"]" * 200_000, b" TJ ", LINE]))


def deep_arrays_in_object(path: Path) -> Path:
    depth = 50_000
    return _one_page(
        path, _stream(LINE), b"[" * depth + b"]" * depth, page=_PAGE.replace(b"/Parent", b"/Deep 5 0 R /Parent")
    )


def deep_graphics_states(path: Path) -> Path:
    """A million times q, never Q."""
    return _flate_page(path, iter([*[b"q " * 100_000] * 10, LINE]))


def deep_outline(path: Path) -> Path:
    """An outline entry that is its own next and its own child."""
    catalogue = b"<< /Type /Catalog /Pages 2 0 R /Outlines 5 0 R >>"
    outline = b"<< /First 6 0 R /Last 6 0 R /Count 1 >>"
    entry = b"<< /Title (Round) /Parent 5 0 R /Next 6 0 R /First 6 0 R /Last 6 0 R /Dest [3 0 R /Fit] >>"
    return _raw(path, [catalogue, _PAGES, _PAGE, _stream(LINE), outline, entry])


def deep_names(path: Path) -> Path:
    """A tree of embedded files that is its own kid."""
    catalogue = b"<< /Type /Catalog /Pages 2 0 R /Names << /EmbeddedFiles 5 0 R /JavaScript 5 0 R >> >>"
    return _raw(path, [catalogue, _PAGES, _PAGE, _stream(LINE), b"<< /Kids [5 0 R 5 0 R] >>"])


def deep_form_fields(path: Path) -> Path:
    """A form field that is its own kid."""
    catalogue = b"<< /Type /Catalog /Pages 2 0 R /AcroForm << /Fields [5 0 R] >> >>"
    return _raw(path, [catalogue, _PAGES, _PAGE, _stream(LINE), b"<< /T (a) /Kids [5 0 R 5 0 R] >>"])


# Absurd


ABSURD_BOXES: dict[str, bytes] = {
    "enormous": b"[0 0 1e30 1e30]",
    "beyond every number": b"[0 0 1" + b"0" * 400 + b" 648]",
    "infinitesimal": b"[0 0 0.0000001 0.0000001]",
    "one number": b"[432]",
    "words": b"[(a) (b) (c) (d)]",
    "a name": b"/Letter",
    "nothing": b"null",
    "a box of boxes": b"[[0 0] [1 1] [2 2] [3 3]]",
    "indirect to nowhere": b"99 0 R",
}


def absurd_box(path: Path, box: bytes) -> Path:
    """A page whose media box is ``box``, and a sound one after it."""
    pages = b"<< /Type /Pages /Kids [3 0 R 5 0 R] /Count 2 >>"
    return _raw(path, [_CATALOGUE, pages, _PAGE.replace(b"[0 0 432 648]", box), _stream(LINE), _PAGE])


def absurd_user_unit(path: Path) -> Path:
    return Sheet().page(LINE, UserUnit=-5).page(LINE, UserUnit=String("two")).page(LINE, UserUnit=1e9).save(path)


def markup(path: Path) -> Path:
    """Markup wherever a PDF has words: metadata, font names, link targets, layers, text."""
    script = "</td><script>alert('tern')</script><img src=x onerror=alert(1)>"
    sheet = Sheet()
    font = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name("/" + script.replace("/", "")))
    group = sheet.pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String(script)))
    sheet.pdf.Root.OCProperties = Dictionary(OCGs=[group], D=Dictionary())
    link = Dictionary(
        Type=Name.Annot, Subtype=Name.Link, Rect=[9, 9, 99, 99], A=Dictionary(S=Name.URI, URI=String(script))
    )
    sheet.page(
        b"BT /H 4 Tf 5 300 Td (<b>bold</b> & <script>) Tj ET", resources={"Font": Dictionary(H=font)}, Annots=[link]
    )
    for key in ("Title", "Author", "Creator", "Producer"):
        sheet.pdf.docinfo[f"/{key}"] = String(script)
    return sheet.save(path)


# Not a dictionary, not a stream, not a number

_WRONG: tuple[Any, ...] = (7, String("x"), Name.Wrong, True, Array([]), Array([1, 2]), Dictionary())

_PLACES: dict[str, Callable[[pikepdf.Pdf, Any], None]] = {
    "page Resources": lambda pdf, value: pdf.pages[0].obj.__setitem__("/Resources", value),
    "page Contents": lambda pdf, value: pdf.pages[0].obj.__setitem__("/Contents", value),
    "page Annots": lambda pdf, value: pdf.pages[0].obj.__setitem__("/Annots", value),
    "page TrimBox": lambda pdf, value: pdf.pages[0].obj.__setitem__("/TrimBox", value),
    "page Rotate": lambda pdf, value: pdf.pages[0].obj.__setitem__("/Rotate", value),
    "page UserUnit": lambda pdf, value: pdf.pages[0].obj.__setitem__("/UserUnit", value),
    "page Group": lambda pdf, value: pdf.pages[0].obj.__setitem__("/Group", value),
    "fonts": lambda pdf, value: pdf.pages[0].obj.Resources.__setitem__("/Font", value),
    "a font": lambda pdf, value: pdf.pages[0].obj.Resources.Font.__setitem__("/H", value),
    "BaseFont": lambda pdf, value: pdf.pages[0].obj.Resources.Font.H.__setitem__("/BaseFont", value),
    "font Subtype": lambda pdf, value: pdf.pages[0].obj.Resources.Font.H.__setitem__("/Subtype", value),
    "FontDescriptor": lambda pdf, value: pdf.pages[0].obj.Resources.Font.H.__setitem__("/FontDescriptor", value),
    "Widths": lambda pdf, value: pdf.pages[0].obj.Resources.Font.H.__setitem__("/Widths", value),
    "FirstChar": lambda pdf, value: pdf.pages[0].obj.Resources.Font.H.__setitem__("/FirstChar", value),
    "Encoding": lambda pdf, value: pdf.pages[0].obj.Resources.Font.H.__setitem__("/Encoding", value),
    "ToUnicode": lambda pdf, value: pdf.pages[0].obj.Resources.Font.H.__setitem__("/ToUnicode", value),
    "XObject": lambda pdf, value: pdf.pages[0].obj.Resources.__setitem__("/XObject", value),
    "ExtGState": lambda pdf, value: pdf.pages[0].obj.Resources.__setitem__("/ExtGState", value),
    "ColorSpace": lambda pdf, value: pdf.pages[0].obj.Resources.__setitem__("/ColorSpace", value),
    "Properties": lambda pdf, value: pdf.pages[0].obj.Resources.__setitem__("/Properties", value),
    "Pattern": lambda pdf, value: pdf.pages[0].obj.Resources.__setitem__("/Pattern", value),
    "ViewerPreferences": lambda pdf, value: pdf.Root.__setitem__("/ViewerPreferences", value),
    "OCProperties": lambda pdf, value: pdf.Root.__setitem__("/OCProperties", value),
    "OutputIntents": lambda pdf, value: pdf.Root.__setitem__("/OutputIntents", value),
    "AcroForm": lambda pdf, value: pdf.Root.__setitem__("/AcroForm", value),
    "Names": lambda pdf, value: pdf.Root.__setitem__("/Names", value),
    "OpenAction": lambda pdf, value: pdf.Root.__setitem__("/OpenAction", value),
    "Metadata": lambda pdf, value: pdf.Root.__setitem__("/Metadata", value),
    "Title": lambda pdf, value: pdf.docinfo.__setitem__("/Title", value),
}

MISPLACED = tuple(_PLACES)


def misplaced(path: Path, place: str) -> Iterator[Path]:
    """For ``place``, a file for each wrong kind of value there; a sound page follows."""
    content = LINE + b"/X Do /G gs /C cs 0.5 sc /OC /L BDC EMC /S sh"
    for number, value in enumerate(_WRONG):
        pdf = Sheet().page(content).page(LINE).pdf
        _PLACES[place](pdf, value)
        target = path.with_stem(f"{path.stem}-{number}")
        pdf.save(target)
        yield target


_BAD_FONTS: dict[str, dict[str, Any]] = {
    "no width of any glyph": {"Subtype": Name.TrueType, "FirstChar": 0, "LastChar": 255, "Widths": Array([])},
    "first character beyond all": {"Subtype": Name.Type1, "FirstChar": 2**31, "LastChar": -1, "Widths": Array([1])},
    "endless widths": {"Subtype": Name.Type1, "FirstChar": 0, "LastChar": 2**31 - 1, "Widths": Array([500] * 10)},
    "composite of nothing": {"Subtype": Name.Type0, "Encoding": Name("/Identity-H"), "DescendantFonts": Array([])},
    "composite of numbers": {"Subtype": Name.Type0, "Encoding": Name("/Identity-H"), "DescendantFonts": Array([1, 2])},
    "unknown map": {"Subtype": Name.Type0, "Encoding": Name("/Tern-Island-H"), "DescendantFonts": Array([])},
    "Type 3 of no matrix": {"Subtype": Name.Type3, "FontMatrix": Array([0, 0, 0, 0, 0, 0]), "CharProcs": Dictionary()},
    "Type 3 of half a matrix": {"Subtype": Name.Type3, "FontMatrix": Array([1, 0]), "CharProcs": 5},
    "unknown kind": {"Subtype": Name("/Woodcut")},
}  # fmt: skip

BAD_FONTS = tuple(_BAD_FONTS)


def bad_font(path: Path, fault: str) -> Path:
    """Text in a font with ``fault``; a sound page follows."""
    font = Dictionary(Type=Name.Font, BaseFont=Name.TernSerif)
    for key, value in _BAD_FONTS[fault].items():
        font[f"/{key}"] = value
    return Sheet().page(LINE, resources={"Font": Dictionary(H=font)}).page(LINE).save(path)


def garbage_font_program(path: Path, key: str) -> Path:
    """An embedded font program (``FontFile``, ``FontFile2`` or ``FontFile3``) that is no font."""
    sheet = Sheet()
    program = sheet.pdf.make_indirect(Stream(sheet.pdf, b"\x00\x01\x00\x00" + b"\xff" * 5000))
    if key == "FontFile3":
        program.Subtype = Name.Type1C
    descriptor = Dictionary(
        Type=Name.FontDescriptor, FontName=Name.TernSerif, Flags=32, FontBBox=[0, -200, 1000, 800], ItalicAngle=0,
        Ascent=800, Descent=-200, CapHeight=700, StemV=80,
    )  # fmt: skip
    descriptor[f"/{key}"] = program
    font = Dictionary(
        Type=Name.Font, Subtype=Name.TrueType if key == "FontFile2" else Name.Type1, BaseFont=Name.TernSerif,
        FirstChar=32, LastChar=126, Widths=[500] * 95, FontDescriptor=descriptor, Encoding=Name.WinAnsiEncoding,
    )  # fmt: skip
    return sheet.page(LINE, resources={"Font": Dictionary(H=font)}).page(LINE).save(path)


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
