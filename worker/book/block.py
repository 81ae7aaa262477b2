"""The text block of a book, read from where its lines stand: the frame that a person sets in a program.

A program sets the frame; a printer looks at the ink. The two differ: hung hyphens and italics stand out of the
frame, descenders hang below the last baseline. What a person types must allow for that, and for no more.
All lengths are points from the trimmed edge.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from worker.book.leaf import Leaf, leaf_of
from worker.book.models import EdgeOfBlock, TextBlock
from worker.book.running import (
    EDGE_WINDOW,
    UNKNOWN_SIZE,
    densest,
    running_foot,
    running_head,
    sample,
    usual_size,
    without_running_lines,
)
from worker.measure.models import Box, Line, Page

SHARP_SHARE = 0.4
"""An edge that fewer lines than this stand on is ragged, and tells nothing of the frame. House value."""
RAGGED_HANG = 0.2
"""Of the type size: how far lines may hang out of a ragged edge, broken anew, that do not now. House value."""
FURTHEST_HANG = 0.75
"""Ink further out than this share of the type size is no hung hyphen but something set outside the block."""
LEAST_FULL, FULL_SHARE = 2, 0.05
"""So many pages at least are full ones; fewer that reach further have something set outside the block. House value."""
LINES_MORE = 3.0
"""Type sizes by which a page may be longer than the agreed ones: two lines, to save a widow or an orphan."""


def text_block(leaves: Sequence[Leaf]) -> TextBlock:
    """Read the block from the lines of all pages; from the box of their text alone where no lines were kept."""
    leaves = [leaf if leaf.lines else _as_one_line(leaf, leaf.page.text) for leaf in leaves if leaf.page.text]
    size = usual_size([line for leaf in sample(leaves) for line in leaf.lines])
    header, footer = running_head(leaves, size), running_foot(leaves, size)
    bodies = [(leaf.page, lines) for leaf in leaves if (lines := without_running_lines(leaf, header, footer))]
    odd = [(page, lines) for page, lines in bodies if page.page % 2 == 1]
    even = [(page, lines) for page, lines in bodies if page.page % 2 == 0]
    return TextBlock(
        odd_left=_left(odd, size),
        odd_right=_right(odd, size),
        even_left=_left(even, size),
        even_right=_right(even, size),
        head=_head(bodies, size),
        foot=_foot(bodies, size),
        header=header,
        footer=footer,
    )


Bodies = Sequence[tuple[Page, Sequence[Line]]]
"""Pages with the lines of their text block."""


def _as_one_line(leaf: Leaf, text: Box) -> Leaf:
    """The page with its text as a single line: its four sides are all that is known of it."""
    line = Line(box=text, baseline=text[1], text="", font="", size=UNKNOWN_SIZE)
    return leaf_of(leaf.page.model_copy(update={"lines": (line,)}))


def _edge(distances: list[float], furthest: float) -> EdgeOfBlock | None:
    """The edge that most of these distances agree on; a ragged one stands where its ink does, a few lines apart."""
    values = sorted(distances)
    if not values:
        return None
    first, last = densest(values)
    if (last - first) < SHARP_SHARE * len(values):
        usual = values[len(values) // 100]
        hang = max(min(usual - values[0], furthest), furthest * RAGGED_HANG / FURTHEST_HANG)
        return EdgeOfBlock(usual=usual, hang=hang, worst=values[0])
    usual = values[(first + last) // 2]
    hung = [usual - value for value in values[:first] if usual - value <= furthest]
    return EdgeOfBlock(usual=usual, hang=max([*hung, usual - values[first]]), worst=values[0])


def _left(bodies: Bodies, size: float) -> EdgeOfBlock | None:
    return _edge(
        [line.box[0] - x for page, lines in bodies for x in (page.trim[0],) for line in lines], FURTHEST_HANG * size
    )


def _right(bodies: Bodies, size: float) -> EdgeOfBlock | None:
    return _edge(
        [x - line.box[2] for page, lines in bodies for x in (page.trim[2],) for line in lines], FURTHEST_HANG * size
    )


def _head(bodies: Bodies, size: float) -> EdgeOfBlock | None:
    ink = [page.trim[3] - max(line.box[3] for line in lines) for page, lines in bodies]
    return _full(ink, ink, size)


def _foot(bodies: Bodies, size: float) -> EdgeOfBlock | None:
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
