"""A small book with something of every kind in it: what the generators spoil a piece at a time.

Its objects are numbered by what they are, so that a generator can name any of them without knowing what it has become.
"""

from __future__ import annotations

import io
import zlib
from collections.abc import Mapping
from functools import cache
from pathlib import Path

import reportlab
from fontTools import subset
from fontTools.fontBuilder import FontBuilder
from fontTools.misc.psCharStrings import T2CharString
from fontTools.ttLib import TTFont

FONTS_OF_REPORTLAB = Path(reportlab.__file__).parent / "fonts"

CATALOGUE, ROOT, BRANCH = 1, 2, 3
PAGES = (4, 5, 6)
CONTENTS = (7, 8, 9)
FONTS = (10, 11, 12, 13, 14, 15)
DESCRIPTORS = (16, 17, 18, 19)
PROGRAMS = (20, 21, 22)
DESCENDANTS = (23, 24)
TO_UNICODE, GLYPHS = 25, (26, 27)
FORMS = (28, 29, 30)
IMAGES = (31, 32, 33)
PATTERNS, SHADING, FUNCTION = (34, 35), 36, 37
STATES = (38, 39)
SPACES = (40, 41, 42, 43)
PROFILE, LAYERS, LAYER_NAMES = 44, (45, 46), 47
NOTES = (48, 49, 50)
INFO, XMP, INTENT, FORM_FIELDS, NAMES, OUTLINE = 51, 52, 53, 54, 55, 56
RESOURCES, BRANCH_OF_NAMES = 57, 58
LAST = 58
MISSING = 99

FONT_NAMES = (b"F0", b"F1", b"F2", b"F3", b"F4", b"F5")
XOBJECT_NAMES = (b"X0", b"X1", b"X2", b"I0", b"I1", b"I2")
PATTERN_NAMES = (b"P0", b"P1")
STATE_NAMES = (b"G0", b"G1")
SPACE_NAMES = (b"C0", b"C1", b"C2", b"C3")
LAYER_KEYS = (b"L0", b"L1", b"L2")

LINE = b"BT /F1 12 Tf 72 500 Td [(Tern) -20 (Island)] TJ 0 -14 Td (two harbours) Tj ET\n"
PAGE_CONTENTS = (
    LINE + b"q 60 0 0 40 100 100 cm /I0 Do Q /X0 Do 0.5 w 10 10 m 200 10 l S",
    LINE
    + b"/C0 cs 0.2 scn 20 20 80 60 re f /G0 gs /Pattern cs /P0 scn 100 300 50 50 re f BT /F3 10 Tf 9 9 Td <41> Tj ET",
    LINE + b"/OC /L0 BDC BT /F2 9 Tf 1 0 0.2 1 40 60 Tm <00010002> Tj ET EMC BT /F0 8 Tf 3 3 Td (end) Tj "
    b"/F5 8 Tf 200 300 Td <00010001> Tj /F4 9 Tf (A) Tj ET /OC /L2 BDC /P1 sh EMC",
)


def reference(number: int) -> bytes:
    return b"%d 0 R" % number


def stream(data: bytes, keys: bytes = b"", *, deflate: bool = False) -> bytes:
    if deflate:
        data, keys = zlib.compress(data, 1), keys + b" /Filter /FlateDecode"
    return b"<< /Length %d %s >>\nstream\n%s\nendstream" % (len(data), keys, data)


def _names(names: tuple[bytes, ...], numbers: tuple[int, ...]) -> bytes:
    return b" ".join(b"/%s %s" % (name, reference(number)) for name, number in zip(names, numbers, strict=True))


def written(objects: Mapping[int, bytes], trailer: bytes = b"") -> bytes:
    """The objects as a file with a table of where they stand."""
    out = io.BytesIO()
    out.write(b"%PDF-1.7\n")
    places = {}
    for number, body in objects.items():
        places[number] = out.tell()
        out.write(b"%d 0 obj\n%s\nendobj\n" % (number, body))
    start, size = out.tell(), max(objects, default=0) + 1
    out.write(b"xref\n0 %d\n0000000000 65535 f \n" % size)
    for number in range(1, size):
        out.write(b"%010d 00000 n \n" % places[number] if number in places else b"0000000000 65535 f \n")
    out.write(b"trailer\n<< /Size %d /Root 1 0 R /Info %s %s >>\n" % (size, reference(INFO), trailer))
    out.write(b"startxref\n%d\n%%%%EOF\n" % start)
    return out.getvalue()


