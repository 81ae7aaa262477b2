"""Damaged, locked and absurd PDFs, each built in a few lines. Every builder takes the path to write and returns it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream, String

from tests.hostile.raw import CATALOGUE, LINE, PAGE, one_page, raw, stream
from tests.measure.build import Sheet


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
    return raw(path, [b"<< /Type /Nothing >>"])


def zero_pages(path: Path) -> Path:
    return raw(path, [CATALOGUE, b"<< /Type /Pages /Kids [] /Count 0 >>"])


def page_tree_loop(path: Path) -> Path:
    """A node of the page tree that is its own child."""
    return raw(path, [CATALOGUE, b"<< /Type /Pages /Kids [2 0 R 3 0 R] /Count 2 >>", PAGE, stream(LINE)])


def page_tree_parent_loop(path: Path) -> Path:
    """Two nodes that are each other's parent: inheritance never ends."""
    return raw(
        path,
        [
            CATALOGUE,
            b"<< /Type /Pages /Kids [3 0 R] /Count 1 /Parent 3 0 R >>",
            b"<< /Type /Page /Parent 2 0 R /Contents 4 0 R >>",
            stream(LINE),
        ],
    )


def lying_count(path: Path) -> Path:
    """One page that claims to be two thousand million."""
    return raw(path, [CATALOGUE, b"<< /Type /Pages /Kids [3 0 R] /Count 2000000000 >>", PAGE, stream(LINE)])


LOST_PAGES: dict[str, tuple[bytes, bytes]] = {
    "null": (b"null", b"null"),
    "missing": (b"99 0 R", b"null"),
    "a number": (b"6 0 R", b"7"),
    "a name": (b"6 0 R", b"/Page"),
    "an array": (b"6 0 R", b"[1 2]"),
    "garbage": (b"6 0 R", b"%&%!! what is this ]] >>"),
    "nothing at all": (b"6 0 R", b""),
    "a torn reference": (b"6 0 X", b"null"),
}
"""What stands in the page tree for the second page of four, and the sixth object."""


def lost_page(path: Path, how: str, *, at: int = 1, count: int = 4) -> Path:
    """Four pages with a line each, one of them lost; the tree says that they are ``count``."""
    kid, garbage = LOST_PAGES[how]
    kids = [b"3 0 R", b"3 0 R", b"3 0 R"]
    kids.insert(at, kid)
    tree = b"<< /Type /Pages /Kids [%s] /Count %d >>" % (b" ".join(kids), count)
    return raw(path, [CATALOGUE, tree, PAGE, stream(LINE), b"<< >>", garbage])


def no_page_left(path: Path) -> Path:
    return raw(path, [CATALOGUE, b"<< /Type /Pages /Kids [7 0 R 8 0 R] /Count 2 >>"])


def previous_table_loop(path: Path) -> Path:
    """A cross-reference table whose previous table is itself."""
    one_page(path, stream(LINE))
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
    return raw(path, [CATALOGUE, pages, PAGE.replace(b"[0 0 432 648]", box), stream(LINE), PAGE])


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
        pdf.save(target, fix_metadata_version=False)
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
