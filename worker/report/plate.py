"""The plate: one of the worst pages of a finding, with its mark and the distance written on it.

An SVG drawing: the page, the live area in outline, what passes it hatched, and a dimension line from the trimmed edge
as on a workshop drawing. The page is a picture of itself where there is one; otherwise it is drawn from the
measurements, the lines of text as strokes, pictures as tinted boxes.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from worker.measure.models import Box, Image, Page
from worker.report.drawing import DrawnMark, without_repeats
from worker.report.geometry import DimensionLine, dimension_line, passing
from worker.report.sheets import Scale, Sheet, sheet, size_of
from worker.report.underlay import ROOM, place_of, units_of
from worker.report.words import shown
from worker.words import told

MOST_MARKS = 12
HALO_LENGTH = 9
"""Half the length of the stroke that ends a dimension line, in units."""


@dataclass(frozen=True)
class _Frame:
    """From points of the page to units of the drawing."""

    page: Page
    units: float

    def x(self, value: float) -> float:
        return round(ROOM + (value - self.page.trim[0]) * self.units, 1)

    def y(self, value: float) -> float:
        return round(ROOM + (self.page.trim[3] - value) * self.units, 1)


def plate(
    page: Page,
    images: Sequence[Image],
    live: Box | None,
    marks: Sequence[DrawnMark],
    display: float,
    *,
    pictured: bool = False,
) -> Markup:
    """Draw ``page`` with ``marks`` on it. Type of ``display`` points or more is drawn heavier.

    ``pictured``: the document holds its :func:`picture`, and that is shown in place of lines and boxes.
    """
    width, height = size_of(page)
    units = units_of(page)
    frame = _Frame(page, units)
    drawn = sheet(page, images, live, Scale(units, (width, height), display))
    view = (drawn.width + 2 * ROOM, drawn.height + 2 * ROOM)
    ground = _picture(page, drawn, view) if pictured else _paper(drawn)
    body = ground + "".join(_mark(mark, live, frame, view) for mark in without_repeats(marks[:MOST_MARKS]))
    kind, name = ("plate pictured", "page.finding.picture") if pictured else ("plate", "page.finding.drawing")
    return Markup(  # noqa: S704 - numbers; words are escaped
        f'<svg class="{kind}" width="{view[0] / 2:g}" height="{view[1] / 2:g}" viewBox="0 0 {view[0]} {view[1]}" '
        f'role="img" aria-label="{escape(told(name, page=page.page))}">{body}</svg>'
    )


def picture(page: Page, data: bytes) -> Markup:
    """The picture of ``page`` (WebP) as the document's shared drawing holds it: at its place on a plate, to be used."""
    place, text = place_of(page), b64encode(data).decode()
    if place is None:
        return Markup("")
    return Markup(  # noqa: S704 - numbers, and base64
        f'<image id="picture-{page.page}" x="{place.x:.2f}" y="{place.y:.2f}" width="{place.width:.2f}" '
        f'height="{place.height:.2f}" preserveAspectRatio="none" href="data:image/webp;base64,{text}"/>'
    )


def _picture(page: Page, drawn: Sheet, view: tuple[int, int]) -> str:
    """Paper under the whole plate, in the dark too: what is drawn over the page is drawn in ink."""
    ground = f'<path class="ground" d="M0 0h{view[0]}v{view[1]}h-{view[0]}z"/>'
    edge = f'<path class="edge" d="M0 0h{drawn.width}v{drawn.height}h-{drawn.width}z"/>'
    live = f'<path class="live" d="{drawn.live}"/>' if drawn.live else ""
    on_it = f'<g transform="translate({ROOM} {ROOM})">{edge}{live}</g>'
    return f'{ground}<use href="#picture-{page.page}"/>{on_it}'


def _paper(drawn: Sheet) -> str:
    paths = (("pic", drawn.pictures), ("t", drawn.text), ("d", drawn.display), ("b", drawn.block), ("live", drawn.live))
    body = "".join(f'<path class="{name}" d="{path}"/>' for name, path in paths if path)
    outline = f'<path class="sheet" d="M0 0h{drawn.width}v{drawn.height}h-{drawn.width}z"/>'
    return f'<g transform="translate({ROOM} {ROOM})">{outline}{body}</g>'


def _mark(mark: DrawnMark, live: Box | None, frame: _Frame, view: tuple[int, int]) -> str:
    hatched = "".join(f'<path class="hatch" d="{_outline(part, frame)}"/>' for part in passing(mark.box, live))
    line = dimension_line(mark, frame.page.trim)
    label = _dimension_label(mark, line, live, frame, view) if line else _label(mark, frame, view)
    return hatched + (_dimension(line, frame) if line else "") + label


def _outline(box: Box, frame: _Frame) -> str:
    x0, x1 = frame.x(box[0]), frame.x(box[2])
    y0, y1 = frame.y(box[3]), frame.y(box[1])
    return f"M{x0} {y0}H{x1}V{y1}H{x0}z"


def _dimension(line: DimensionLine, frame: _Frame) -> str:
    """The line itself, with a short stroke across each end."""
    x0, y0 = frame.x(line.start[0]), frame.y(line.start[1])
    x1, y1 = frame.x(line.end[0]), frame.y(line.end[1])
    if line.across:
        ends = "".join(f"M{x} {y0 - HALO_LENGTH}v{2 * HALO_LENGTH}" for x in (x0, x1))
    else:
        ends = "".join(f"M{x0 - HALO_LENGTH} {y}h{2 * HALO_LENGTH}" for y in (y0, y1))
    return f'<path class="dim" d="M{x0} {y0}L{x1} {y1}{ends}"/>'


def _dimension_label(
    mark: DrawnMark, line: DimensionLine, live: Box | None, frame: _Frame, view: tuple[int, int]
) -> str:
    """The distance, written just inside the live area from the end of its line."""
    x, y = frame.x(line.end[0]), frame.y(line.end[1])
    match line.edge:
        case "left":
            return _text(mark.text, max(x, frame.x(live[0]) if live else x) + 12, y + 8, "start", view)
        case "right":
            return _text(mark.text, min(x, frame.x(live[2]) if live else x) - 12, y + 8, "end", view)
        case "head":
            return _text(mark.text, x, y + 34, "middle", view)
        case "foot":
            return _text(mark.text, x, y - 18, "middle", view)


def _label(mark: DrawnMark, frame: _Frame, view: tuple[int, int]) -> str:
    """A mark that is no distance bears its text above it, or within it where there is no room above."""
    x, y = frame.x((mark.box[0] + mark.box[2]) / 2), frame.y(mark.box[3]) - 10
    return _text(mark.text, x, y if y > ROOM + 20 else y + 40, "middle", view)


def _text(text: str, x: float, y: float, anchor: str, view: tuple[int, int]) -> str:
    if not text:
        return ""
    y = max(24.0, min(y, view[1] - 8.0))
    margin = 4.0 if anchor != "middle" else min(view[0] / 2, 11.0 * len(text) / 2)
    x = max(margin, min(x, view[0] - margin))
    return f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}">{escape(shown(text))}</text>'
