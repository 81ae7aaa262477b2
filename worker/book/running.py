"""Running heads and folios: the lines that stand in the head and foot margins, told from the text block.

One is known by standing apart from the block, at the same place on many pages, and by saying much the same there.
All lengths are points from the trimmed edge.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from worker.book.leaf import SAME_ROW, Leaf
from worker.book.models import RunningLine
from worker.measure.models import Line

EDGE_WINDOW = 1.0
"""Lines whose ends lie within this of each other stand on one edge: side bearings differ by less."""
UNKNOWN_SIZE = 10.0
"""The size of a novel's type, for pages whose lines are not known."""
APART = 1.35
"""A row further than this many times the usual leading from the next one stands apart. House value."""
APART_IF_SET_OTHERWISE = 1.1
"""The same for a row in another size than the text's."""
OTHER_SIZE = 0.04
"""Sizes that differ by a larger share than this are two sizes."""
LEAST_REPEATS = 3
LEAST_SHARE = 0.2
MOST_WORDINGS = 0.6
"""Titles at the same place of every page differ from page to page; running heads return, and folios are figures."""
MOST_BEYOND = 0.3
"""Pages whose text stands further out than a running line would: such a line is a heading, "Chapter" and a number."""
NEARLY = 0.5
ENOUGH_PAGES = 60


class _Outer(NamedTuple):
    """An outermost row. ``place`` is its baseline's distance from the trimmed edge, ``ink`` that of its ink, ``next``
    that of the baseline of the row inside it."""

    place: float
    ink: float
    next: float
    lines: tuple[Line, ...]

    @property
    def size(self) -> float:
        return usual_size(self.lines)

    @property
    def wording(self) -> str:
        """What it says, numbers and case aside."""
        return re.sub(r"\b[ivxlcdm]+\b|[\d\W]+", " ", " ".join(line.text for line in self.lines).lower()).strip()


def running_head(leaves: Sequence[Leaf], size: float) -> RunningLine | None:
    """The line that runs above a block of type of this size (points); None where none does."""
    rows = [_from_head(leaf) for leaf in leaves if len(leaf.head) > 1]
    return _running(rows, len(leaves), _usual_leading(leaves), size)


def running_foot(leaves: Sequence[Leaf], size: float) -> RunningLine | None:
    """The line that runs below a block of type of this size (points); None where none does."""
    rows = [_from_foot(leaf) for leaf in leaves if len(leaf.foot) > 1]
    return _running(rows, len(leaves), _usual_leading(leaves), size)


def without_running_lines(leaf: Leaf, header: RunningLine | None, footer: RunningLine | None) -> Sequence[Line]:
    """A page's lines less those that stand where the running heads and folios do, at the head and at the foot."""
    lines, start, end = leaf.page.lines, 0, len(leaf.lines)
    while start < end and is_running(header, leaf.from_head(lines[start].box[3])):
        start += 1
    while end > start and is_running(footer, leaf.from_foot(lines[end - 1].box[1])):
        end -= 1
    return (*lines[start:end], *lines[len(leaf.lines) :])


def usual_size(lines: Sequence[Line]) -> float:
    """The median size of lines of text, in points."""
    sizes = sorted([line.size for line in lines])
    return sizes[len(sizes) // 2] if sizes else UNKNOWN_SIZE


def densest(values: Sequence[float], window: float = EDGE_WINDOW) -> tuple[int, int]:
    """The slice of sorted ``values`` that holds most of them within a window; the first of equals wins."""
    first = most = 0
    for start, value in enumerate(values):
        while start + most < len(values) and values[start + most] - value <= window:
            first, most = start, most + 1
    return first, first + most


def _from_head(leaf: Leaf) -> _Outer:
    row, inner = leaf.head[:2]
    ink = leaf.from_head(max(line.box[3] for line in row.lines))
    return _Outer(leaf.from_head(row.baseline), ink, leaf.from_head(inner.baseline), row.lines)


def _from_foot(leaf: Leaf) -> _Outer:
    row, inner = leaf.foot[:2]
    ink = leaf.from_foot(min(line.box[1] for line in row.lines))
    return _Outer(leaf.from_foot(row.baseline), ink, leaf.from_foot(inner.baseline), row.lines)


def _running(rows: Sequence[_Outer], pages: int, leading: float, body: float) -> RunningLine | None:
    """The outer row of many pages, where it stands apart at one place and says much the same."""
    apart = sorted((row for row in rows if _stands_apart(row, leading, body)), key=lambda row: row.place)
    first, last = densest([row.place for row in apart])
    found = apart[first:last]
    if len(found) < max(LEAST_REPEATS, LEAST_SHARE * pages):
        return None
    if len({row.wording for row in found}) > MOST_WORDINGS * len(found):
        return None
    if sum(row.place < found[0].place - SAME_ROW for row in rows) > MOST_BEYOND * len(rows):
        return None
    ink = sorted(row.ink for row in found)
    size = usual_size([line for row in found for line in row.lines])
    return RunningLine(usual=ink[len(ink) // 2], worst=ink[0], size=size)


def _stands_apart(row: _Outer, leading: float, body: float) -> bool:
    set_otherwise = abs(row.size / body - 1) > OTHER_SIZE
    least = (APART_IF_SET_OTHERWISE if set_otherwise else APART) * leading
    return row.next - row.place > least


def _usual_leading(leaves: Sequence[Leaf]) -> float:
    """The median distance from one baseline to the next, in points."""
    gaps = sorted(
        step
        for leaf in sample(leaves)
        for above, below in pairwise(leaf.lines)
        if (step := above.baseline - below.baseline) > SAME_ROW
    )
    return gaps[len(gaps) // 2] if gaps else UNKNOWN_SIZE


def sample(leaves: Sequence[Leaf]) -> Sequence[Leaf]:
    """Pages from all parts of the book: enough for what is usual in it."""
    return leaves[:: max(1, len(leaves) // ENOUGH_PAGES)]


def is_running(running: RunningLine | None, distance: float) -> bool:
    """Whether ink at this distance from the trimmed edge is part of the running line."""
    return running is not None and running.worst - NEARLY <= distance < running.usual + running.size