@cache
def programs() -> tuple[bytes, bytes, bytes]:
    """A TrueType, a Type 1 and a CFF font program of a few letters each."""
    options = subset.Options(notdef_outline=True, hinting=False)
    small = TTFont(FONTS_OF_REPORTLAB / "Vera.ttf")
    subsetter = subset.Subsetter(options)
    subsetter.populate(text="ABTernIsladhobu w")
    subsetter.subset(small)
    out = io.BytesIO()
    small.save(out)
    type1 = (FONTS_OF_REPORTLAB / "_ebi____.pfb").read_bytes()
    return out.getvalue(), type1, _compact_font()


def _compact_font() -> bytes:
    square = T2CharString(program=[600, 50, 0, "rmoveto", 500, "hlineto", 700, "vlineto", -500, "hlineto", "endchar"])
    names = [".notdef", "A", "B"]
    builder = FontBuilder(1000, isTTF=False)
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap({65: "A", 66: "B"})
    builder.setupCFF("TernSquare", {"FullName": "Tern Square"}, dict.fromkeys(names, square), {})
    builder.setupHorizontalMetrics(dict.fromkeys(names, (600, 50)))
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({})
    builder.setupOS2()
    builder.setupPost()
    return bytes(builder.font.getTableData("CFF "))


@cache
def sound_objects() -> Mapping[int, bytes]:
    """The objects of the sound book by their numbers."""
    objects = {**_tree(), **_fonts(), **_pictures(), **_colours(), **_around()}
    return dict(sorted(objects.items()))


def _tree() -> dict[int, bytes]:
    resources = b"<< /Font << %s >> /XObject << %s >> /Pattern << %s >> /ExtGState << %s >> /ColorSpace << %s >> " % (
        _names(FONT_NAMES, FONTS),
        _names(XOBJECT_NAMES, FORMS + IMAGES),
        _names(PATTERN_NAMES, PATTERNS),
        _names(STATE_NAMES, STATES),
        _names(SPACE_NAMES, SPACES),
    ) + b"/Properties << %s >> /Shading << /P1 %d 0 R >> >>" % (_names(LAYER_KEYS, (*LAYERS, LAYER_NAMES)), SHADING)
    objects = {
        CATALOGUE: b"<< /Type /Catalog /Pages 2 0 R /Metadata 52 0 R /OutputIntents [53 0 R] /AcroForm 54 0 R "
        b"/Names 55 0 R /Outlines 56 0 R /OCProperties << /OCGs [45 0 R 46 0 R] /D << /OFF [46 0 R] >> >> >>",
        ROOT: b"<< /Type /Pages /Kids [3 0 R 6 0 R] /Count 3 /MediaBox [0 0 432 648] /Resources 57 0 R >>",
        BRANCH: b"<< /Type /Pages /Parent 2 0 R /Kids [4 0 R 5 0 R] /Count 2 >>",
        RESOURCES: resources,
        BRANCH_OF_NAMES: b"<< /Limits [(a) (a)] /Names [(a) << /F (a.txt) >>] >>",
    }
    above = (BRANCH, BRANCH, ROOT)
    for page, contents, parent, note, data in zip(PAGES, CONTENTS, above, NOTES, PAGE_CONTENTS, strict=True):
        objects[page] = b"<< /Type /Page /Parent %d 0 R /Contents %d 0 R /TrimBox [9 9 423 639] /Annots [%d 0 R] >>" % (
            parent, contents, note,
        )  # fmt: skip
        objects[contents] = stream(data)
    return objects


