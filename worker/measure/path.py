"""A path on its way (ISO 32000-1 8.5.2): where the pen is, what was drawn so far, and the box around it."""

from __future__ import annotations

from typing import NamedTuple

from worker.measure.geometry import Box, union

THIN = 3.0
"""A box thinner than this, in points, may be a rule."""

Point = tuple[float, float]
Piece = tuple[Point, ...]
"""A straight line (two points) or a cubic Bézier curve (four), from where the pen was."""


class Subpath(NamedTuple):
    """Pieces that hang together; one that is closed has a join where the others have two ends."""

    pieces: list[Piece]
    closed: bool


class Path:
    """In points as a reader sees the page. A point that the pen only moved to is not part of it yet."""

    __slots__ = ("at", "box", "clips", "rectangles", "start", "thin_boxes", "trail")

    def __init__(self) -> None:
        self.box: Box | None = None
        self.at: Point = (0.0, 0.0)
        self.start: Point = (0.0, 0.0)
        self.thin_boxes: list[float] = []
        self.clips = False
        self.rectangles: list[Box] = []
        """Upright ones, which most paths are made of."""
        self.trail: list[Piece | bool] = []
        """All the rest: pieces, False where the pen was moved, True where a subpath was closed."""

    def move(self, to: Point) -> None:
        self.at = self.start = to
        if self.trail:
            self.trail.append(False)

    def line(self, to: Point) -> None:
        x, y = self.at
        p, q = to
        self.trail.append((self.at, to))
        self._grow((x if x < p else p, y if y < q else q, p if x < p else x, q if y < q else y))
        self.at = to

    def curve(self, first: Point, second: Point, to: Point) -> None:
        """A cubic Bézier curve from where the pen is."""
        piece = (self.at, first, second, to)
        self.trail.append(piece)
        self._grow(curve_box(piece))
        self.at = to

    def rectangle(self, box: Box, corner: Point) -> None:
        """An upright rectangle; ``corner`` is where its drawing starts and ends."""
        self._grow(box)
        self.rectangles.append(box)
        self.at = self.start = corner
        if self.trail:
            self.trail.append(False)
        self.note_thin(box[2] - box[0], box[3] - box[1])

    def note_thin(self, width: float, height: float) -> None:
        """Note a rectangle that is thin enough to be a rule."""
        thin = min(width, height)
        if thin < THIN and max(width, height) > thin:
            self.thin_boxes.append(thin)

    def close(self) -> None:
        if self.at != self.start:
            self.line(self.start)
        self.trail.append(True)

    def subpaths(self) -> list[Subpath]:
        """All but the upright rectangles."""
        found: list[Subpath] = []
        pieces: list[Piece] = []
        for part in self.trail:
            if isinstance(part, tuple):
                pieces.append(part)
                continue
            if pieces:
                found.append(Subpath(pieces, part))
            pieces = []
        return [*found, Subpath(pieces, False)] if pieces else found

    def _grow(self, box: Box) -> None:
        self.box = union(self.box, box)


def curve_box(curve: Piece) -> Box:
    """The exact box around a cubic Bézier curve."""
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = curve
    left, right = _reach(x0, x1, x2, x3)
    foot, head = _reach(y0, y1, y2, y3)
    return left, foot, right, head


def flattened(piece: Piece, parts: int) -> list[Point]:
    """Points along a piece, its end among them and its start not; a straight line has no others."""
    if len(piece) == 2:
        return [piece[1]]
    return [_point_on(piece, step / parts) for step in range(1, parts + 1)]


def _point_on(curve: Piece, t: float) -> Point:
    u = 1 - t
    shares = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
    return (
        sum(share * point[0] for share, point in zip(shares, curve, strict=True)),
        sum(share * point[1] for share, point in zip(shares, curve, strict=True)),
    )


def _reach(start: float, first: float, second: float, end: float) -> tuple[float, float]:
    """The least and the greatest value along one axis of a cubic Bézier curve.

    They lie at its ends or where its derivative 3(at² + bt + c) is 0, with a = −p0 + 3p1 − 3p2 + p3,
    b = 2(p0 − 2p1 + p2) and c = p1 − p0.
    """
    low, high = (start, end) if start < end else (end, start)
    if low <= first <= high and low <= second <= high:
        return low, high
    values = turning_values(start, first, second, end)
    return min(low, *values, high), max(high, *values, low)


def turning_values(start: float, first: float, second: float, end: float) -> list[float]:
    """Where, along one axis, a cubic Bézier curve turns back on its way."""
    values = []
    for t in _roots(-start + 3 * first - 3 * second + end, 2 * (start - 2 * first + second), first - start):
        if 0 < t < 1:
            u = 1 - t
            values.append(u * u * u * start + 3 * u * u * t * first + 3 * u * t * t * second + t * t * t * end)
    return values


def _roots(a: float, b: float, c: float) -> tuple[float, ...]:
    """The real roots of at² + bt + c."""
    if abs(a) < 1e-12:
        return (-c / b,) if b else ()
    inside = b * b - 4 * a * c
    if inside < 0:
        return ()
    root = inside**0.5
    return (-b - root) / (2 * a), (-b + root) / (2 * a)
