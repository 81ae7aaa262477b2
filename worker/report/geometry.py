"""Where marks and dimension lines go on a drawn page, for the drawings in SVG and the pictures alike.

Boxes and points are in the page's own frame: points, x to the right, y up, from the trimmed lower-left corner.
"""

from __future__ import annotations

from dataclasses import dataclass

from worker.measure.models import Box
from worker.report.drawing import DrawnMark, Edge

Point = tuple[float, float]


@dataclass(frozen=True)
class DimensionLine:
    """A measured distance: from the trimmed edge to the ink, as on a workshop drawing."""

    start: Point
    end: Point
    edge: Edge

    @property
    def across(self) -> bool:
        """Whether the line runs across the page rather than up it."""
        return self.edge in ("left", "right")


def dimension_line(mark: DrawnMark, trim: Box) -> DimensionLine | None:
    """The line on which the mark's distance is written; None for a mark that is no distance."""
    x0, y0, x1, y1 = mark.box
    x = _within((x0 + x1) / 2, trim[0], trim[2])
    y = _within((y0 + y1) / 2, trim[1], trim[3])
    match mark.edge:
        case "left":
            return DimensionLine((trim[0], y), (x0, y), "left")
        case "right":
            return DimensionLine((trim[2], y), (x1, y), "right")
        case "head":
            return DimensionLine((x, trim[3]), (x, y1), "head")
        case "foot":
            return DimensionLine((x, trim[1]), (x, y0), "foot")
        case _:
            return None


def _within(value: float, least: float, most: float) -> float:
    return max(least, min(value, most))


def passing(box: Box, live: Box | None) -> tuple[Box, ...]:
    """The parts of ``box`` that pass the live area; the whole box where it passes nowhere or there is none."""
    if live is None:
        return (box,)
    x0, y0, x1, y1 = box
    parts = (
        (x0, y0, min(x1, live[0]), y1),
        (max(x0, live[2]), y0, x1, y1),
        (max(x0, live[0]), max(y0, live[3]), min(x1, live[2]), y1),
        (max(x0, live[0]), y0, min(x1, live[2]), min(y1, live[1])),
    )
    beyond = tuple(part for part in parts if part[0] < part[2] and part[1] < part[3])
    return beyond or (box,)
