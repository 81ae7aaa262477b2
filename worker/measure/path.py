"""A path on its way (ISO 32000-1 8.5.2): where the pen is, and the box around what was drawn so far."""

from __future__ import annotations

from worker.measure.geometry import Box, union

THIN = 3.0
"""A box thinner than this, in points, may be a rule."""

Point = tuple[float, float]


class Path:
    """In points as a reader sees the page. A point that the pen only moved to is not part of it yet."""

    __slots__ = ("at", "box", "clips", "start", "thin_boxes")

    def __init__(self) -> None:
        self.box: Box | None = None
        self.at: Point = (0.0, 0.0)
        self.start: Point = (0.0, 0.0)
        self.thin_boxes: list[float] = []
        self.clips = False

    def move(self, to: Point) -> None:
        self.at = self.start = to

    def line(self, to: Point) -> None:
        x, y = self.at
        p, q = to
        self._grow((x if x < p else p, y if y < q else q, p if x < p else x, q if y < q else y))
        self.at = to

    def curve(self, first: Point, second: Point, to: Point) -> None:
        """A cubic Bézier curve from where the pen is."""
        x0, x1 = _reach(self.at[0], first[0], second[0], to[0])
        y0, y1 = _reach(self.at[1], first[1], second[1], to[1])
        self._grow((x0, y0, x1, y1))
        self.at = to

    def rectangle(self, box: Box, corner: Point) -> None:
        self._grow(box)
        self.at = self.start = corner
        width, height = box[2] - box[0], box[3] - box[1]
        thin = min(width, height)
        if thin < THIN and max(width, height) > thin:
            self.thin_boxes.append(thin)

    def close(self) -> None:
        self.at = self.start

    def _grow(self, box: Box) -> None:
        self.box = union(self.box, box)


def _reach(start: float, first: float, second: float, end: float) -> tuple[float, float]:
    """The least and the greatest value along one axis of a cubic Bézier curve.

    They lie at its ends or where its derivative 3(at² + bt + c) is 0, with a = −p0 + 3p1 − 3p2 + p3,
    b = 2(p0 − 2p1 + p2) and c = p1 − p0.
    """
    low, high = (start, end) if start < end else (end, start)
    if low <= first <= high and low <= second <= high:
        return low, high
    for t in _roots(-start + 3 * first - 3 * second + end, 2 * (start - 2 * first + second), first - start):
        if 0 < t < 1:
            u = 1 - t
            value = u * u * u * start + 3 * u * u * t * first + 3 * u * t * t * second + t * t * t * end
            low, high = min(low, value), max(high, value)
    return low, high


def _roots(a: float, b: float, c: float) -> tuple[float, ...]:
    """The real roots of at² + bt + c."""
    if abs(a) < 1e-12:
        return (-c / b,) if b else ()
    inside = b * b - 4 * a * c
    if inside < 0:
        return ()
    root = inside**0.5
    return (-b - root) / (2 * a), (-b + root) / (2 * a)