def _fonts() -> dict[int, bytes]:
    simple = b"<< /Type /Font /Subtype /%s /BaseFont /%s /FirstChar 65 /LastChar 66 /Widths [600 600] %s >>"
    composite = b"<< /Type /Font /Subtype /Type0 /BaseFont /ABCDEF+%s /Encoding /Identity-%s /DescendantFonts [%d 0 R] "
    descriptor = b"<< /Type /FontDescriptor /FontName /%s /Flags 32 /FontBBox [0 0 900 900] /Ascent 800 /%s %d 0 R >>"
    system = b"/CIDSystemInfo << /Registry (Adobe) /Ordering (Identity) /Supplement 0 >>"
    truetype, type1, compact = programs()
    unicode_map = (
        b"/CIDInit /ProcSet findresource begin begincmap 1 begincodespacerange <0000> <ffff> endcodespacerange "
        b"1 beginbfrange <0001> <0009> <0041> endbfrange endcmap end"
    )
    return {
        FONTS[0]: b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>",
        FONTS[1]: simple % (b"TrueType", b"TernSans", b"/FontDescriptor 16 0 R /Encoding /WinAnsiEncoding"),
        FONTS[2]: composite % (b"TernSans", b"H", 23) + b"/ToUnicode 25 0 R >>",
        FONTS[3]: b"<< /Type /Font /Subtype /Type3 /FontBBox [0 0 1000 1000] /FontMatrix [0.001 0 0 0.001 0 0] "
        b"/CharProcs << /A 26 0 R /B 27 0 R >> /Encoding << /Differences [65 /A /B] >> /FirstChar 65 /LastChar 66 "
        b"/Widths [1000 900] /Resources 57 0 R >>",
        FONTS[4]: simple % (b"Type1", b"TernSerif", b"/FontDescriptor 17 0 R /Encoding << /Differences [65 /A] >>"),
        FONTS[5]: composite % (b"TernSquare", b"V", 24) + b">>",
        DESCRIPTORS[0]: descriptor % (b"TernSans", b"FontFile2", PROGRAMS[0]),
        DESCRIPTORS[1]: descriptor % (b"TernSerif", b"FontFile", PROGRAMS[1]),
        DESCRIPTORS[2]: descriptor % (b"TernSans", b"FontFile2", PROGRAMS[0]),
        DESCRIPTORS[3]: descriptor % (b"TernSquare", b"FontFile3", PROGRAMS[2]),
        PROGRAMS[0]: stream(truetype, b"/Length1 %d" % len(truetype), deflate=True),
        PROGRAMS[1]: stream(type1, b"/Length1 900 /Length2 9000 /Length3 0", deflate=True),
        PROGRAMS[2]: stream(compact, b"/Subtype /CIDFontType0C", deflate=True),
        DESCENDANTS[0]: b"<< /Type /Font /Subtype /CIDFontType2 /BaseFont /TernSans %s /DW 1000 /W [1 [500 600] 4 9 "
        b"700] /CIDToGIDMap /Identity /FontDescriptor 18 0 R >>" % system,
        DESCENDANTS[1]: b"<< /Type /Font /Subtype /CIDFontType0 /BaseFont /TernSquare %s /DW2 [880 -1000] "
        b"/W2 [1 [-900 500 800]] /FontDescriptor 19 0 R >>" % system,
        TO_UNICODE: stream(unicode_map),
        GLYPHS[0]: stream(b"1000 0 0 0 1000 1000 d1 0 0 900 700 re f"),
        GLYPHS[1]: stream(b"900 0 d0 0 0 m 900 0 l 450 700 l h f"),
    }


