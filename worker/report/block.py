"""The text block of a book, read from where its lines stand: the frame that a person sets in a program.

A program sets the frame; a printer looks at the ink. The two differ: hung hyphens and italics stand out of the
frame, descenders hang below the last baseline. What a person types must allow for that, and for no more.
All lengths are points from the trimmed edge.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from worker.measure.models import Box, Line, Measurements, Page
from worker.report.drawing import BindingEdge, inner_edge

EDGE_WINDOW = 1.0
"""Lines whose ends lie within this of each other stand on one edge: side bearings differ by less."""
SHARP_SHARE = 0.4
"""An edge that fewer lines than this stand on is ragged, and tells nothing of the frame. House value."""
FURTHEST_HANG = 0.75
"""Ink further out than this share of the type size is no hung hyphen but something set outside the block."""
FULL_SHARE = 0.05
"""So many pages at least are full ones; fewer that reach further have something set outside the block. House value."""
UNKNOWN_SIZE = 10.0
"""Points: the size of a novel's type, for a page whose lines are not known."""


@dataclass(frozen=True)
class EdgeOfBlock:
    """One edge: where the block usually stands, how far ink hangs out of it, and the ink nearest to the trim."""

    usual: float
    hang: float
    worst: float


@dataclass(frozen=True)
class RunningLine:
    """The running heads or folios that stand in one margin: their edges towards the trim, and their type size."""

    usual: float
    worst: float
    size: float


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
    heads = _running_line(pages, _rows_from_head)
    feet = _running_line(pages, _rows_from_foot)
    bodies = [(page, _without_running_lines(page, heads, feet)) for page in pages]
    bodies = [(page, lines) for page, lines in bodies if lines]
    sides = _sides(bodies, binding_edge)
    return TextBlock(
        inside=_join(sides, "inside"),
        outside=_join(sides, "outside"),
        odd_inside=sides.get(("inside", True)),
        odd_outside=sides.get(("outside", True)),
        head=_head(bodies),
        foot=_foot(bodies),
        header=heads,
        footer=feet,
    )


def _as_one_line(page: Page, text: Box) -> Page:
    """The page with its text as a single line: its four sides are all that is known of it."""
    line = Line(box=text, baseline=text[1], text="", font="", size=UNKNOWN_SIZE)
    return page.model_copy(update={"lines": (line,)})


