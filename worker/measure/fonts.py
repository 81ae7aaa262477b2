"""Fonts as a page uses them (ISO 32000-1 9.5 to 9.10): from the bytes shown to advance, ink and Unicode.

pdfminer.six knows encodings, CMaps and widths; FreeType knows the outlines. Each distinct string of a font is worked
out once, as a ``Piece``; a book has a few thousand of them.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import pikepdf
from pdfminer.pdffont import PDFCIDFont, PDFFont, PDFTrueTypeFont, PDFType1Font, PDFType3Font, PDFUnicodeNotDefined
from pdfminer.pdftypes import PDFStream
from pdfminer.psparser import LIT

from worker.measure.content import string_bytes
from worker.measure.geometry import Box, Matrix, transform
from worker.measure.glyphs import GlyphChooser, glyph_chooser
from worker.measure.models import FontKind
from worker.measure.outlines import FontProgram, embedding_forbidden
from worker.measure.pdfobjects import array, dictionary, get, name, numbers, stream_bytes

_SUBSET = re.compile(r"^[A-Z]{6}\+")
_ENCODING_SUFFIX = re.compile(r"-Identity-[HV]$")
_NESTING = 12
_FAMILY: dict[tuple[bool, str], FontKind] = {
    (False, "FontFile"): "type1",
    (False, "FontFile2"): "truetype",
    (False, "FontFile3"): "cff",
    (True, "FontFile2"): "cid-truetype",
    (True, "FontFile3"): "cid-cff",
}
_TALL, _LOW, _DEEP = 0.73, 0.48, -0.22
_DESCENDING = frozenset("gjpqy,;Q()[]{}|@$/§¶µþçş")
_SHORT = frozenset("acemnorsuvwxzgpqy.,:;-–—_~=+<>*«»")


class Glyph(NamedTuple):
    """One glyph of a string, in ems: where it starts, its ink, and whether word space follows it."""

    start: float
    ink: Box | None
    is_space: bool
    code: int


class Code(NamedTuple):
    """What one code of a font stands for; width and ink in ems."""

    width: float
    ink: Box | None
    letter: str


class Piece(NamedTuple):
    """A shown string, in ems along its baseline, without character and word space."""

    advance: float
    glyphs: tuple[Glyph, ...]
    spaces: int
    ink: Box | None
    text: str


@dataclass
class Font:
    """A font of the file, with all that was worked out of it so far."""

    name: str
    kind: FontKind
    embedded: bool
    subset: bool
    restricted: bool | None
    vertical: bool
    decoder: PDFFont
    glyph_of: GlyphChooser | None
    program: FontProgram | None
    type3: Any = None
    type3_matrix: Matrix = (0.001, 0.0, 0.0, 0.001, 0.0, 0.0)
    type3_ink: Callable[[Font, int], Box | None] | None = None
    pieces: dict[bytes, Piece] = field(default_factory=dict)
    slanted: dict[tuple[bytes, Matrix], Box | None] = field(default_factory=dict)
    codes: dict[int, Code] = field(default_factory=dict)

    def piece(self, token: bytes) -> Piece:
        """What a string token of a content stream shows."""
        known = self.pieces.get(token)
        if known is None:
            known = self.pieces[token] = self._work_out(string_bytes(token))
        return known

    def _work_out(self, shown: bytes) -> Piece:
        position, glyphs, letters = 0.0, [], []
        ink: Box | None = None
        spaces, single_bytes = 0, not self.decoder.is_multibyte()
        for code in self.decoder.decode(shown):
            known = self.codes.get(code)
            if known is None:
                known = self.codes[code] = self._known(code)
            is_space = single_bytes and code == 32
            glyphs.append(Glyph(position, known.ink, is_space, code))
            ink = _grown(ink, known.ink, position)
            letters.append(known.letter)
            spaces += is_space
            position += known.width
        return Piece(position, tuple(glyphs), spaces, ink, "".join(letters))

    def _known(self, code: int) -> Code:
        return Code(self._width(code), self._ink_of(code), self._letter(code))

    def _width(self, code: int) -> float:
        try:
            width = float(self.decoder.char_width(code))
        except (TypeError, ValueError):
            return 0.0
        if self.kind == "type3":  # its widths are in glyph space, which has its own scale
            return width / self.decoder.hscale * self.type3_matrix[0] if self.decoder.hscale else 0.0
        return width

    def _letter(self, code: int) -> str:
        try:
            return str(self.decoder.to_unichr(code))
        except (PDFUnicodeNotDefined, KeyError, TypeError, ValueError):
            return ""

    def _ink_of(self, code: int) -> Box | None:
        if self.type3 is not None:
            drawn = self.type3_ink(self, code) if self.type3_ink else None
            return transform(drawn, self.type3_matrix) if drawn else None
        if self.program is not None and self.glyph_of is not None:
            return self.program.ink(self.glyph_of(code))
        return _supposed_ink(self._letter(code), self._width(code))

    def slanted_ink(self, token: bytes, linear: Matrix) -> Box | None:
        """The ink of a piece under a matrix that slants or turns it, to the outline and not to its upright box."""
        key = (token, linear)
        if key not in self.slanted:
            self.slanted[key] = self._slanted(self.piece(token), linear)
        return self.slanted[key]

    def _slanted(self, piece: Piece, linear: Matrix) -> Box | None:
        a, b, c, d, _, _ = linear
        ink: Box | None = None
        for glyph in piece.glyphs:
            for x, y in self._points(glyph):
                px, py = a * (x + glyph.start) + c * y, b * (x + glyph.start) + d * y
                ink = (px, py, px, py) if ink is None else (
                    min(ink[0], px), min(ink[1], py), max(ink[2], px), max(ink[3], py))  # fmt: skip
        return ink

    def _points(self, glyph: Glyph) -> tuple[tuple[float, float], ...]:
        if self.program is not None and self.glyph_of is not None:
            return self.program.points(self.glyph_of(glyph.code))
        if glyph.ink is None:
            return ()
        x0, y0, x1, y1 = glyph.ink
        return (x0, y0), (x0, y1), (x1, y0), (x1, y1)


def _grown(ink: Box | None, glyph: Box | None, start: float) -> Box | None:
    if glyph is None:
        return ink
    x0, y0, x1, y1 = glyph[0] + start, glyph[1], glyph[2] + start, glyph[3]
    if ink is None:
        return x0, y0, x1, y1
    return min(ink[0], x0), min(ink[1], y0), max(ink[2], x1), max(ink[3], y1)


def _supposed_ink(letter: str, width: float) -> Box | None:
    """Where the ink of a font that is not in the file may be: a printer substitutes one, and nobody knows which.

    A code that no map turns into a letter prints something all the same."""
    if letter.isspace() or not (letter or width):
        return None
    foot = _DEEP if not letter or letter in _DESCENDING else 0.0
    return 0.06 * width, foot, 0.94 * width, _LOW if letter in _SHORT else _TALL


def load_font(spec: Any) -> Font:
    """The font that a page's resources name. Raises ``ValueError`` for what is no font at all."""
    if dictionary(spec) is None:
        raise ValueError("a font that is no dictionary")
    subtype = name(get(spec, "/Subtype")) or "Type1"
    if subtype == "Type3":
        return _type3_font(spec)
    composite = subtype == "Type0"
    described = (array(get(spec, "/DescendantFonts")) or [None])[0] if composite else spec
    descriptor = get(described, "/FontDescriptor")
    file_key = next((key for key in ("FontFile", "FontFile2", "FontFile3") if get(descriptor, "/" + key)), None)
    data = _program_bytes(get(descriptor, f"/{file_key}")) if file_key else b""
    program = _program(data)
    decoder = _decoder(spec, described, subtype)
    base = name(get(spec, "/BaseFont")) or name(get(descriptor, "/FontName")) or "unnamed"
    return Font(
        name=_ENCODING_SUFFIX.sub("", _SUBSET.sub("", base)),
        kind=_kind(composite, file_key, subtype, name(get(described, "/Subtype"))),
        embedded=file_key is not None,
        subset=bool(_SUBSET.match(base)),
        restricted=embedding_forbidden(data) if data[:4] in (b"\0\1\0\0", b"OTTO", b"true") else None,
        vertical=decoder.is_vertical(),
        decoder=decoder,
        glyph_of=glyph_chooser(spec, described, program, decoder) if program else None,
        program=program,
    )


