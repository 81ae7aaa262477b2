"""Fonts as a page uses them (ISO 32000-1 9.5 to 9.10): from the bytes shown to advance, ink and Unicode.

pdfminer.six knows encodings, CMaps and widths; FreeType knows the outlines. Each distinct string of a font is worked
out once, as a ``Piece``; a book has a few thousand of them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import pikepdf
from pdfminer.pdffont import (
    PDFCIDFont,
    PDFFont,
    PDFTrueTypeFont,
    PDFType1Font,
    PDFType3Font,
    PDFUnicodeNotDefined,
    get_widths,
)
from pdfminer.pdftypes import PDFStream
from pdfminer.psparser import LIT

from worker.measure.cmaps import CompositeFont
from worker.measure.content import string_bytes
from worker.measure.geometry import Box, Matrix, is_upright, multiply, transform, union
from worker.measure.glyphs import GlyphChooser, glyph_chooser, own_letters, win_ansi_doubles
from worker.measure.models import FontKind
from worker.measure.outlines import FontProgram, embedding_forbidden
from worker.measure.paint import Paint
from worker.measure.path import Path
from worker.measure.pdfobjects import array, dictionary, get, identity, integer, name, number, numbers, stream_bytes
from worker.measure.strokes import Style, stroked_box

_SUBSET = re.compile(r"^[A-Z]{6}\+")
_ENCODING_SUFFIX = re.compile(r"-Identity-[HV]$")
_NESTING = 3
_MOST_VALUES = 400_000
"""An entry of a font that refers to half of the file is no such entry; widths of 65,536 codes are."""
_MOST_PIECES = 100_000
"""Strings of one font that are remembered."""
_SPACE = 32
"""The single-byte code that word space follows (ISO 32000-1 9.3.3)."""
_NOWHERE = 1e9
_ANY = -1
_SOFT_HYPHEN, _UNKNOWN = "\u00ad", "\ufffd"
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


Stroke = tuple[Style, Matrix]
"""How outlines are stroked, and the matrix that the pen is under."""


class Code(NamedTuple):
    """What one code of a font stands for; width and ink in ems."""

    width: float
    ink: Box | None
    letter: str


class Piece(NamedTuple):
    """A shown string, in ems along its baseline, without character and word space."""

    advance: float
    ink: Box | None
    text: str
    spaces: int
    codes: tuple[int, ...]


class _Pieces(dict[bytes, Piece]):
    """The strings of a font by their tokens in content streams; each is worked out when it is first shown."""

    def __init__(self, font: Font) -> None:
        super().__init__()
        self._font = font

    def __missing__(self, token: bytes) -> Piece:
        if len(self) >= _MOST_PIECES:
            self.clear()
        piece = self[token] = self._font.work_out(string_bytes(token))
        return piece


class _Codes(dict[int, Code]):
    """What the codes of a font stand for, each found out when it is first shown."""

    def __init__(self, font: Font) -> None:
        super().__init__()
        self._font = font

    def __missing__(self, code: int) -> Code:
        known = self[code] = self._font.find_out(code)
        return known


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
    key: Hashable
    """Tells it from the other fonts of the file: its object, or for one that is none what is known of it."""
    type3: Any = None
    type3_matrix: Matrix = (0.001, 0.0, 0.0, 0.001, 0.0, 0.0)
    type3_ink: Callable[[int, Matrix], Box | None] | None = None
    type3_colours: dict[int, tuple[Paint, ...]] = field(default_factory=dict)
    """The colours that glyphs of a Type 3 font bring with them, by their codes; those of the glyphs shown so far."""
    own_letters: Callable[[int], str] | None = None
    """The letters that the font program itself gives codes, where the file's dictionary gives none."""
    doubles: Mapping[int, str] = field(default_factory=dict)
    """Letters of codes that pdfminer.six mistakes, for their glyphs have another code too."""
    level_widths: dict[int, float] = field(default_factory=dict)
    """Of vertical writing: the widths of glyphs as if it were horizontal, in thousandths of an em."""

    def __post_init__(self) -> None:
        self.pieces: dict[bytes, Piece] = _Pieces(self)
        self.codes: dict[int, Code] = _Codes(self)
        self.lacking: set[int] = set()
        """The codes shown so far that stand for glyph 0, the sign of a missing one (OpenType, "recommendations"), or
        for a glyph that is not there."""
        self._shaped: dict[tuple[int, Matrix, Stroke | None], Box | None] = {}
        self._spaced: dict[tuple[bytes, float, float], Box] = {}
        self._has_word_space = not self.decoder.is_multibyte()

    def work_out(self, shown: bytes) -> Piece:
        """What these bytes show."""
        x, left, foot, right, head = 0.0, _NOWHERE, _NOWHERE, -_NOWHERE, -_NOWHERE
        known, letters = self.codes, []
        codes = tuple(self.decoder.decode(shown))
        for code in codes:
            width, ink, letter = known[code]
            if ink is not None:
                x0, y0, x1, y1 = ink
                if x + x0 < left:
                    left = x + x0
                if x + x1 > right:
                    right = x + x1
                if y0 < foot:
                    foot = y0
                if y1 > head:
                    head = y1
            letters.append(letter)
            x += width
        spaces = codes.count(_SPACE) if self._has_word_space else 0
        return Piece(x, (left, foot, right, head) if right >= left else None, "".join(letters), spaces, codes)

    def find_out(self, code: int) -> Code:
        """What one code stands for."""
        ink, letter = self._ink_of(code), self._letter(code)
        if (ink is not None or _is_letter(letter)) and self._lacks(code):
            self.lacking.add(code)
        return Code(self._width(code), ink, _printable(letter, inked=ink is not None))

    def _lacks(self, code: int) -> bool:
        """Whether the font program has no glyph for a code: it stands for glyph 0, or for one beyond the last."""
        if self.program is None or self.glyph_of is None:
            return False
        glyph = self.glyph_of(code)
        return glyph == 0 or not self.program.has(glyph)

    def starts(self, piece: Piece, spacing: float, words: float) -> Iterator[tuple[float, int]]:
        """Where each glyph of a string starts, in ems, with character and word space (ems) between them; its code."""
        x = 0.0
        for code in piece.codes:
            yield x, code
            x += self.codes[code].width + spacing + (words if code == _SPACE and self._has_word_space else 0.0)

    def spaced_ink(self, token: bytes, spacing: float, words: float) -> Box:
        """The ink of a string, which has some, with character and word space between its glyphs."""
        key = (token, spacing, words)
        known = self._spaced.get(key)
        if known is None:
            if len(self._spaced) >= _MOST_PIECES:
                self._spaced.clear()
            known = self._spaced[key] = self._ink_with_spaces(self.pieces[token], spacing, words)
        return known

    def _ink_with_spaces(self, piece: Piece, spacing: float, words: float) -> Box:
        inks = [(x, ink) for x, code in self.starts(piece, spacing, words) if (ink := self.codes[code].ink)]
        left, right = min(x + ink[0] for x, ink in inks), max(x + ink[2] for x, ink in inks)
        return left, min(ink[1] for _, ink in inks), right, max(ink[3] for _, ink in inks)

    def hang(self, code: int) -> tuple[float, float, float]:
        """Vertical writing: how far a glyph's origin lies across and down from the point it hangs from, and how far
        the next one falls (negative: downwards), in ems (ISO 32000-1 9.7.4.3)."""
        moved = self.decoder.char_disp(code)
        across, down = moved if isinstance(moved, tuple) else (None, 880)
        if across is None:
            across = self.level_widths.get(code, self.level_widths[_ANY]) / 2
        return across / 1000, down / 1000, self.decoder.char_width(code)

    def type3_procedure(self, code: int) -> Any:
        """The content stream that draws a code of a Type 3 font (ISO 32000-1 9.6.5); None where there is none."""
        wanted: Any = None
        at = 0
        for member in array(get(get(self.type3, "/Encoding"), "/Differences")):
            if isinstance(member, pikepdf.Name):
                wanted = member if at == code else wanted
                at += 1
            else:
                at = integer(member)
        return get(get(self.type3, "/CharProcs"), wanted) if wanted is not None else None

    def _width(self, code: int) -> float:
        try:
            width = float(self.decoder.char_width(code))
        except (TypeError, ValueError):
            return 0.0
        if self.kind == "type3":  # its widths are in glyph space, which has its own scale
            return width / self.decoder.hscale * self.type3_matrix[0] if self.decoder.hscale else 0.0
        return width

    def _letter(self, code: int) -> str:
        own = self.own_letters(code) if self.own_letters else self.doubles.get(code)
        if own:
            return own
        try:
            return str(self.decoder.to_unichr(code))
        except (PDFUnicodeNotDefined, KeyError, TypeError, ValueError):
            return ""

    def _ink_of(self, code: int) -> Box | None:
        if self.type3 is not None:
            return self.type3_ink(code, self.type3_matrix) if self.type3_ink else None
        if self.program is not None and self.glyph_of is not None:
            return self.program.ink(self.glyph_of(code))
        return _supposed_ink(self._letter(code), self._width(code))

    def shaped_ink(self, code: int, linear: Matrix, stroke: Stroke | None) -> Box | None:
        """The ink of a glyph on the page, about its origin, to the outline: as ``linear`` leads from ems to the page,
        and with the pen that goes along the outline where the text is stroked."""
        if stroke is None and is_upright(linear):
            ink = self.codes[code].ink
            return transform(ink, linear) if ink else None
        key = (code, linear, stroke)
        if key not in self._shaped:
            if len(self._shaped) >= _MOST_PIECES:
                self._shaped.clear()
            self._shaped[key] = self._shape(code, linear, stroke)
        return self._shaped[key]

    def _shape(self, code: int, linear: Matrix, stroke: Stroke | None) -> Box | None:
        if self.type3 is not None:
            return self.type3_ink(code, multiply(self.type3_matrix, linear)) if self.type3_ink else None
        path = Path()
        if self.program is not None and self.glyph_of is not None:
            if stroke is None:
                return self.program.ink_under(self.glyph_of(code), linear)
            path = self.program.contours(self.glyph_of(code), linear)
        elif (ink := self.codes[code].ink) is not None:
            path.rectangle(transform(ink, linear), (0.0, 0.0))
        return union(path.box, stroked_box(path, *stroke)) if stroke else path.box


