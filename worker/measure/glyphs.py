"""Which glyph of the font program a code stands for (ISO 32000-1 9.6.6 for simple fonts, 9.7.4.2 for CID fonts)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pikepdf
from pdfminer.encodingdb import name2unicode
from pdfminer.latin_enc import ENCODING
from pdfminer.pdffont import PDFFont, PDFUnicodeNotDefined

from worker.measure.outlines import FontProgram
from worker.measure.pdfobjects import array, dictionary, get, integer, name, stream_bytes

GlyphChooser = Callable[[int], int]

_COLUMN = {"StandardEncoding": 1, "MacRomanEncoding": 2, "WinAnsiEncoding": 3, "PDFDocEncoding": 4}
WIN_ANSI_DOUBLES = {0xA0: "space", 0xAD: "hyphen"}
"""Codes of WinAnsiEncoding for glyphs that have another too (ISO 32000-1 D.2, notes 5 and 6)."""
_SYMBOLIC = 4


def glyph_chooser(spec: Any, described: Any, program: FontProgram, decoder: PDFFont) -> GlyphChooser:
    """From a code (a CID for composite fonts) to the glyph index in ``program``; 0 is .notdef."""
    subtype = name(get(described, "/Subtype"))
    if subtype in ("CIDFontType0", "CIDFontType2"):
        return _by_cid(get(described, "/CIDToGIDMap"))
    names = _encoding_names(get(spec, "/Encoding"))
    if subtype == "TrueType" or get(get(spec, "/FontDescriptor"), "/FontFile2") is not None:
        symbolic = bool(integer(get(get(spec, "/FontDescriptor"), "/Flags")) & _SYMBOLIC)
        return _by_truetype_rules(program, names, decoder, symbolic=symbolic and not names)
    return _by_glyph_name(program, names)


def _by_cid(mapping: Any) -> GlyphChooser:
    if not isinstance(mapping, pikepdf.Stream):
        return lambda cid: cid
    try:
        table = stream_bytes(mapping)
    except pikepdf.PdfError:
        return lambda cid: cid
    return lambda cid: int.from_bytes(table[2 * cid : 2 * cid + 2], "big")


def _by_glyph_name(program: FontProgram, names: dict[int, str]) -> GlyphChooser:
    def choose(code: int) -> int:
        glyph_name = names.get(code)
        if glyph_name is None:
            return program.built_in(code)
        return program.named(glyph_name) or (0 if glyph_name == ".notdef" else program.built_in(code))

    return choose


def _by_truetype_rules(
    program: FontProgram, names: dict[int, str], decoder: PDFFont, *, symbolic: bool
) -> GlyphChooser:
    def choose(code: int) -> int:
        by_code = program.symbol(code)
        if symbolic and by_code:
            return by_code
        by_letter = program.unicode(_letter(decoder, code))
        by_name = program.named(names[code]) if code in names else 0
        return by_letter or by_name or by_code or program.built_in(code)

    return choose


def _letter(decoder: PDFFont, code: int) -> str:
    """The letter that the encoding (and not ToUnicode, which is for copying) gives a code."""
    letter = getattr(decoder, "cid2unicode", {}).get(code)
    if letter:
        return str(letter)
    try:
        return str(decoder.to_unichr(code))
    except PDFUnicodeNotDefined:
        return ""


def _encoding_names(encoding: Any) -> dict[int, str]:
    """Glyph names by code, as far as the font dictionary tells them."""
    if isinstance(encoding, pikepdf.Name):
        return _base_names(name(encoding))
    if dictionary(encoding) is None:
        return {}
    names = _base_names(name(get(encoding, "/BaseEncoding")))
    code = 0
    for member in array(get(encoding, "/Differences")):
        if isinstance(member, pikepdf.Name):
            names[code] = name(member) or ""
            code += 1
        else:
            code = integer(member)
    return names


def win_ansi_doubles(spec: Any) -> dict[int, str]:
    """The letters of the codes of WinAnsiEncoding that it has twice, where a font uses it."""
    encoding = get(spec, "/Encoding")
    named = name(encoding) or name(get(encoding, "/BaseEncoding"))
    return {0xA0: " ", 0xAD: "-"} if named == "WinAnsiEncoding" else {}


def own_letters(spec: Any, program: FontProgram) -> Callable[[int], str] | None:
    """Letters by the glyph names of the program's built-in encoding, for codes of which the font dictionary says
    nothing (ISO 32000-1 9.6.6.2 and 9.10.2); None where it says all."""
    encoding = get(spec, "/Encoding")
    if get(spec, "/ToUnicode") is not None or isinstance(encoding, pikepdf.Name) or get(encoding, "/BaseEncoding"):
        return None
    told = _encoding_names(encoding)

    def letter(code: int) -> str:
        if code in told:
            return ""
        try:
            return str(name2unicode(program.glyph_name(program.built_in(code))))
        except (KeyError, ValueError):
            return ""

    return letter


def _base_names(base: str | None) -> dict[int, str]:
    column = _COLUMN.get(base or "")
    if column is None:
        return {}
    names = {int(row[column]): str(row[0]) for row in ENCODING if row[column] is not None}
    return WIN_ANSI_DOUBLES | names if base == "WinAnsiEncoding" else names
