"""The text block of a book, read from where its lines stand: the frame that a person sets in a program.

A program sets the frame; a printer looks at the ink. The two differ: hung hyphens and italics stand out of the
frame, descenders hang below the last baseline. What a person types must allow for that, and for no more.
All lengths are points from the trimmed edge.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from worker.measure.models import Box, Line, Measurements, Page
from worker.report.drawing import BindingEdge, inner_edge

EDGE_WINDOW = 1.0
"""Lines whose ends lie within this of each other stand on one edge: side bearings differ by less."""
SHARP_SHARE = 0.4
"""An edge that fewer lines than this stand on is ragged, and tells nothing of the frame. House value."""
FURTHEST_HANG = 0.75
"""Ink further out than this share of the type size is no hung hyphen but something set outside the block."""
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
    """Edges are None in a book without text; ``header`` and ``footer`` are None where none repeats."""

    inside: EdgeOfBlock | None
    outside: EdgeOfBlock | None
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
    inside, outside = _sides(bodies, binding_edge)
    return TextBlock(inside, outside, _head(bodies), _foot(bodies), heads, feet)


def _as_one_line(page: Page, text: Box) -> Page:
    """The page with its text as a single line: its four sides are all that is known of it."""
    line = Line(box=text, baseline=text[1], text="", font="", size=UNKNOWN_SIZE)
    return page.model_copy(update={"lines": (line,)})


def _edge(distances: Iterable[float], furthest: float) -> EdgeOfBlock:
    """The edge that most of these distances agree on; a ragged one stands where its ink does."""
    values = sorted(distances)
    first, last = _densest(values)
    if (last - first) < SHARP_SHARE * len(values):
        return EdgeOfBlock(usual=values[0], hang=0.0, worst=values[0])
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


def _sides(bodies: Sequence[tuple[Page, list[Line]]], binding: BindingEdge) -> tuple[EdgeOfBlock | None, ...]:
    """Inside and outside; left and right line ends are read apart on odd and even pages, then joined."""
    gathered: dict[tuple[str, bool], list[float]] = {}
    for page, lines in bodies:
        odd = page.page % 2 == 1
        inner_is_left = inner_edge(page.page, binding) == "left"
        left = gathered.setdefault(("inside" if inner_is_left else "outside", odd), [])
        right = gathered.setdefault(("outside" if inner_is_left else "inside", odd), [])
        left += (line.box[0] - page.trim[0] for line in lines)
        right += (page.trim[2] - line.box[2] for line in lines)
    furthest = FURTHEST_HANG * _usual_size(line for _, lines in bodies for line in lines)

    def joined(name: str) -> EdgeOfBlock | None:
        return _join([_edge(values, furthest) for (side, _), values in gathered.items() if side == name])

    return joined("inside"), joined("outside")


def _join(edges: Sequence[EdgeOfBlock]) -> EdgeOfBlock | None:
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
    if not bodies:
        return None
    furthest = FURTHEST_HANG * _usual_size(line for _, lines in bodies for line in lines)
    return _edge([page.trim[3] - max(line.box[3] for line in lines) for page, lines in bodies], furthest)


def _foot(bodies: Sequence[tuple[Page, list[Line]]]) -> EdgeOfBlock | None:
    """The block ends at its last baseline: some programs set the frame to it, and none below the descenders."""
    if not bodies:
        return None
    furthest = FURTHEST_HANG * _usual_size(line for _, lines in bodies for line in lines)
    ink = [min(line.box[1] for line in lines) - page.trim[1] for page, lines in bodies]
    baseline = _edge([min(line.baseline for line in lines) - page.trim[1] for page, lines in bodies], furthest)
    hang = max((baseline.usual - value for value in ink if baseline.usual - value <= furthest), default=0.0)
    return EdgeOfBlock(usual=baseline.usual, hang=max(0.0, hang), worst=min(ink))


# Running heads and folios ---------------------------------------------------------------------------------------

SAME_ROW = 3.0
"""Baselines nearer than this are one row: a folio set smaller than the running head beside it."""
APART = 1.5
"""A row further than this many type sizes from the next one stands apart from the block."""
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
    apart: list[tuple[float, Row, Page]] = []
    for page in pages:
        rows = rows_of(page)
        if len(rows) > 1 and rows[1][0] - rows[0][0] > APART * max(line.size for line in rows[0][1]):
            apart.append((rows[0][0], rows[0][1], page))
    apart.sort(key=lambda found: found[0])
    first, last = _densest([place for place, _, _ in apart])
    if last - first < max(LEAST_REPEATS, LEAST_SHARE * len(pages)):
        return None
    ink = sorted(_ink_distance(row, page, from_head) for _, row, page in apart[first:last])
    size = _usual_size(line for _, row, _ in apart[first:last] for line in row)
    return RunningLine(usual=ink[len(ink) // 2], worst=ink[0], size=size)


def _ink_distance(row: Row, page: Page, from_head: bool) -> float:
    if from_head:
        return page.trim[3] - max(line.box[3] for line in row)
    return min(line.box[1] for line in row) - page.trim[1]


def _without_running_lines(page: Page, header: RunningLine | None, footer: RunningLine | None) -> list[Line]:
    """A page's lines less those that stand where the running heads and folios do."""

    def in_body(line: Line) -> bool:
        in_head = header is not None and page.trim[3] - line.box[3] < header.usual + header.size
        in_foot = footer is not None and line.box[1] - page.trim[1] < footer.usual + footer.size
        return not (in_head or in_foot)

    return [line for line in page.lines if in_body(line)]