def _edge(distances: Iterable[float], furthest: float) -> EdgeOfBlock:
    """The edge that most of these distances agree on; a ragged one stands where its ink does, a few lines apart."""
    values = sorted(distances)
    first, last = _densest(values)
    if (last - first) < SHARP_SHARE * len(values):
        return EdgeOfBlock(usual=values[len(values) // 100], hang=0.0, worst=values[0])
    usual = values[(first + last) // 2]
    hung = [usual - value for value in values[:first] if usual - value <= furthest]
    return EdgeOfBlock(usual=usual, hang=max([*hung, usual - values[first]]), worst=values[0])


def _densest(values: Sequence[float]) -> tuple[int, int]:
    """The slice of sorted ``values`` that holds most of them within ``EDGE_WINDOW``; the nearest to the trim wins."""
    best = (0, 0)
    start = 0
    for end, value in enumerate(values):
        while value - values[start] > EDGE_WINDOW:
            start += 1
        if end + 1 - start > best[1] - best[0]:
            best = (start, end + 1)
    return best


Sides = dict[tuple[str, bool], EdgeOfBlock]
"""Inside and outside, of odd pages (True) and of even ones."""


def _sides(bodies: Sequence[tuple[Page, list[Line]]], binding: BindingEdge) -> Sides:
    """Where the lines of odd pages end on the left and on the right, and those of even pages."""
    gathered: dict[tuple[str, bool], list[float]] = {}
    for page, lines in bodies:
        odd = page.page % 2 == 1
        inner_is_left = inner_edge(page.page, binding) == "left"
        left = gathered.setdefault(("inside" if inner_is_left else "outside", odd), [])
        right = gathered.setdefault(("outside" if inner_is_left else "inside", odd), [])
        left += (line.box[0] - page.trim[0] for line in lines)
        right += (page.trim[2] - line.box[2] for line in lines)
    furthest = FURTHEST_HANG * _usual_size(line for _, lines in bodies for line in lines)
    return {side: _edge(values, furthest) for side, values in gathered.items()}


def _join(sides: Sides, name: str) -> EdgeOfBlock | None:
    edges = [edge for (side, _), edge in sides.items() if side == name]
    if not edges:
        return None
    return EdgeOfBlock(
        usual=min(edge.usual for edge in edges),
        hang=max(edge.hang for edge in edges),
        worst=min(edge.worst for edge in edges),
    )


def _usual_size(lines: Iterable[Line]) -> float:
    sizes = sorted(line.size for line in lines)
    return sizes[len(sizes) // 2] if sizes else UNKNOWN_SIZE


def _head(bodies: Sequence[tuple[Page, list[Line]]]) -> EdgeOfBlock | None:
    ink = [page.trim[3] - max(line.box[3] for line in lines) for page, lines in bodies]
    return _full(ink, ink, _usual_size(line for _, lines in bodies for line in lines))


def _foot(bodies: Sequence[tuple[Page, list[Line]]]) -> EdgeOfBlock | None:
    """The block ends at its last baseline: some programs set the frame to it, and none below the descenders."""
    return _full(
        [min(line.baseline for line in lines) - page.trim[1] for page, lines in bodies],
        [min(line.box[1] for line in lines) - page.trim[1] for page, lines in bodies],
        _usual_size(line for _, lines in bodies for line in lines),
    )


def _full(frame: Sequence[float], ink: Sequence[float], size: float) -> EdgeOfBlock | None:
    """The edge of the pages that are full: many are not, at openings and chapters' ends, but a few agree on it.

    ``frame`` is where the block ends on each page and ``ink`` where its ink does, both from the trimmed edge.
    """
    if not frame:
        return None
    values = sorted(frame)
    enough = FULL_SHARE * len(values)
    usual = next(
        value for at, value in enumerate(values) if sum(other - value <= EDGE_WINDOW for other in values[at:]) >= enough
    )
    hang = max((usual - value for value in ink if usual - value <= FURTHEST_HANG * size), default=0.0)
    return EdgeOfBlock(usual=usual, hang=max(0.0, hang), worst=min(ink))


# Running heads and folios ---------------------------------------------------------------------------------------

SAME_ROW = 3.0
"""Baselines nearer than this are one row: a folio set smaller than the running head beside it."""
APART = 1.35
"""A row further than this many times the usual leading from the next one stands apart from the block. House value."""
NEARLY = 0.5
LEAST_REPEATS = 3
LEAST_SHARE = 0.2

Row = list[Line]


def _rows_from_head(page: Page) -> list[tuple[float, Row]]:
    """Rows of a page with their baselines' distances from the head, nearest first."""
    return _rows(page, lambda line: page.trim[3] - line.baseline)


def _rows_from_foot(page: Page) -> list[tuple[float, Row]]:
    return _rows(page, lambda line: line.baseline - page.trim[1])


def _rows(page: Page, distance: Callable[[Line], float]) -> list[tuple[float, Row]]:
    rows: list[tuple[float, Row]] = []
    for line in sorted(page.lines, key=distance):
        if rows and distance(line) - rows[-1][0] < SAME_ROW:
            rows[-1][1].append(line)
        else:
            rows.append((distance(line), [line]))
    return rows


def _running_line(pages: Sequence[Page], rows_of: Callable[[Page], list[tuple[float, Row]]]) -> RunningLine | None:
    """The row that stands apart in one margin and at the same place on many pages."""
    from_head = rows_of is _rows_from_head
    rows = [(page, rows_of(page)) for page in pages]
    least = APART * _usual_leading(found for _, found in rows)
    apart = [
        (found[0][0], found[0][1], page) for page, found in rows if len(found) > 1 and found[1][0] - found[0][0] > least
    ]
    apart.sort(key=lambda found: found[0])
    first, last = _densest([place for place, _, _ in apart])
    if last - first < max(LEAST_REPEATS, LEAST_SHARE * len(pages)):
        return None
    ink = sorted(_ink_distance(row, page, from_head) for _, row, page in apart[first:last])
    size = _usual_size(line for _, row, _ in apart[first:last] for line in row)
    return RunningLine(usual=ink[len(ink) // 2], worst=ink[0], size=size)


def _usual_leading(pages: Iterable[Sequence[tuple[float, Row]]]) -> float:
    """The median distance from one baseline to the next, in points."""
    gaps = sorted(later[0] - earlier[0] for rows in pages for earlier, later in pairwise(rows))
    return gaps[len(gaps) // 2] if gaps else UNKNOWN_SIZE


def _ink_distance(row: Row, page: Page, from_head: bool) -> float:
    if from_head:
        return page.trim[3] - max(line.box[3] for line in row)
    return min(line.box[1] for line in row) - page.trim[1]


def _without_running_lines(page: Page, header: RunningLine | None, footer: RunningLine | None) -> list[Line]:
    """A page's lines less those that stand where the running heads and folios do."""

    def in_body(line: Line) -> bool:
        return not (_stands_in(header, page.trim[3] - line.box[3]) or _stands_in(footer, line.box[1] - page.trim[1]))

    return [line for line in page.lines if in_body(line)]


def _stands_in(running: RunningLine | None, distance: float) -> bool:
    """Whether ink at this distance from the trimmed edge is part of the running line."""
    return running is not None and running.worst - NEARLY <= distance < running.usual + running.size
