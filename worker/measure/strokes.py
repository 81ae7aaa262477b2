"""What a stroke covers (ISO 32000-1 8.4.3 and 8.5.3.2): caps, joins, dashes, and a pen that a matrix may squeeze.

The box around a stroke is the box around the corners of its pieces, the tips of its mitred joins, and the pen itself
where it is put down round: at round caps and joins, and where a curve turns back.
"""

from __future__ import annotations

from itertools import pairwise
from math import hypot, inf
from typing import NamedTuple

from worker.measure.geometry import Box, Matrix, union
from worker.measure.path import Path, Piece, Point, flattened, turning_values

BUTT, ROUND, SQUARE = 0, 1, 2
"""Line caps (Table 54)."""
MITER, ROUND_JOIN = 0, 1
"""Line joins (Table 55); 2 is a bevel, which passes no corner."""
_CURVE_PARTS = 64
"""The straight lines that a dashed curve is taken for; their corners lie along its sides."""
_NO_LENGTH = 1e-9


class Style(NamedTuple):
    """How lines are drawn, lengths in user space. An empty ``dash`` is a solid line."""

    width: float = 1.0
    cap: int = BUTT
    join: int = MITER
    miter_limit: float = 10.0
    dash: tuple[float, ...] = ()
    phase: float = 0.0


def dashes(lengths: list[float], phase: list[float]) -> dict[str, tuple[float, ...] | float]:
    """A dash pattern by the names of a ``Style``; one that is no pattern is a solid line."""
    sound = lengths and min(lengths) >= 0 and 0 < sum(lengths) < inf
    return {"dash": tuple(lengths) if sound else (), "phase": phase[-1] if phase else 0.0}


SOLID = Style()


class Pen:
    """A style under the matrix that holds when a path is stroked."""

    def __init__(self, style: Style, ctm: Matrix) -> None:
        self.style = style
        self.half = style.width / 2
        self._matrix = a, b, c, d = ctm[:4]
        determinant = a * d - b * c
        self._inverse = (d / determinant, -b / determinant, -c / determinant, a / determinant) if determinant else None
        self.reach = self.half * hypot(a, c), self.half * hypot(b, d)
        """How far the pen reaches to each side and up and down."""

    def along(self, direction: Point) -> Point | None:
        """The unit vector of user space along a direction of the page; None where there is none."""
        if self._inverse is None:
            return None
        a, b, c, d = self._inverse
        x, y = direction
        u, v = a * x + c * y, b * x + d * y
        length = hypot(u, v)
        return (u / length, v / length) if length > _NO_LENGTH else None

    def length(self, start: Point, end: Point) -> float:
        """How long a line of the page is in user space."""
        if self._inverse is None:
            return 0.0
        a, b, c, d = self._inverse
        x, y = end[0] - start[0], end[1] - start[1]
        return hypot(a * x + c * y, b * x + d * y)

    def put(self, at: Point, u: float, v: float) -> Point:
        """The point of the page that lies (u, v) halves of the pen's width from ``at``."""
        a, b, c, d = self._matrix
        x, y = u * self.half, v * self.half
        return at[0] + a * x + c * y, at[1] + b * x + d * y


class _Extent:
    """The box that grows around what the pen covers."""

    def __init__(self, pen: Pen) -> None:
        self.pen = pen
        self.box: Box | None = None

    def point(self, at: Point) -> None:
        self.box = union(self.box, (*at, *at))

    def disc(self, at: Point) -> None:
        """The pen put down at a point."""
        self.around((*at, *at))

    def around(self, box: Box) -> None:
        """The pen led all around a box."""
        wide, high = self.pen.reach
        self.box = union(self.box, (box[0] - wide, box[1] - high, box[2] + wide, box[3] + high))

    def square(self, at: Point, along: Point, ahead: float = 0.0) -> None:
        """The two corners of a line's end, ``ahead`` of it by so many halves of its width."""
        u, v = along
        self.point(self.pen.put(at, u * ahead - v, v * ahead + u))
        self.point(self.pen.put(at, u * ahead + v, v * ahead - u))

    def cap(self, at: Point, along: Point) -> None:
        """The end of a line that comes from the other side of ``along``."""
        if self.pen.style.cap == ROUND:
            self.disc(at)
        self.square(at, along, 1.0 if self.pen.style.cap == SQUARE else 0.0)

    def join(self, at: Point, before: Point, after: Point) -> None:
        """Where two pieces meet, whose corners are known already."""
        style = self.pen.style
        if style.join == ROUND_JOIN:
            self.disc(at)
        elif style.join == MITER:
            turn = 1 + before[0] * after[0] + before[1] * after[1]
            if turn > 0 and turn * style.miter_limit**2 >= 2:
                outer = -1.0 if before[0] * after[1] - before[1] * after[0] > 0 else 1.0
                u, v = -(before[1] + after[1]) / turn, (before[0] + after[0]) / turn
                self.point(self.pen.put(at, outer * u, outer * v))


class _Edge(NamedTuple):
    """One piece: its ends, its directions there as unit vectors of user space, and whether it starts smoothly."""

    start: Point
    end: Point
    leaves: Point
    arrives: Point
    curve: Piece | None = None
    smooth: bool = False


