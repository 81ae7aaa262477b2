"""The text block of a book, read from where its lines stand: the frame that a person sets in a program.

A program sets the frame; a printer looks at the ink. The two differ: hung hyphens and italics stand out of the
frame, descenders hang below the last baseline. What a person types must allow for that, and for no more.
All lengths are points from the trimmed edge.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from worker.measure.models import Box, Line, Measurements, Page
from worker.report.drawing import BindingEdge, inner_edge
from worker.report.running import (
    EDGE_WINDOW,
    UNKNOWN_SIZE,
    RunningLine,
    densest,
    running_foot,
    running_head,
    usual_size,
    without_running_lines,
)

SHARP_SHARE = 0.4
"""An edge that fewer lines than this stand on is ragged, and tells nothing of the frame. House value."""
FURTHEST_HANG = 0.75
"""Ink further out than this share of the type size is no hung hyphen but something set outside the block."""
LEAST_FULL, FULL_SHARE = 2, 0.05
"""So many pages at least are full ones; fewer that reach further have something set outside the block. House value."""
LINES_MORE = 3.0
"""Type sizes by which a page may be longer than the agreed ones: two lines, to save a widow or an orphan."""


@dataclass(frozen=True)
class EdgeOfBlock:
    """One edge: where the block usually stands, how far ink hangs out of it, and the ink nearest to the trim."""

    usual: float
    hang: float
    worst: float


@dataclass(frozen=True)
class TextBlock:
    """Edges are None in a book without text; ``header`` and ``footer`` are None where none repeats.

    ``inside`` and ``outside`` hold for all pages, the nearest of left and right ones; ``odd_…`` for odd pages alone.
    """

    inside: EdgeOfBlock | None
    outside: EdgeOfBlock | None
    odd_inside: EdgeOfBlock | None
    odd_outside: EdgeOfBlock | None
    head: EdgeOfBlock | None
    foot: EdgeOfBlock | None
    header: RunningLine | None
    footer: RunningLine | None


def text_block(measurements: Measurements, binding_edge: BindingEdge) -> TextBlock:
    """Read the block from the lines of all pages; from the box of their text alone where no lines were kept."""
    pages = [page if page.lines else _as_one_line(page, page.text) for page in measurements.pages if page.text]
    size = usual_size(line for page in pages for line in page.lines)
    header, footer = running_head(pages, size), running_foot(pages, size)
    bodies = [(page, without_running_lines(page, header, footer)) for page in pages]
    bodies = [(page, lines) for page, lines in bodies if lines]
    sides = _sides(bodies, binding_edge, size)
    return TextBlock(
        inside=_join(sides, "inside"),
        outside=_join(sides, "outside"),
        odd_inside=sides.get(("inside", True)),
        odd_outside=sides.get(("outside", True)),
        head=_head(bodies, size),
        foot=_foot(bodies, size),
        header=header,
        footer=footer,
    )


def _as_one_line(page: Page, text: Box) -> Page:
    """The page with its text as a single line: its four sides are all that is known of it."""
    line = Line(box=text, baseline=text[1], text="", font="", size=UNKNOWN_SIZE)
    return page.model_copy(update={"lines": (line,)})


def _edge(distances: Iterable[float], furthest: float) -> EdgeOfBlock:
    """The edge that most of these distances agree on; a ragged one stands where its ink does, a few lines apart."""
    values = sorted(distances)
    first, last = densest(values)
    if (last - first) < SHARP_SHARE * len(values):
        return EdgeOfBlock(usual=values[len(values) // 100], hang=0.0, worst=values[0])
    usual = values[(first + last) // 2]
    hung = [usual - value for value in values[:first] if usual - value <= furthest]
    return EdgeOfBlock(usual=usual, hang=max([*hung, usual - values[first]]), worst=values[0])


Sides = dict[tuple[str, bool], EdgeOfBlock]
"""Inside and outside, of odd pages (True) and of even ones."""


def _sides(bodies: Sequence[tuple[Page, list[Line]]], binding: BindingEdge, size: float) -> Sides:
    """Where the lines of odd pages end on the left and on the right, and those of even pages."""
    gathered: dict[tuple[str, bool], list[float]] = {}
    for page, lines in bodies:
        odd = page.page % 2 == 1
        inner_is_left = inner_edge(page.page, binding) == "left"
        left = gathered.setdefault(("inside" if inner_is_left else "outside", odd), [])
        right = gathered.setdefault(("outside" if inner_is_left else "inside", odd), [])
        left += (line.box[0] - page.trim[0] for line in lines)
        right += (page.trim[2] - line.box[2] for line in lines)
    return {side: _edge(values, FURTHEST_HANG * size) for side, values in gathered.items()}


def _join(sides: Sides, name: str) -> EdgeOfBlock | None:
    edges = [edge for (side, _), edge in sides.items() if side == name]
    if not edges:
        return None
    return EdgeOfBlock(
        usual=min(edge.usual for edge in edges),
        hang=max(edge.hang for edge in edges),
        worst=min(edge.worst for edge in edges),
    )


def _head(bodies: Sequence[tuple[Page, list[Line]]], size: float) -> EdgeOfBlock | None:
    ink = [page.trim[3] - max(line.box[3] for line in lines) for page, lines in bodies]
    return _full(ink, ink, size)


def _foot(bodies: Sequence[tuple[Page, list[Line]]], size: float) -> EdgeOfBlock | None:
    """The block ends at its last baseline: some programs set the frame to it, and none below the descenders."""
    return _full(
        [min(line.baseline for line in lines) - page.trim[1] for page, lines in bodies],
        [min(line.box[1] for line in lines) - page.trim[1] for page, lines in bodies],
        size,
    )


def _full(frame: Sequence[float], ink: Sequence[float], size: float) -> EdgeOfBlock | None:
    """The edge of the pages that are full: many are not, at openings and chapters' ends, but a few agree on it.

    ``frame`` is where the block ends on each page and ``ink`` where its ink does, both from the trimmed edge.
    """
    if not frame:
        return None
    usual = _full_edge(sorted(frame), size)
    hang = max((usual - value for value in ink if usual - value <= FURTHEST_HANG * size), default=0.0)
    return EdgeOfBlock(usual=usual, hang=max(0.0, hang), worst=min(ink))


def _full_edge(values: Sequence[float], size: float) -> float:
    """Where full pages end: where several pages agree, or a line or two nearer where one goes there."""
    enough = min(len(values), max(LEAST_FULL, FULL_SHARE * len(values)))
    agreeing = ((value, bisect_right(values, value + EDGE_WINDOW) - bisect_left(values, value)) for value in values)
    agreed = next((value for value, count in agreeing if count >= enough), values[0])
    return next(value for value in values if value >= agreed - LINES_MORE * size)