def _program_bytes(stream: Any) -> bytes:
    try:
        return stream_bytes(stream)
    except pikepdf.PdfError:
        return b""


def _program(data: bytes) -> FontProgram | None:
    try:
        return FontProgram(data) if data else None
    except ValueError:
        return None


def _kind(composite: bool, file_key: str | None, subtype: str, descendant: str | None) -> FontKind:
    if file_key is not None:
        return _FAMILY.get((composite, file_key), "cid-cff" if composite else "type1")
    if composite:
        return "cid-truetype" if descendant == "CIDFontType2" else "cid-cff"
    return "truetype" if subtype == "TrueType" else "type1"


def _type3_font(spec: Any) -> Font:
    matrix = numbers(get(spec, "/FontMatrix"))
    scale: Matrix = (
        (matrix[0], matrix[1], matrix[2], matrix[3], matrix[4], matrix[5])
        if len(matrix) == 6
        else (0.001, 0.0, 0.0, 0.001, 0.0, 0.0)
    )
    plain = _plain_font(spec)
    plain["FontMatrix"] = list(scale)
    plain["FontBBox"] = [0, 0, 1, 1]
    return Font(
        name=name(get(spec, "/Name")) or "unnamed",
        kind="type3",
        embedded=True,
        subset=False,
        restricted=None,
        vertical=False,
        decoder=_simple_decoder(PDFType3Font, plain),
        glyph_of=None,
        program=None,
        type3=spec,
        type3_matrix=scale,
    )


