"""Small files that decode to far too much, by each filter that can (ISO 32000-1 7.4), squeezed by real encoders.

LZW and run lengths come from Pillow's TIFF writer (libtiff): TIFF's LZW is PDF's, and its PackBits are PDF's run
lengths without the end mark. Every builder takes the path to write and returns it.
"""

from __future__ import annotations

import base64
import io
import zlib
from functools import cache
from pathlib import Path

from PIL import Image

from tests.hostile.raw import CATALOGUE, FONTS, LINE, PAGE, PAGES, deflated, one_page, raw, stream

WIDTH, HEIGHT = 10_000, 7_000
"""At four bytes a pixel 280 MB, more than one stream may be."""


def _strips(pixels: Image.Image, compression: str) -> bytes:
    """The picture's bytes as a TIFF writer encodes them, in one strip."""
    out = io.BytesIO()
    pixels.save(out, "TIFF", compression=compression, tiffinfo={278: pixels.height})
    with Image.open(out) as written:
        places = zip(written.tag_v2[273], written.tag_v2[279], strict=True)  # type: ignore[attr-defined]
        return b"".join(out.getvalue()[at : at + size] for at, size in places)


def lzw(data: bytes) -> bytes:
    return _strips(Image.frombytes("L", (len(data), 1), data), "tiff_lzw")


def run_lengths(data: bytes) -> bytes:
    return _strips(Image.frombytes("L", (len(data), 1), data), "packbits")


@cache
def _spaces(compression: str) -> bytes:
    """280 MB of spaces, encoded."""
    return _strips(Image.new("CMYK", (WIDTH, HEIGHT), (ord(" "),) * 4), compression)


def _page(path: Path, data: bytes, keys: bytes) -> Path:
    return one_page(path, stream(data, keys))


def by_lzw(path: Path) -> Path:
    return _page(path, _spaces("tiff_lzw"), b"/Filter /LZWDecode")


def by_run_lengths(path: Path) -> Path:
    return _page(path, _spaces("packbits"), b"/Filter /RunLengthDecode")


def by_lzw_within_deflate(path: Path) -> Path:
    """A few kilobytes: the second filter is the one that passes the limit."""
    return _page(path, zlib.compress(_spaces("tiff_lzw"), 9), b"/Filter [/FlateDecode /LZWDecode]")


def by_run_lengths_within_base_85(path: Path) -> Path:
    data = base64.a85encode(_spaces("packbits")) + b"~>"
    return _page(path, data, b"/Filter [/ASCII85Decode /RunLengthDecode]")


def by_deflate_within_lzw(path: Path) -> Path:
    return _page(path, lzw(deflated(b" " * 1_000_000, 300)), b"/Filter [/LZWDecode /FlateDecode]")


def by_short_name(path: Path) -> Path:
    """Readers take the short names of inline images for any stream."""
    return _page(path, deflated(b" " * 1_000_000, 300), b"/Filter /Fl")


def by_predictor(path: Path) -> Path:
    """A hundred bytes in a row of a thousand million: a reader that fills up the last row takes it all."""
    keys = b"/Filter /FlateDecode /DecodeParms << /Predictor 12 /Columns 1000000000 >>"
    return _page(path, zlib.compress(b"\2" + b" " * 100), keys)


def by_predictor_before_lzw(path: Path) -> Path:
    """The row is the first filter's, and the second only sees it filled up."""
    keys = (
        b"/Filter [/FlateDecode /LZWDecode] /DecodeParms [<< /Predictor 12 /Columns 1000000000 >> << /EarlyChange 1 >>]"
    )
    return _page(path, zlib.compress(b"\2" + lzw(LINE)), keys)


def by_many_parts(path: Path) -> Path:
    """Contents of a hundred times the same 10 MB: no part passes the limit, the whole does."""
    page = PAGE.replace(b"/Contents 4 0 R", b"/Contents [" + b"4 0 R " * 100 + b"]")
    return one_page(path, stream(zlib.compress(b" " * 10_000_000), b"/Filter /FlateDecode"), page=page)


def font_program(path: Path) -> Path:
    """An embedded font program that inflates past the limit, used on the page."""
    font = b"/Font << /H << /Type /Font /Subtype /TrueType /BaseFont /TernSerif /FontDescriptor 5 0 R >> >>"
    start, end = PAGE.split(b"/Resources <<")[0], b"/Resources << %s >> /Contents 4 0 R >>" % font
    descriptor = b"<< /Type /FontDescriptor /FontName /TernSerif /Flags 32 /FontFile2 6 0 R >>"
    return one_page(path, stream(LINE), descriptor, stream(_zeros(300), b"/Filter /FlateDecode"), page=start + end)


WITHIN: dict[str, tuple[bytes, bytes]] = {
    "LZW": (lzw(LINE), b"/Filter /LZWDecode"),
    "run lengths": (run_lengths(LINE), b"/Filter /RunLengthDecode"),
    "LZW within deflate": (zlib.compress(lzw(LINE)), b"/Filter [/FlateDecode /LZWDecode]"),
    "base 85": (base64.a85encode(LINE) + b"~>", b"/Filter /ASCII85Decode"),
    "hexadecimal": (LINE.hex().encode() + b">", b"/Filter /ASCIIHexDecode"),
}
"""No bombs: a line of text by each way of encoding."""


def a_line(path: Path, way: str) -> Path:
    return _page(path, *WITHIN[way])


def _zeros(megabytes: int) -> bytes:
    return deflated(bytes(1_000_000), megabytes)


def metadata(path: Path) -> Path:
    """XMP metadata that inflate past the limit."""
    catalogue = b"<< /Type /Catalog /Pages 2 0 R /Metadata 5 0 R >>"
    keys = b"/Type /Metadata /Subtype /XML /Filter /FlateDecode"
    return raw(path, [catalogue, PAGES, PAGE, stream(LINE), stream(_zeros(300), keys)])


def to_unicode(path: Path) -> Path:
    """A map to Unicode that inflates past the limit."""
    font = b"/Font << /H << /Type /Font /Subtype /Type1 /BaseFont /Helvetica /ToUnicode 5 0 R >> >>"
    page = PAGE.replace(FONTS, font)
    return one_page(path, stream(LINE), stream(_zeros(300), b"/Filter /FlateDecode"), page=page)


def object_stream(path: Path) -> Path:
    """Objects kept in a stream (7.5.7) that inflates to 2 GB: the reader needs the first few bytes of it."""
    members = [CATALOGUE, PAGES, PAGE]
    offsets, body = [], b""
    for number, member in enumerate(members, start=1):
        offsets.append(b"%d %d " % (number, len(body)))
        body += member + b" "
    head = b"".join(offsets)
    data = deflated(b" " * 1_000_000, 2000, before=head + body)
    keys = b"/Type /ObjStm /N %d /First %d /Filter /FlateDecode" % (len(members), len(head))
    out = b"%PDF-1.7\n"
    places = []
    for number, written in ((4, stream(LINE)), (5, stream(data, keys))):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, written)
    entries = [(0, 0, 255), *((2, 5, at) for at in range(3)), *((1, place, 0) for place in places), (1, len(out), 0)]
    table = b"".join(bytes([kind]) + first.to_bytes(4, "big") + bytes([second]) for kind, first, second in entries)
    cross = stream(table, b"/Type /XRef /Size 7 /W [1 4 1] /Root 1 0 R")
    path.write_bytes(out + b"6 0 obj\n%s\nendobj\nstartxref\n%d\n%%%%EOF\n" % (cross, len(out)))
    return path
