"""One page drawn small and to scale from its measurements, as SVG: its text, its pictures, its live area.

A sheet has its origin at the upper-left corner of the trimmed page, y down, in whole units: see :class:`Scale`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from worker.measure.models import Box, Image, Line, Measurements, Page

MOST_LINES = 150
"""A page with more lines than this is drawn as its block: they would run together."""
MOST_LINES_IN_ALL = 80_000
MOST_PICTURES = 40
DISPLAY_TYPE = 1.4
"""Type this much larger than the usual is drawn heavier."""
LARGEST = 3.0
"""A page more than this many times as large as the usual one is drawn smaller than to scale."""


@dataclass(frozen=True)
class Scale:
    """Units of the drawing a point. Two units are a CSS pixel, so that whole numbers are fine enough."""

    units: float
    usual: tuple[float, float]
    display_size: float

    def of(self, page: Page) -> float:
        """The scale for one page; less than ``units`` only for one that would overrun its neighbours."""
        width, height = size_of(page)
        return min(self.units, LARGEST * self.units * min(self.usual[0] / width, self.usual[1] / height))


@dataclass(frozen=True)
class Sheet:
    """A page ready to be drawn: its size in units, and paths in the sheet's own frame."""

    page: Page
    width: int
    height: int
    text: str
    display: str
    block: str
    pictures: str
    live: str


def size_of(page: Page) -> tuple[float, float]:
    """Width and height of the trimmed page in points, at least one each."""
    return max(1.0, page.trim[2] - page.trim[0]), max(1.0, page.trim[3] - page.trim[1])


def usual_size(pages: Sequence[Page]) -> tuple[float, float]:
    """The median width and height of the trimmed pages, in points."""
    widths = sorted(size_of(page)[0] for page in pages)
    heights = sorted(size_of(page)[1] for page in pages)
    return widths[len(widths) // 2], heights[len(heights) // 2]


def scale_for(measurements: Measurements, page_width: float) -> Scale:
    """The scale at which a usual page is ``page_width`` CSS pixels wide."""
    usual = usual_size(measurements.pages)
    sizes = sorted(line.size for page in measurements.pages for line in page.lines)
    body = sizes[len(sizes) // 2] if sizes else 10.0
    return Scale(units=2 * page_width / usual[0], usual=usual, display_size=DISPLAY_TYPE * body)


def pictures_by_page(measurements: Measurements) -> dict[int, list[Image]]:
    """The pictures of each page; the rules that some programs draw as tiny stencils left out."""
    placed: dict[int, list[Image]] = {}
    for image in measurements.images:
        if min(image.pixels) > 2:
            placed.setdefault(image.page, []).append(image)
    return placed


def sheet(page: Page, images: Sequence[Image], live: Box | None, scale: Scale, *, with_lines: bool = True) -> Sheet:
    """Draw one page. Without lines, or with too many of them, its text is drawn as one block."""
    units = scale.of(page)
    width, height = (max(2, round(side * units)) for side in size_of(page))
    lines = page.lines if with_lines and len(page.lines) <= MOST_LINES else ()
    return Sheet(
        page=page,
        width=width,
        height=height,
        text="".join(_stroke(line, page, units) for line in lines if line.size < scale.display_size),
        display="".join(_stroke(line, page, units) for line in lines if line.size >= scale.display_size),
        block=_rectangle(page.text, page, units) if page.text and not lines else "",
        pictures="".join(_rectangle(image.box, page, units) for image in images[:MOST_PICTURES]),
        live=_rectangle(live, page, units) if live else "",
    )


def _stroke(line: Line, page: Page, units: float) -> str:
    """A line of text as a stroke at the middle of its small letters."""
    left = round((line.box[0] - page.trim[0]) * units)
    length = max(1, round((line.box[2] - line.box[0]) * units))
    return f"M{left} {round((page.trim[3] - line.baseline - line.size / 4) * units)}h{length}"


def _rectangle(box: Box, page: Page, units: float) -> str:
    """A box, cut to a little more than the trimmed page, as a path."""
    edge = 4 / units
    x0, y0 = max(box[0], page.trim[0] - edge), max(box[1], page.trim[1] - edge)
    x1, y1 = min(box[2], page.trim[2] + edge), min(box[3], page.trim[3] + edge)
    if x0 >= x1 or y0 >= y1:
        return ""
    left, top = round((x0 - page.trim[0]) * units), round((page.trim[3] - y1) * units)
    return f"M{left} {top}h{round((x1 - x0) * units)}v{round((y1 - y0) * units)}h-{round((x1 - x0) * units)}z"