def _pictures() -> dict[int, bytes]:
    form = b"/Type /XObject /Subtype /Form /BBox [0 0 200 200] "
    image = b"/Type /XObject /Subtype /Image /Width 2 /Height 2 "
    return {
        FORMS[0]: stream(
            b"/X1 Do BT /F1 9 Tf 30 30 Td (AB) Tj ET", form + b"/Matrix [1 0 0 1 50 50] /Resources 57 0 R"
        ),
        FORMS[1]: stream(b"0 0 30 30 re W n 5 5 90 90 re f", form + b"/Group << /S /Transparency >>"),
        FORMS[2]: stream(b"q /I1 Do Q /X2 Do", form),
        IMAGES[0]: stream(b"\xff" * 12, image + b"/ColorSpace /DeviceRGB /BitsPerComponent 8", deflate=True),
        IMAGES[1]: stream(b"\x40\x80", image + b"/ImageMask true /BitsPerComponent 1 /Decode [1 0]"),
        IMAGES[2]: stream(b"\0\0", image + b"/ColorSpace 43 0 R /BitsPerComponent 4 /SMask 31 0 R", deflate=True),
        PATTERNS[0]: stream(
            b"0 0 5 5 re f",
            b"/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 10 10] /XStep 10 /YStep 10 /Resources 57 0 R",
        ),
        PATTERNS[1]: b"<< /PatternType 2 /Shading 36 0 R /Matrix [1 0 0 1 0 0] >>",
        SHADING: b"<< /ShadingType 2 /ColorSpace /DeviceCMYK /Coords [0 0 9 9] /Function 37 0 R /BBox [0 0 90 90] >>",
        FUNCTION: b"<< /FunctionType 2 /Domain [0 1] /C0 [0 0 0 0] /C1 [1 0 1 0] /N 1 >>",
    }


def _colours() -> dict[int, bytes]:
    return {
        STATES[0]: b"<< /ca 0.5 /CA 1 /BM /Multiply /LW 2 /D [[3 1] 0] /OP true /op true /OPM 1 >>",
        STATES[1]: b"<< /Font [10 0 R 11] /SMask << /S /Luminosity /G 29 0 R >> /BM [/Screen /Normal] >>",
        SPACES[0]: b"[/Separation /TernRed /DeviceCMYK 37 0 R]",
        SPACES[1]: b"[/ICCBased 44 0 R]",
        SPACES[2]: b"[/DeviceN [/Cyan /TernRed] /DeviceCMYK 37 0 R]",
        SPACES[3]: b"[/Indexed /DeviceRGB 3 <000000ffffff808080ff0000>]",
        PROFILE: stream(b"\0" * 12 + b"prtrCMYK" + b"\0" * 16 + b"acsp" + b"\0" * 88, b"/N 4 /Alternate /DeviceCMYK"),
        LAYERS[0]: b"<< /Type /OCG /Name (Words) >>",
        LAYERS[1]: b"<< /Type /OCG /Name (Notes) >>",
        LAYER_NAMES: b"<< /Type /OCMD /OCGs [45 0 R 46 0 R] /P /AnyOff /VE [/Not 46 0 R] >>",
    }


def _around() -> dict[int, bytes]:
    return {
        NOTES[0]: b"<< /Subtype /Link /Rect [10 10 60 20] /A << /S /URI /URI (https://tern.example) >> >>",
        NOTES[1]: b"<< /Subtype /Stamp /Rect [90 90 190 190] /F 4 /AP << /N 28 0 R >> /AA << /E << /S /Named >> >> >>",
        NOTES[
            2
        ]: b"<< /Subtype /Widget /FT /Btn /T (agree) /Rect [5 5 9 9] /F 4 /AS /On /AP << /N << /On 29 0 R >> >> >>",
        INFO: b"<< /Title (Second Harbour) /Producer (invented) /GTS_PDFXVersion (PDF/X-1a:2003) /Trapped /False >>",
        XMP: stream(
            b"<x:xmpmeta><dc:title> <rdf:Alt> <rdf:li>Second Harbour</rdf:li></rdf:Alt></dc:title></x:xmpmeta>"
        ),
        INTENT: b"<< /S /GTS_PDFX /OutputConditionIdentifier (invented) /DestOutputProfile 44 0 R >>",
        FORM_FIELDS: b"<< /Fields [50 0 R] /XFA (none) >>",
        NAMES: b"<< /EmbeddedFiles << /Kids [58 0 R] >> /JavaScript << /Names [] >> >>",
        OUTLINE: b"<< /First << /Title (One) /A << /S /GoTo /Next << /S /URI >> >> /Next << /Title (Two) >> >> >>",
    }