def _printable(letter: str, *, inked: bool) -> str:
    """The letter as text that can be shown; a glyph that no map turns into a letter is one all the same."""
    if letter and letter.isprintable():
        return letter
    if letter == _SOFT_HYPHEN:
        return "-"
    shown = "".join(part if part.isprintable() else " " if part.isspace() else "" for part in letter)
    return shown or (_UNKNOWN if inked else "")


def _is_letter(letter: str) -> bool:
    """Whether a reader would miss it: producers show glyph 0 without ink for spaces, controls and joiners, and for
    codes that mean nothing."""
    return any(part.isprintable() and not part.isspace() and part != _UNKNOWN for part in letter)


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
        restricted=embedding_forbidden(data, subset=bool(_SUBSET.match(base)))
        if data[:4] in (b"\0\1\0\0", b"OTTO", b"true")
        else None,
        vertical=decoder.is_vertical(),
        doubles=win_ansi_doubles(spec),
        own_letters=own_letters(spec, program) if program and not composite else None,
        level_widths=_level_widths(described) if decoder.is_vertical() else {},
        decoder=decoder,
        glyph_of=glyph_chooser(spec, described, program, decoder) if program else None,
        program=program,
        key=_key(spec, base),
    )


def _level_widths(described: Any) -> dict[int, float]:
    """The widths of a CID font (ISO 32000-1 9.7.4.3), the default among them."""
    default = number(get(described, "/DW"))
    return {_ANY: 1000.0 if default is None else default} | dict(get_widths(_plain(get(described, "/W")) or []))


