"""Running heads and folios: the lines that stand in the head and foot margins, told from the text block.

One is known by standing apart from the block, at the same place on many pages, and by saying much the same there.
All lengths are points from the trimmed edge.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from worker.book.models import RunningLine
from worker.measure.models import Line, Page

EDGE_WINDOW = 1.0
"""Lines whose ends lie within this of each other stand on one edge: side bearings differ by less."""
UNKNOWN_SIZE = 10.0
"""The size of a novel's type, for pages whose lines are not known."""
SAME_ROW = 3.0
"""Baselines nearer than this are one row: a folio set smaller than the running head beside it."""
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
NEARLY = 0.5
ENOUGH_PAGES = 60


class _Row(NamedTuple):
    """Lines on one baseline. ``place`` is the baseline's distance from the trimmed edge, ``ink`` that of the ink."""

    place: float
    ink: float
    lines: tuple[Line, ...]

    @property
    def size(self) -> float:
        return usual_size(self.lines)

    @property
    def wording(self) -> str:
        """What it says, numbers and case aside."""
        return re.sub(r"\b[ivxlcdm]+\b|[\d\W]+", " ", " ".join(line.text for line in self.lines).lower()).strip()


def running_head(pages: Sequence[Page], size: float) -> RunningLine | None:
    """The line that runs above a block of type of this size (points); None where none does."""
    return _running([_outer_rows(page, _from_head) for page in pages], _usual_leading(pages), size)


def running_foot(pages: Sequence[Page], size: float) -> RunningLine | None:
    """The line that runs below a block of type of this size (points); None where none does."""
    return _running([_outer_rows(page, _from_foot) for page in pages], _usual_leading(pages), size)


def without_running_lines(page: Page, header: RunningLine | None, footer: RunningLine | None) -> list[Line]:
    """A page's lines less those that stand where the running heads and folios do."""

    def in_body(line: Line) -> bool:
        return not (_holds(header, page.trim[3] - line.box[3]) or _holds(footer, line.box[1] - page.trim[1]))

    return [line for line in page.lines if in_body(line)]


def usual_size(lines: Iterable[Line]) -> float:
    """The median size of lines of text, in points."""
    sizes = sorted(line.size for line in lines)
    return sizes[len(sizes) // 2] if sizes else UNKNOWN_SIZE


def densest(values: Sequence[float]) -> tuple[int, int]:
    """The slice of sorted ``values`` that holds most of them within ``EDGE_WINDOW``; the first of equals wins."""
    best = (0, 0)
    start = 0
    for end, value in enumerate(values):
        while value - values[start] > EDGE_WINDOW:
            start += 1
        if end + 1 - start > best[1] - best[0]:
            best = (start, end + 1)
    return best


def _from_head(page: Page, line: Line) -> tuple[float, float]:
    return page.trim[3] - line.baseline, page.trim[3] - line.box[3]


def _from_foot(page: Page, line: Line) -> tuple[float, float]:
    return line.baseline - page.trim[1], line.box[1] - page.trim[1]


def _outer_rows(page: Page, distances: Callable[[Page, Line], tuple[float, float]]) -> list[_Row]:
    """The two rows of a page that are nearest to the edge, nearest first; fewer where it has fewer."""
    rows: list[_Row] = []
    placed = sorted((*distances(page, line), number) for number, line in enumerate(page.lines))
    for place, ink, number in placed:
        line = page.lines[number]
        if rows and place - rows[-1].place < SAME_ROW:
            last = rows[-1]
            rows[-1] = _Row(last.place, min(last.ink, ink), (*last.lines, line))
        elif len(rows) == 2:
            break
        else:
            rows.append(_Row(place, ink, (line,)))
    return rows


def _running(pages: Sequence[Sequence[_Row]], leading: float, body: float) -> RunningLine | None:
    """The outer row of many pages, where it stands apart at one place and says much the same."""
    apart = [rows[0] for rows in pages if len(rows) > 1 and _stands_apart(rows[0], rows[1], leading, body)]
    apart.sort(key=lambda row: row.place)
    first, last = densest([row.place for row in apart])
    found = apart[first:last]
    if len(found) < max(LEAST_REPEATS, LEAST_SHARE * len(pages)):
        return None
    if len({row.wording for row in found}) > MOST_WORDINGS * len(found):
        return None
    ink = sorted(row.ink for row in found)
    size = usual_size(line for row in found for line in row.lines)
    return RunningLine(usual=ink[len(ink) // 2], worst=ink[0], size=size)


def _stands_apart(row: _Row, following: _Row, leading: float, body: float) -> bool:
    set_otherwise = abs(row.size / body - 1) > OTHER_SIZE
    least = (APART_IF_SET_OTHERWISE if set_otherwise else APART) * leading
    return following.place - row.place > least


def _usual_leading(pages: Sequence[Page]) -> float:
    """The median distance from one baseline to the next, in points."""
    baselines = (sorted(line.baseline for line in page.lines) for page in _sample(pages))
    gaps = sorted(above - below for lines in baselines for below, above in pairwise(lines) if above - below > SAME_ROW)
    return gaps[len(gaps) // 2] if gaps else UNKNOWN_SIZE


def _sample(pages: Sequence[Page]) -> Sequence[Page]:
    """Pages from all parts of the book: enough for what is usual in it."""
    return pages[:: max(1, len(pages) // ENOUGH_PAGES)]


def _holds(running: RunningLine | None, distance: float) -> bool:
    """Whether ink at this distance from the trimmed edge is part of the running line."""
    return running is not None and running.worst - NEARLY <= distance < running.usual + running.size
