"""PDF values as Hypothesis strategies: such as are due, such as nobody expects, and such as no reader should take."""

from __future__ import annotations

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy

from tests.fuzz.sound import LAST, MISSING, reference

Bytes = SearchStrategy[bytes]

_ODD_NUMBERS = (
    b"0", b"-0", b"-1", b"1", b"0.5", b"90", b"-90", b"45", b"255", b"256", b"1e5", b"NaN", b"inf", b"-inf", b"--5",
    b"+-3", b"1.2.3", b".", b"-", b"+", b"2147483647", b"2147483648", b"-2147483649", b"4294967296", b"32768", b"65536",
    b"9223372036854775807", b"9223372036854775808", b"99999999999999999999999999", b"1" * 320, b"-" + b"9" * 400,
    b"0." + b"0" * 330 + b"1", b"0.0000001", b"1000000000.5", b"3.4e38", b"100000", b"-100000", b"16#ff",
)  # fmt: skip
_WORDS = (
    b"DeviceGray", b"DeviceRGB", b"DeviceCMYK", b"CalGray", b"CalRGB", b"Lab", b"ICCBased", b"Indexed", b"Separation",
    b"DeviceN", b"Pattern", b"All", b"None", b"Cyan", b"Black", b"Identity-H", b"Identity-V", b"Identity", b"Type1",
    b"TrueType", b"Type0", b"Type3", b"CIDFontType0", b"CIDFontType2", b"MMType1", b"Image", b"Form", b"Link", b"Stamp",
    b"FlateDecode", b"LZWDecode", b"ASCII85Decode", b"ASCIIHexDecode", b"RunLengthDecode", b"DCTDecode", b"JPXDecode",
    b"CCITTFaxDecode", b"JBIG2Decode", b"Crypt", b"Luminosity", b"Alpha", b"Transparency", b"Multiply", b"Normal",
    b"WinAnsiEncoding", b"MacRomanEncoding", b"MacExpertEncoding", b"StandardEncoding", b"SymbolEncoding",
    b"UniJIS-UCS2-H", b"90ms-RKSJ-V", b"GBK-EUC-H", b"A", b"B", b".notdef", b"g123", b"uni0041", b"u110000", b"uniD800",
    b"", b"#00", b"A#20B", b"A#", b"#zz", b"\xff\xfe", b"\xc3\xa9", b"x" * 300, b"On", b"OFF", b"JavaScript", b"Launch",
    b"GoTo", b"URI", b"Named", b"GTS_PDFX", b"OCG", b"OCMD", b"AnyOn", b"AllOff", b"True", b"R2L", b"Pages", b"Page",
)  # fmt: skip
_STRINGS = (
    b"()", b"(A)", b"(AB)", b"(Tern Island)", b"<41>", b"<0024>", b"<4>", b"<>", b"<zz>", b"(\\777\\0)", b"(()", b"(\\",
    b"(\xfe\xff\xd8\x00)", b"(\xfe\xff\x00A)", b"(\xef\xbb\xbfA\xff)", b"(\xfe\xff\x20\x2e)", b"(\x1b\x00)",
    b"(" + b"(" * 30 + b")" * 31, b"(" + b"A" * 3000 + b")", b"<" + b"00" * 500 + b">", b"(PDF/X-4)", b"(<b>&amp;</b>)",
)  # fmt: skip
_WORDS_OF_THE_LANGUAGE = (b"null", b"true", b"false", b"nul", b"R", b"1 0 R R", b"[", b"]", b"<<", b">>", b"endobj")

_KEYS = (
    b"Type", b"Subtype", b"S", b"Kids", b"Parent", b"Count", b"Contents", b"Resources", b"MediaBox", b"CropBox",
    b"Filter", b"BBox", b"Matrix", b"Length", b"DecodeParms", b"Predictor", b"Columns", b"Colors", b"W", b"N", b"Names",
    b"Encoding", b"Differences", b"ToUnicode", b"Widths", b"FontFile", b"FontFile2", b"FontFile3", b"OCGs", b"VE", b"P",
    b"Next", b"First", b"A", b"AA", b"D", b"SMask", b"G", b"Alternate", b"Function", b"Group", b"Name", b"OC", b"AP",
)  # fmt: skip


@st.composite
def rarely(draw: DrawFn, strange: Bytes, else_: Bytes, one_in: int = 8) -> bytes:
    """Mostly what is due."""
    return draw(strange if draw(st.integers(0, one_in - 1)) == one_in - 1 else else_)


integers = st.integers(-3, 700).map(b"%d".__mod__)
reals = st.floats(-900, 900, allow_nan=False).map(lambda figure: f"{figure:.4f}".encode())
units = st.sampled_from((b"0", b"1", b"0.5", b"0.25", b".9", b"1.5", b"-0.2"))
odd_numbers = st.sampled_from(_ODD_NUMBERS)
numbers = rarely(odd_numbers, st.one_of(integers, reals, units), 12)
names = st.sampled_from(_WORDS).map(b"/".__add__)
strings = st.sampled_from(_STRINGS)
references = st.integers(1, LAST).map(reference) | st.just(reference(MISSING))
_leaves = st.one_of(
    numbers, odd_numbers, names, strings, references, references, st.sampled_from(_WORDS_OF_THE_LANGUAGE)
)


def array_of(members: Bytes, least: int = 0, most: int = 6) -> Bytes:
    return st.lists(members, min_size=least, max_size=most).map(lambda each: b"[" + b" ".join(each) + b"]")


def dictionary_of(keys: Bytes, values: Bytes, most: int = 6) -> Bytes:
    entries = st.lists(st.tuples(keys, values), max_size=most)
    return entries.map(lambda each: b"<< " + b" ".join(b"/%s %s" % entry for entry in each) + b" >>")


keys = st.sampled_from(_KEYS)
_deep = st.sampled_from((30, 120, 600)).flatmap(
    lambda depth: st.sampled_from((b"[" * depth + b"]" * depth, b"<</Kids[" * depth + b"]>>" * depth, b"[" * depth))
)
anything: Bytes = st.recursive(
    _leaves, lambda within: array_of(within) | dictionary_of(keys, within), max_leaves=8
) | rarely(_deep, _leaves, 20)

matrices = array_of(rarely(odd_numbers, st.sampled_from((b"1", b"0", b"-1", b"0.5", b"2", b"0.001", b"20")), 16), 6, 6)
boxes = array_of(numbers, 4, 4)
