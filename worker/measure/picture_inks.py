"""What the samples of a picture tell: its heaviest sum of inks, and whether a picture in RGB is grey all over.

Looked into are pictures in CMYK and in RGB, also by a palette, as JPEG or in samples that qpdf unpacks. Ink is that of
the picture reduced to about 72 pixels an inch: what a press lays on a spot, not what one stray pixel asks for. What is
not looked into, and so is not known: JPEG 2000, pictures in spot colours, unusual ``Decode`` arrays and numbers of
bits, and very large pictures.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import pikepdf

from worker.measure.colour import page_colour
from worker.measure.marks import Picture, Pixels
from worker.measure.models import PageColour
from worker.measure.paper import MOST_LOOKED_AT, PLAIN_FILTERS, bytes_of, inline_stream, samples_of
from worker.measure.pdfobjects import filters, get, identity, numbers

if TYPE_CHECKING:
    from PIL import Image

PPI = 72
MOST_A_PAGE = 2 * MOST_LOOKED_AT
"""Bytes of samples of the pictures of one page that are looked into."""
_NEARLY = 2
"""Of 255: how far apart red, green and blue of a grey may come out of a JPEG (common practice, no source)."""
_COARSE_JPEG = 8
"""A JPEG is decoded to an eighth of its size to see whether it is grey: four times as fast."""
_ALL_INK = 100.0


class PictureInks:
    """Looks into each picture once for each size, and into no more of one page than is set."""

    def __init__(self) -> None:
        self._known: dict[tuple[tuple[int, int], int], Pixels] = {}
        self._left = MOST_A_PAGE

    def turn_page(self) -> None:
        """What may be looked into is counted anew; what is known already counts too, so that a page is the same
        whoever reads those before it."""
        self._left = MOST_A_PAGE

    def pixels_of(self, picture: Picture) -> Pixels:
        """What its samples tell; where they are not looked into, what its colour space does."""
        colour = page_colour(picture.space)
        if picture.colour not in _LOOKS:
            return Pixels(colour, _ALL_INK if colour == "gray" else None)
        self._left -= bytes_of(picture)
        if self._left < 0 or not 0 < bytes_of(picture) <= MOST_LOOKED_AT:
            return Pixels(colour)
        key = identity(picture.source), _reduction(picture)
        if key[0] == (0, 0):
            return _looked_into(picture, colour)
        if key not in self._known:
            self._known[key] = _looked_into(picture, colour)
        return self._known[key]


def _reduction(picture: Picture) -> int:
    """How many pixels to a side make one of about 72 to the inch."""
    return max(1, int(min(*picture.ppi, *picture.pixels) // PPI)) if picture.colour.endswith("cmyk") else 1


def _looked_into(picture: Picture, colour: PageColour) -> Pixels:
    try:
        if not isinstance(picture.source, bytes):
            return _LOOKS[picture.colour](picture, picture.source)
        with pikepdf.new() as bench:
            return _LOOKS[picture.colour](picture, inline_stream(bench, picture.source))
    except Exception:  # of libraries that were given hostile samples: then it is not known
        return Pixels(colour)


def _in_rgb(picture: Picture, image: pikepdf.Stream) -> Pixels:
    if picture.masked or get(image, "/Decode") is not None:
        return Pixels("rgb")
    pixels = _pixels(picture, image, "RGB", _COARSE_JPEG)
    return Pixels("rgb-gray" if pixels is not None and _is_grey(pixels) else "rgb")


def _is_grey(pixels: Image.Image) -> bool:
    from PIL import ImageChops  # noqa: PLC0415 - few files have a picture in RGB

    red, green, blue = pixels.split()
    return all(ImageChops.difference(red, other).getextrema()[1] <= _NEARLY for other in (green, blue))  # type: ignore[operator]


def _in_cmyk(picture: Picture, image: pikepdf.Stream) -> Pixels:
    decode = numbers(get(image, "/Decode"))
    if decode not in ([], [0, 1] * 4, [1, 0] * 4):
        return Pixels("cmyk")
    by = _reduction(picture)
    pixels = _pixels(picture, image, "CMYK", by)
    return Pixels("cmyk", None if pixels is None else _heaviest(pixels, picture, by, turned=decode == [1, 0] * 4))


def _pixels(picture: Picture, image: pikepdf.Stream, mode: str, by: int) -> Image.Image | None:
    """The picture's samples as they stand in the file; a JPEG may come out up to ``by`` times smaller."""
    from PIL import Image, ImageChops  # noqa: PLC0415

    steps = filters(image)
    if steps == ["DCTDecode"]:
        with Image.open(io.BytesIO(image.read_raw_bytes()), formats=["JPEG"]) as jpeg:
            if jpeg.size != picture.pixels or jpeg.mode != mode:
                return None
            jpeg.draft(mode, (jpeg.width // by, jpeg.height // by))
            whole = jpeg.copy()
        return ImageChops.invert(whole) if mode == "CMYK" else whole  # which Pillow has turned round
    if set(steps) <= PLAIN_FILTERS and picture.bits == 8:
        return Image.frombytes(mode, picture.pixels, samples_of(picture, image))
    return None


def _heaviest(pixels: Image.Image, picture: Picture, by: int, *, turned: bool) -> float:
    """The highest sum of four inks in percent, over squares of ``by`` pixels of the picture as it is placed."""
    from PIL import ImageChops, ImageMath  # noqa: PLC0415

    left = max(1, by * pixels.width // picture.pixels[0])
    small = pixels.reduce(left) if left > 1 else pixels
    cyan, magenta, yellow, black = (ImageChops.invert(small) if turned else small).split()
    inks = ImageMath.lambda_eval(lambda of: of["c"] + of["m"] + of["y"] + of["k"], c=cyan, m=magenta, y=yellow, k=black)
    return float(inks.getextrema()[1]) / 2.55


def _by_palette(picture: Picture, image: pikepdf.Stream) -> Pixels:
    """By the colours of the palette, of which all are taken to be used; entries that a sample cannot reach are not."""
    base, entries = picture.space.base, picture.space.entries[: 2**picture.bits]
    if base is None or not entries:
        return Pixels(page_colour(picture.space))
    used = _used(picture, image) if picture.bits == 8 and base.family == "cmyk" else range(len(entries))
    paints = [base.paint(entries[at]) for at in used if at < len(entries)]
    families = {paint.family for paint in paints if not paint.white}
    family = page_colour(base) if len(families) != 1 else families.pop()
    return Pixels(family, max((paint.ink for paint in paints if paint.ink is not None), default=None))


def _used(picture: Picture, image: pikepdf.Stream) -> list[int]:
    """The entries of the palette that its pixels name; all where that is not told."""
    plain = set(filters(image)) <= PLAIN_FILTERS and not numbers(get(image, "/Decode"))
    return sorted(set(samples_of(picture, image))) if plain else list(range(256))


_LOOKS = {
    "rgb": _in_rgb,
    "cmyk": _in_cmyk,
    "indexed-rgb": _by_palette,
    "indexed-cmyk": _by_palette,
    "indexed-gray": _by_palette,
}
