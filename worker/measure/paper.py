"""Whether a picture leaves the paper as it is: every sample is white, or a stencil's every sample spares the paper.

Some producers lay a white picture under each page, and scanned books have pages of nothing but white; neither is ink.
A picture is looked into only where that costs little: white squeezes to next to nothing, so one that takes much room in
the file is not white. What is not decided, and so counts as ink: JPEG 2000 and JBIG2, JPEG in CMYK, Lab, spot colours,
palettes in a named or inline colour space, unusual ``Decode`` arrays, very large pictures, soft masks that hide all of
a picture. An overprint changes nothing (white adds no ink), and blend modes that turn white into ink are not followed.
"""

from __future__ import annotations

import hashlib
import io
import math
import zlib
from typing import Any

import pikepdf

from worker.measure.marks import Picture
from worker.measure.pdfobjects import array, filters, get, identity, integer, name, numbers, stream_bytes

MOST_LOOKED_AT = 32_000_000
"""Bytes of samples of one picture that are looked into: A4 at 300 ppi in RGB has 26 million."""
MOST_A_PAGE = 4 * MOST_LOOKED_AT
_LEAST_SQUEEZE = 32
"""White is squeezed by more than this: run lengths make it 64 times smaller, JPEG some 100, deflate and LZW 1000."""
_GLANCE = 65_536
_HEADER = 8_192
"""Bytes besides the samples: a JPEG's tables and a small colour profile."""

_COMPONENTS = {"gray": 1, "rgb": 3, "cmyk": 4, "mask": 1, "indexed-gray": 1, "indexed-rgb": 1, "indexed-cmyk": 1}
_WHITE = {"gray": 0xFF, "rgb": 0xFF, "cmyk": 0x00, "mask": 0xFF}
"""The byte that white samples make; ones of a stencil spare the paper (ISO 32000-1 8.9.6.2)."""
_SPREAD = {1: 0xFF, 2: 0x55, 4: 0x11, 8: 0x01}
"""A byte full of the sample 1, by the bits of a sample."""
PLAIN_FILTERS = {"FlateDecode", "LZWDecode", "RunLengthDecode", "ASCII85Decode", "ASCIIHexDecode"}
_INLINE_KEYS = {"BPC": "BitsPerComponent", "CS": "ColorSpace", "D": "Decode", "DP": "DecodeParms", "F": "Filter"} | {
    "H": "Height", "IM": "ImageMask", "W": "Width",
}  # fmt: skip


class Paper:
    """Tells white pictures from others. Each is looked into once, and so are all that have the same bytes: a white
    picture that lies under every page may be stored anew for each."""

    def __init__(self) -> None:
        self._known: dict[tuple[int, int], bool] = {}
        self._alike: dict[bytes, bool] = {}
        self._left = MOST_A_PAGE

    def turn_page(self) -> None:
        """What may be looked into is counted anew, and counted for what was looked into before, too: so a page is the
        same whoever reads those before it."""
        self._left = MOST_A_PAGE

    def is_white(self, picture: Picture) -> bool:
        """Whether the picture is known to leave the paper as it is."""
        self._left -= bytes_of(picture)
        if self._left < 0:
            return False
        key = identity(picture.source)
        if key == (0, 0):
            return self._looked_into(picture)
        if key not in self._known:
            self._known[key] = self._looked_into(picture)
        return self._known[key]

    def _looked_into(self, picture: Picture) -> bool:
        if not 0 < bytes_of(picture) <= MOST_LOOKED_AT:
            return False
        try:
            if not isinstance(picture.source, bytes):
                return self._of_its_bytes(picture, picture.source)
            with pikepdf.new() as bench:
                return self._of_its_bytes(picture, inline_stream(bench, picture.source))
        except Exception:  # of libraries that were given hostile samples: then it is not known
            return False

    def _of_its_bytes(self, picture: Picture, image: pikepdf.Stream) -> bool:
        if filters(image) and integer(get(image, "/Length")) > bytes_of(picture) // _LEAST_SQUEEZE + _HEADER:
            return False
        raw = image.read_raw_bytes()
        told = f"{picture.pixels} {picture.bits} {picture.colour}".encode() + image.stream_dict.unparse()
        key = hashlib.sha256(told + raw).digest()
        if key not in self._alike:
            self._alike[key] = _is_white(picture, image, raw)
        return self._alike[key]


def bytes_of(picture: Picture) -> int:
    """How many bytes of samples the picture has, each row filled up to a whole byte; 0 where that is not known."""
    return _row_bits(picture) // 8 * picture.pixels[1]