def _decoder(spec: Any, described: Any, subtype: str) -> PDFFont:
    if subtype != "Type0":
        return _simple_decoder(PDFTrueTypeFont if subtype == "TrueType" else PDFType1Font, _plain_font(spec))
    plain = _plain_font(described)
    for key in ("Encoding", "ToUnicode"):
        value = get(spec, "/" + key)
        if value is not None:
            plain[key] = _plain(value)
    try:
        return PDFCIDFont(None, plain)
    except Exception:
        return PDFCIDFont(None, {"BaseFont": LIT("unnamed"), "Encoding": LIT("Identity-H")})


def _simple_decoder(kind: type[PDFFont], plain: dict[str, Any]) -> PDFFont:
    try:
        return kind(None, plain)
    except Exception:
        for key in ("ToUnicode", "Encoding", "FontDescriptor", "Widths", "FirstChar"):
            plain.pop(key, None)
        return kind(None, plain)


def _plain_font(spec: Any) -> dict[str, Any]:
    """What pdfminer.six needs of a font dictionary. The font program stays out: FreeType reads that."""
    keys = ("BaseFont", "Subtype", "Encoding", "FirstChar", "Widths", "ToUnicode", "CIDSystemInfo", "W", "DW", "W2",
            "DW2", "FontBBox")  # fmt: skip
    plain = {key: _plain(value) for key in keys if (value := get(spec, "/" + key)) is not None}
    descriptor = get(spec, "/FontDescriptor")
    if dictionary(descriptor) is not None:
        kept = ("FontName", "Flags", "MissingWidth", "FontBBox", "Ascent", "Descent")
        plain["FontDescriptor"] = {
            key: _plain(value) for key in kept if (value := get(descriptor, "/" + key)) is not None
        }
    return plain


def _plain(value: Any, depth: int = 0) -> Any:
    """A pikepdf object as pdfminer.six would have parsed it."""
    if depth > _NESTING:
        return None
    if isinstance(value, pikepdf.Stream):
        attributes = {key[1:]: _plain(value[key], depth + 1) for key in ("/CMapName", "/WMode") if key in value}
        return PDFStream(attributes, _program_bytes(value))
    if isinstance(value, pikepdf.Dictionary):
        return {key[1:]: _plain(member, depth + 1) for key, member in value.items()}
    if isinstance(value, pikepdf.Array):
        return [_plain(member, depth + 1) for member in value]
    if isinstance(value, pikepdf.Name):
        return LIT(str(value)[1:])
    if isinstance(value, pikepdf.String):
        return bytes(value)
    if isinstance(value, (bool, int)):
        return value
    return float(value)
