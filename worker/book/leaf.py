"""A page as the reading of the book looks at it: the rows of type that are nearest to its head and its foot.

All lengths are points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from worker.book.models import Position
from worker.measure.models import Box, Line, Page

SAME_ROW = 3.0
"""Baselines nearer than this are one row: a folio set smaller than the running head beside it."""
OUTER_ROWS = 3
_RAISED = 0.6
"""Ems by which lines of one row may stand higher than others."""
_CENTRE = 0.1
"""What is centred stands no further from the middle than this share of the width: margins inside and outside differ."""


class Row(NamedTuple):
    """Lines on one baseline, from left to right."""

    baseline: float
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Leaf:
    """One page. ``lines`` are the level ones, from the head down; rows are counted from the edge inwards."""

    page: Page
    lines: tuple[Line, ...]
    head: tuple[Row, ...]
    foot: tuple[Row, ...]

    @property
    def number(self) -> int:
        return self.page.page

    @property
    def height(self) -> float:
        return self.page.trim[3] - self.page.trim[1]

    @property
    def left_is_inside(self) -> bool:
        return self.page.side == "recto"

    def from_head(self, y: float) -> float:
        return self.page.trim[3] - y

    def from_foot(self, y: float) -> float:
        return y - self.page.trim[1]

    def position(self, box: Box) -> Position:
        """Where something stands across the page."""
        x0, _, x1, _ = self.page.trim
        share = ((box[0] + box[2]) / 2 - x0) / (x1 - x0) - 0.5
        if abs(share) <= _CENTRE:
            return "centre"
        return "inside" if (share < 0) == self.left_is_inside else "outside"


def leaf_of(page: Page) -> Leaf:
    """The page with its rows; those of a page without text are none."""
    lines = _level(page.lines)
    return Leaf(page, lines, _rows(lines), _rows(lines[::-1]))


def _level(lines: tuple[Line, ...]) -> tuple[Line, ...]:
    """The lines less those that are turned, which come last. Level ones go down, but for what is raised in a row."""
    for number, (one, following) in enumerate(pairwise(lines), 1):
        step = following.baseline - one.baseline
        if step > SAME_ROW and step > _RAISED * max(one.size, following.size):
            return lines[:number]
    return lines


def _rows(lines: Sequence[Line]) -> tuple[Row, ...]:
    rows: list[Row] = []
    row: list[Line] = []
    for line in lines:
        if row and abs(line.baseline - row[0].baseline) >= SAME_ROW:
            rows.append(_row(row))
            if len(rows) == OUTER_ROWS:
                return tuple(rows)
            row = []
        row.append(line)
    if row:
        rows.append(_row(row))
    return tuple(rows)


def _row(lines: list[Line]) -> Row:
    return Row(lines[0].baseline, tuple(sorted(lines, key=lambda line: line.box[0])) if len(lines) > 1 else (lines[0],))