def _row_bits(picture: Picture) -> int:
    return -(-picture.pixels[0] * _COMPONENTS.get(picture.colour, 0) * picture.bits // 8) * 8


def inline_stream(bench: pikepdf.Pdf, raw: bytes) -> pikepdf.Stream:
    """An inline image as if it stood by itself; ``raw`` is what stands between ``BI`` and ``EI``."""
    head, _, samples = raw.partition(b"ID")
    keys = pikepdf.Object.parse(b"<<" + head + b">>")
    own = {_INLINE_KEYS.get(str(key)[1:], str(key)[1:]): value for key, value in keys.items()}
    return pikepdf.Stream(bench, samples[1:], **own)


def _is_white(picture: Picture, image: pikepdf.Stream, raw: bytes) -> bool:
    steps = filters(image)
    if steps == ["DCTDecode"]:
        return _is_white_jpeg(picture, image, raw)
    if steps == ["CCITTFaxDecode"]:
        return _is_white_fax(picture, image)
    return set(steps) <= PLAIN_FILTERS and _has_white_samples(picture, image, raw)


def _has_white_samples(picture: Picture, image: pikepdf.Stream, raw: bytes) -> bool:
    turned = _is_turned(picture, image)
    if turned is None:
        return False
    if picture.colour.startswith("indexed"):
        return _shows_white_entries(picture, image)
    white = _WHITE[picture.colour] ^ (0xFF if turned else 0)
    return _may_begin_with(white, picture, image, raw) and _is_all(samples_of(picture, image), white, picture)


def samples_of(picture: Picture, image: pikepdf.Stream) -> bytes:
    """Raises ``ValueError`` where some are missing."""
    size, row = bytes_of(picture), _row_bits(picture) // 8
    samples = stream_bytes(image, size + row)[:size]
    if len(samples) < size:
        raise ValueError("samples are missing")
    return samples


def _may_begin_with(white: int, picture: Picture, image: pikepdf.Stream, raw: bytes) -> bool:
    """A glance at the first rows, so that a page of another plain colour is not inflated whole."""
    row = _row_bits(picture) // 8
    if filters(image) != ["FlateDecode"] or get(image, "/DecodeParms") is not None or row > _GLANCE:
        return True
    begins = zlib.decompressobj().decompress(raw, _GLANCE)
    return _is_all(begins[: len(begins) // row * row], white, picture)


def _shows_white_entries(picture: Picture, image: pikepdf.Stream) -> bool:
    samples, white = samples_of(picture, image), _white_entries(get(image, "/ColorSpace"))
    if picture.bits == 8:
        return set(samples) <= white
    return any(_is_all(samples, entry * _SPREAD[picture.bits] & 0xFF, picture) for entry in white)


def _is_turned(picture: Picture, image: pikepdf.Stream) -> bool | None:
    """Whether ``Decode`` (8.9.5.2) exchanges least and most; None where it does something else."""
    decode = numbers(get(image, "/Decode"))
    most = 2**picture.bits - 1 if picture.colour.startswith("indexed") else 1
    times = _COMPONENTS[picture.colour]
    if not decode or decode == [0, most] * times:
        return False
    return True if decode == [1, 0] * times and not picture.colour.startswith("indexed") else None


def _is_all(samples: bytes, byte: int, picture: Picture) -> bool:
    """Whether all samples make that byte; the bits that fill up a row may be anything."""
    if samples.count(byte) == len(samples):
        return True
    row = _row_bits(picture) // 8
    unused = row * 8 - picture.pixels[0] * _COMPONENTS[picture.colour] * picture.bits
    if not unused:
        return False
    used = 0xFF << unused & 0xFF
    others = bytearray(samples)
    del others[row - 1 :: row]
    return others.count(byte) == len(others) and {last & used for last in samples[row - 1 :: row]} == {byte & used}


def _white_entries(space: Any) -> set[int]:
    """The entries of a palette that are white (8.6.6.3)."""
    parts = array(space)
    if len(parts) < 4:
        return set()
    family = name(parts[1]) or name((array(parts[1]) or [None])[0])
    count = {"DeviceGray": 1, "DeviceRGB": 3, "DeviceCMYK": 4, "CalGray": 1, "CalRGB": 3}.get(family or "")
    if family == "ICCBased":
        count = integer(get(array(parts[1])[1], "/N"))
    if not count:
        return set()
    table = stream_bytes(parts[3]) if isinstance(parts[3], pikepdf.Stream) else bytes(parts[3])
    white = (b"\0" if count == 4 else b"\xff") * count
    entries = min(len(table) // count, integer(parts[2]) + 1)
    return {entry for entry in range(entries) if table[entry * count : (entry + 1) * count] == white}


def _is_white_jpeg(picture: Picture, image: pikepdf.Stream, raw: bytes) -> bool:
    if picture.colour not in ("gray", "rgb") or get(image, "/Decode") is not None:
        return False
    from PIL import Image  # noqa: PLC0415 - few files have one that has to be decoded

    with Image.open(io.BytesIO(raw), formats=["JPEG"]) as jpeg:
        bands = len(jpeg.getbands())
        if jpeg.size != picture.pixels or bands != _COMPONENTS[picture.colour]:
            return False
        extremes = jpeg.getextrema()
    return extremes in ((255, 255), ((255, 255),) * 3)


def _is_white_fax(picture: Picture, image: pikepdf.Stream) -> bool:
    turned = _is_turned(picture, image)
    if picture.colour not in ("gray", "mask") or turned is None or math.prod(picture.pixels) > MOST_LOOKED_AT:
        return False
    pixels = pikepdf.PdfImage(image).as_pil_image().convert("L")
    return pixels.size == picture.pixels and pixels.getextrema() == (255, 255)