def stroked_box(path: Path, style: Style, ctm: Matrix) -> Box | None:
    """The box around a stroked path. Upright rectangles reach half the width past themselves, whichever the join;
    dashes are taken to reach their corners."""
    if len(path.trail) == 1 and not path.rectangles:
        box = _plain_line(path.trail[0], style, ctm)
        if box is not None:
            return box
    extent = _Extent(Pen(style, ctm))
    for rectangle in path.rectangles:
        extent.around(rectangle)
    for pieces, closed in path.subpaths():
        edges = _edges(pieces, extent.pen)
        if not edges:
            _dot(pieces[0][0], extent)
        elif style.dash:
            for chain in _dashed(edges, extent.pen):
                _follow(chain, False, extent)
        else:
            _follow(edges, closed, extent)
    return extent.box


def _plain_line(line: Piece | bool, style: Style, ctm: Matrix) -> Box | None:
    """The box around a solid line that is level or upright, as most are; None where it is something else."""
    a, b, c, d, _, _ = ctm
    if isinstance(line, bool) or len(line) != 2 or style.dash or b or c:
        return None
    (x0, y0), (x1, y1) = line
    if (x0 == x1) == (y0 == y1):
        return None
    wide, high = abs(a) * style.width / 2, abs(d) * style.width / 2
    if style.cap == BUTT:
        wide, high = (wide, 0.0) if x0 == x1 else (0.0, high)
    return min(x0, x1) - wide, min(y0, y1) - high, max(x0, x1) + wide, max(y0, y1) + high


def _dot(at: Point, extent: _Extent) -> None:
    """A subpath without length paints its caps, and none that are butt."""
    if extent.pen.style.cap == ROUND:
        extent.disc(at)
    elif extent.pen.style.cap == SQUARE:
        extent.square(at, (1.0, 0.0), 1.0)
        extent.square(at, (1.0, 0.0), -1.0)


def _edges(pieces: list[Piece], pen: Pen) -> list[_Edge]:
    """The pieces that have any length."""
    edges = []
    for piece in pieces:
        leaves = _first_direction(piece, pen)
        arrives = leaves if len(piece) == 2 else _first_direction(piece[::-1], pen, -1.0)
        if leaves is not None and arrives is not None:
            edges.append(_Edge(piece[0], piece[-1], leaves, arrives, piece if len(piece) > 2 else None))
    return edges


def _first_direction(piece: Piece, pen: Pen, sign: float = 1.0) -> Point | None:
    x, y = piece[0]
    directions = (pen.along((sign * (p - x), sign * (q - y))) for p, q in piece[1:])
    return next((direction for direction in directions if direction is not None), None)


def _follow(edges: list[_Edge], closed: bool, extent: _Extent) -> None:
    """Lead the pen along pieces that hang together."""
    for edge in edges:
        extent.square(edge.start, edge.leaves)
        extent.square(edge.end, edge.arrives)
        if edge.curve is not None:
            _bulge(edge.curve, extent)
    for before, after in pairwise(edges):
        if not after.smooth:
            extent.join(after.start, before.arrives, after.leaves)
    if closed:
        extent.join(edges[0].start, edges[-1].arrives, edges[0].leaves)
    else:
        first, last = edges[0], edges[-1]
        extent.cap(first.start, (-first.leaves[0], -first.leaves[1]))
        extent.cap(last.end, last.arrives)


def _bulge(curve: Piece, extent: _Extent) -> None:
    """Where a curve turns back along an axis, the pen reaches its full half width past it."""
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = curve
    wide, high = extent.pen.reach
    for x in turning_values(x0, x1, x2, x3):
        extent.point((x - wide, y0))
        extent.point((x + wide, y0))
    for y in turning_values(y0, y1, y2, y3):
        extent.point((x0, y - high))
        extent.point((x0, y + high))


class _Dashes:
    """The dash pattern (8.4.3.6), an odd one twice over so that every second length is a gap."""

    def __init__(self, style: Style) -> None:
        self._lengths = style.dash * (1 + len(style.dash) % 2)
        self._whole = sum(self._lengths)
        self.at = style.phase

    def state(self, ahead: float = 0.0) -> tuple[bool, float, float]:
        """Whether ink flows so far ahead, how long it has been so, and how long it stays so."""
        left = (self.at + ahead) % self._whole
        for place, length in enumerate(self._lengths):
            flows = place % 2 == 0
            if left < length or (flows and left == length):
                return flows, left, length - left
            left -= length
        return True, 0.0, self._lengths[0]


def _dashed(edges: list[_Edge], pen: Pen) -> list[list[_Edge]]:
    """What is inked of each straight piece from its first dash to its last, joined where ink flows around a corner."""
    dashes = _Dashes(pen.style)
    chains: list[list[_Edge]] = [[]]
    for edge in (line for piece in edges for line in _straight(piece, pen)):
        length = pen.length(edge.start, edge.end)
        flows, _, stays = dashes.state()
        first = 0.0 if flows else stays
        flows_at_end, has_been, _ = dashes.state(length)
        last = length if flows_at_end else length - has_been
        dashes.at += length
        if first > 0:
            chains.append([])
        if first <= last:
            chains[-1].append(_part(edge, first / length, last / length))
        if last < length:
            chains.append([])
    return [chain for chain in chains if chain]


def _straight(edge: _Edge, pen: Pen) -> list[_Edge]:
    if edge.curve is None:
        return [edge]
    points = [edge.start, *flattened(edge.curve, _CURVE_PARTS)]
    lines = _edges([(start, end) for start, end in pairwise(points)], pen)
    return [line._replace(smooth=at > 0) for at, line in enumerate(lines)]


def _part(edge: _Edge, first: float, last: float) -> _Edge:
    (x0, y0), (x1, y1) = edge.start, edge.end
    across, up = x1 - x0, y1 - y0
    return edge._replace(start=(x0 + first * across, y0 + first * up), end=(x0 + last * across, y0 + last * up))
