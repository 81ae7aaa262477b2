"""Pictures for the sample books, drawn by rule and seed: seas, hills and skies that nobody has seen."""

from __future__ import annotations

import math
import random
from pathlib import Path

from PIL import Image, ImageChops, ImageDraw, ImageFilter

Colour = tuple[int, int, int]

# Sky above, sky at the horizon, far hills, near hills, sea.
WEATHERS: tuple[tuple[Colour, Colour, Colour, Colour, Colour], ...] = (
    ((54, 84, 112), (196, 206, 204), (104, 124, 136), (52, 74, 72), (78, 108, 122)),
    ((92, 96, 112), (226, 196, 160), (120, 104, 110), (66, 56, 62), (132, 116, 112)),
    ((120, 132, 138), (206, 210, 208), (150, 158, 160), (98, 108, 106), (146, 156, 158)),
    ((38, 52, 84), (116, 132, 164), (58, 70, 98), (26, 34, 52), (48, 62, 92)),
    ((144, 176, 188), (238, 232, 206), (136, 158, 140), (84, 110, 78), (112, 154, 158)),
    ((70, 66, 84), (176, 132, 122), (90, 72, 86), (40, 36, 50), (98, 84, 98)),
    ((168, 180, 182), (236, 234, 226), (186, 194, 194), (142, 152, 150), (186, 196, 198)),
    ((24, 30, 46), (70, 84, 104), (34, 42, 58), (14, 18, 28), (30, 40, 56)),
    ((132, 158, 168), (244, 222, 186), (150, 150, 132), (92, 88, 66), (142, 158, 152)),
)


def _sky(size: tuple[int, int], top: Colour, horizon: Colour) -> Image.Image:
    """A smooth fall from one colour to another."""
    column = Image.linear_gradient("L").resize((1, size[1]), Image.Resampling.BICUBIC).resize(size)
    return Image.composite(Image.new("RGB", size, horizon), Image.new("RGB", size, top), column)


def _ridge(draw: random.Random, size: tuple[int, int], base: float, height: float) -> list[tuple[float, float]]:
    """The outline of a range of hills, closed along the foot of the picture."""
    width, depth = size
    waves = [(draw.uniform(0.6, 5) * 2 * math.pi, draw.uniform(0, 6.3), draw.uniform(0.1, 1)) for _ in range(5)]
    total = sum(weight for _, _, weight in waves)
    line = []
    for step in range(241):
        along = step / 240
        swell = sum(weight * math.sin(along * pace + phase) for pace, phase, weight in waves) / total
        line.append((along * width, depth * (base - height * swell)))
    return [(0, depth), *line, (width, depth)]


def landscape(number: int, size: tuple[int, int]) -> Image.Image:
    """The view of weather ``number`` (0 to 8), ``size`` pixels large."""
    top, horizon, far, near, sea = WEATHERS[number]
    draw = random.Random(number)  # noqa: S311 - a seed is wanted here, not a secret
    view = _sky(size, top, horizon)
    pen = ImageDraw.Draw(view)
    width, depth = size
    pen.polygon(_ridge(draw, size, 0.56, 0.07), fill=far)
    pen.rectangle((0, int(depth * 0.62), width, depth), fill=sea)
    for _ in range(26):
        y = depth * draw.uniform(0.63, 0.84)
        x = width * draw.uniform(-0.1, 0.9)
        pen.rectangle((x, y, x + width * draw.uniform(0.05, 0.3), y + depth * 0.0018), fill=horizon)
    pen.polygon(_ridge(draw, size, 0.86, 0.06), fill=near)
    return view.filter(ImageFilter.GaussianBlur(size[0] / 900))


def in_four_inks(picture: Image.Image) -> Image.Image:
    """The picture in cyan, magenta, yellow and black; half of its grey part is printed in black."""
    coloured = [ImageChops.invert(band) for band in picture.split()]
    grey = ImageChops.darker(ImageChops.darker(coloured[0], coloured[1]), coloured[2]).point(lambda value: value // 2)
    return Image.merge("CMYK", [*(ImageChops.subtract(band, grey) for band in coloured), grey])


def save_jpeg(picture: Image.Image, path: Path, *, ppi: int, quality: int = 62) -> str:
    """Write a JPEG; returns its name."""
    picture.save(path, "JPEG", quality=quality, dpi=(ppi, ppi), optimize=True)
    return path.name


def tide_curve(size: tuple[int, int]) -> Image.Image:
    """Line art of 1 bit: a fortnight of tides, springs to neaps, over a rule."""
    sheet = Image.new("1", size, 1)
    pen = ImageDraw.Draw(sheet)
    width, depth = size
    curve = []
    for x in range(width):
        day = 14 * x / width
        height = (0.32 + 0.12 * math.cos(2 * math.pi * day / 14)) * math.sin(2 * math.pi * day * 1.932)
        curve.append((x, depth * (0.5 - height)))
    pen.line(curve, fill=0, width=max(2, width // 300))
    pen.line([(0, depth // 2), (width, depth // 2)], fill=0, width=1)
    return sheet
