"""What poppler's tools say of a PDF, as plain data."""

from __future__ import annotations

import re
import subprocess
from dataclasses import dataclass
from functools import cache
from pathlib import Path

Box = tuple[float, float, float, float]


def _lines(*command: str | Path) -> list[str]:
    done = subprocess.run([str(part) for part in command], capture_output=True, check=True)
    return done.stdout.decode("utf-8", "replace").splitlines()


_BOX = re.compile(r"Page +(\d+) (Media|Crop|Bleed|Trim|Art)Box: +(\S+) +(\S+) +(\S+) +(\S+)")
_ROTATE = re.compile(r"Page +(\d+) rot: +(-?\d+)")


@cache
def pdfinfo_boxes(path: Path) -> list[tuple[dict[str, Box], int]]:
    """For every page its five boxes in user space and its rotation, from ``pdfinfo -box -f 1 -l N``."""
    boxes: dict[int, dict[str, Box]] = {}
    rotations: dict[int, int] = {}
    for line in _lines("pdfinfo", "-box", "-f", "1", "-l", "100000", path):
        if match := _BOX.match(line):
            page, name, *corners = match.groups()
            x0, y0, x1, y1 = (float(corner) for corner in corners)
            boxes.setdefault(int(page), {})[name.lower()] = (x0, y0, x1, y1)
        elif match := _ROTATE.match(line):
            rotations[int(match[1])] = int(match[2])
    return [(boxes[page], rotations[page]) for page in sorted(boxes)]


def seen_by_reader(box: Box, trim: Box, rotate: int, unit: float = 1) -> Box:
    """A box of user space as a reader sees it: turned clockwise by ``rotate``, scaled, from the trim's lower left."""

    def turned(x: float, y: float) -> tuple[float, float]:
        return {0: (x, y), 90: (y, -x), 180: (-x, -y), 270: (-y, x)}[rotate]

    def corners(some: Box) -> Box:
        (ax, ay), (bx, by) = turned(some[0], some[1]), turned(some[2], some[3])
        return min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)

    left, foot, _, _ = corners(trim)
    x0, y0, x1, y1 = corners(box)
    return (x0 - left) * unit, (y0 - foot) * unit, (x1 - left) * unit, (y1 - foot) * unit


@dataclass(frozen=True)
class FontRow:
    """A row of ``pdffonts``."""

    name: str
    kind: str
    embedded: bool
    subset: bool


_FONT = re.compile(
    r"^(?P<name>.*?) +(?P<kind>CID TrueType(?: \(OT\))?|CID Type 0C?(?: \(OT\))?|Type 1C?(?: \(OT\))?|"
    r"TrueType(?: \(OT\))?|Type 3|unknown) +\S.* (?P<emb>yes|no) +(?P<sub>yes|no) +(?:yes|no) +\d+ +\d+$"
)


@cache
def pdffonts(path: Path, first: int = 1, last: int = 100_000) -> list[FontRow]:
    """The fonts in the resources of pages ``first`` to ``last``; Type 3 fonts without a name have ``[none]``."""
    rows = []
    for line in _lines("pdffonts", "-f", str(first), "-l", str(last), path)[2:]:
        match = _FONT.match(line)
        assert match, f"pdffonts said {line!r}"
        rows.append(FontRow(match["name"].strip(), match["kind"], match["emb"] == "yes", match["sub"] == "yes"))
    return rows


@dataclass(frozen=True)
class ImageRow:
    """A row of ``pdfimages -list``: one drawing of one image."""

    page: int
    kind: str
    pixels: tuple[int, int]
    colour: str
    bits: int
    ppi: tuple[float, float]


@cache
def pdfimages(path: Path) -> list[ImageRow]:
    """Every drawing of an image; rows without a finite resolution are left out."""
    rows = []
    for line in _lines("pdfimages", "-list", path)[2:]:
        page, _, kind, width, height, colour, _, bits, *_, x, y, _, _ = line.replace("[inline]", "inline 0").split()
        if "inf" not in (x, y):
            rows.append(ImageRow(int(page), kind, (int(width), int(height)), colour, int(bits), (float(x), float(y))))
    return rows


def pages_of(path: Path) -> int:
    """Number of pages by ``pdfinfo``."""
    for line in _lines("pdfinfo", path):
        if line.startswith("Pages:"):
            return int(line.split()[1])
    raise AssertionError(f"pdfinfo says no number of pages for {path}")