def _key(spec: Any, base: str) -> Hashable:
    own = identity(spec)
    return base if own == (0, 0) else own


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
        key=_key(spec, name(get(spec, "/Name")) or "unnamed"),
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
        return CompositeFont(plain)
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


def _plain(value: Any) -> Any:
    """A pikepdf object as pdfminer.six would have parsed it."""
    return _taken_up(value, 0, [_MOST_VALUES])


def _taken_up(value: Any, depth: int, left: list[int]) -> Any:
    """The object, with None for what lies too deep, or beyond the number of values that are ``left``."""
    left[0] -= 1
    if depth > _NESTING or left[0] < 0:
        return None
    if isinstance(value, pikepdf.Stream):
        attributes = {
            key[1:]: _taken_up(value[key], depth + 1, left)
            for key in ("/CMapName", "/WMode", "/UseCMap")
            if key in value
        }
        return PDFStream(attributes, _program_bytes(value))
    if isinstance(value, pikepdf.Dictionary):
        return {key[1:]: _taken_up(member, depth + 1, left) for key, member in value.items()}
    if isinstance(value, pikepdf.Array):
        return [_taken_up(member, depth + 1, left) for member in value]
    if isinstance(value, pikepdf.Name):
        return LIT(name(value))
    if isinstance(value, pikepdf.String):
        return bytes(value)
    if isinstance(value, (bool, int)):
        return value
    return number(value)
