"""Matrices and boxes (ISO 32000-1 8.3): ``[a b c d e f]`` maps (x, y) to (ax + cy + e, bx + dy + f)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import hypot, isfinite

Matrix = tuple[float, float, float, float, float, float]
Box = tuple[float, float, float, float]

Polygon = list[tuple[float, float]]
Outline = tuple[Polygon, ...]
"""A shape, as the polygons that it is made of."""

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def multiply(first: Matrix, then: Matrix) -> Matrix:
    """The matrix that applies ``first``, and ``then`` to what comes of it."""
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    return (a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u)


def as_matrix(values: Sequence[float]) -> Matrix | None:
    """The last six of these numbers as a matrix; None where there are fewer."""
    if len(values) < 6:
        return None
    a, b, c, d, e, f = values[-6:]
    return a, b, c, d, e, f


def moved(matrix: Matrix, x: float, y: float) -> Matrix:
    """The matrix that first moves by (x, y)."""
    a, b, c, d, e, f = matrix
    return a, b, c, d, a * x + c * y + e, b * x + d * y + f


def apply(matrix: Matrix, x: float, y: float) -> tuple[float, float]:
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f


def transform(box: Box, matrix: Matrix) -> Box:
    """The upright box around ``box`` as ``matrix`` moves it."""
    x0, y0, x1, y1 = box
    a, b, c, d, e, f = matrix
    if not b and not c:
        left, right = a * x0 + e, a * x1 + e
        low, high = d * y0 + f, d * y1 + f
        return (left if left < right else right, low if low < high else high,
                right if left < right else left, high if low < high else low)  # fmt: skip
    xs = (a * x0 + c * y0, a * x0 + c * y1, a * x1 + c * y0, a * x1 + c * y1)
    ys = (b * x0 + d * y0, b * x0 + d * y1, b * x1 + d * y0, b * x1 + d * y1)
    return min(xs) + e, min(ys) + f, max(xs) + e, max(ys) + f


def normalised(corners: Iterable[float]) -> Box:
    """A rectangle given by any two opposite corners (ISO 32000-1 7.9.5), lower-left first."""
    x0, y0, x1, y1 = corners
    return min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)


def intersection(one: Box, other: Box) -> Box | None:
    """What two boxes share; None where they share no area and no line."""
    x0, y0 = max(one[0], other[0]), max(one[1], other[1])
    x1, y1 = min(one[2], other[2]), min(one[3], other[3])
    return (x0, y0, x1, y1) if x0 <= x1 and y0 <= y1 else None


def union(one: Box | None, other: Box | None) -> Box | None:
    """The box around both; either may be missing."""
    if one is None or other is None:
        return one or other
    return min(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), max(one[3], other[3])


def is_upright(matrix: Matrix) -> bool:
    """Whether upright boxes stay upright: the matrix turns by right angles alone."""
    a, b, c, d, _, _ = matrix
    return not (b or c) or not (a or d)


def corners(box: Box, matrix: Matrix) -> Polygon:
    """The corners of a box as ``matrix`` moves them, one after the other."""
    x0, y0, x1, y1 = box
    return [apply(matrix, x, y) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]


def fills_its_box(polygon: Polygon) -> bool:
    """Whether a polygon is an upright rectangle, by its area (the shoelace formula)."""
    xs, ys = [x for x, _ in polygon], [y for _, y in polygon]
    whole = (max(xs) - min(xs)) * (max(ys) - min(ys))
    pairs = zip(polygon, [*polygon[1:], polygon[0]], strict=True)
    return abs(sum(x * v - u * y for (x, y), (u, v) in pairs)) / 2 > 0.999 * whole


def within(outline: Outline, shape: Outline) -> Outline:
    """What of a shape lies in an outline. One that is not convex is cut to the shape's box: holes and bays are not
    looked for."""
    if len(outline) == 1 and _is_convex(outline[0]):
        return tuple(kept for polygon in shape if (kept := _cut(polygon, outline[0])))
    box = around_points(shape)
    return tuple(kept for polygon in outline if (kept := _cut(polygon, corners(box, IDENTITY)))) if box else ()


def around_points(shape: Outline) -> Box | None:
    """The box around all corners of a shape."""
    points = [point for polygon in shape for point in polygon]
    if not points:
        return None
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _turns(polygon: Polygon) -> list[float]:
    """By how much each corner turns, to the left where positive."""
    edges = [(q[0] - p[0], q[1] - p[1]) for p, q in zip(polygon, [*polygon[1:], polygon[0]], strict=True)]
    edges = [(x, y) for x, y in edges if x or y]
    return [x * v - y * u for (x, y), (u, v) in zip(edges, [*edges[1:], *edges[:1]], strict=True)]


def _is_convex(polygon: Polygon) -> bool:
    """Whether all corners turn the same way, and only once around (a star turns twice)."""
    turns = _turns(polygon)
    rightwards = [q[0] > p[0] for p, q in zip(polygon, [*polygon[1:], polygon[0]], strict=True) if q[0] != p[0]]
    changes = sum(one != other for one, other in zip(rightwards, [*rightwards[1:], *rightwards[:1]], strict=True))
    return changes <= 2 and (all(turn >= 0 for turn in turns) or all(turn <= 0 for turn in turns))


def _cut(polygon: Polygon, convex: Polygon) -> Polygon:
    """The part of a polygon within a convex one (Sutherland and Hodgman, 1974)."""
    side = 1.0 if sum(_turns(convex)) > 0 else -1.0
    for p, q in zip(convex, [*convex[1:], convex[0]], strict=True):
        if p != q:
            polygon = _cut_at(polygon, p, (side * (q[0] - p[0]), side * (q[1] - p[1])))
    return polygon


def _cut_at(polygon: Polygon, at: tuple[float, float], along: tuple[float, float]) -> Polygon:
    """The part of a polygon to the left of a line."""
    kept: Polygon = []
    depths = [along[0] * (y - at[1]) - along[1] * (x - at[0]) for x, y in polygon]
    for place, point in enumerate(polygon):
        before, was, now = polygon[place - 1], depths[place - 1], depths[place]
        if (was < 0 < now) or (now < 0 < was):
            share = was / (was - now)
            kept.append((before[0] + share * (point[0] - before[0]), before[1] + share * (point[1] - before[1])))
        if now >= 0:
            kept.append(point)
    return kept


def around(boxes: Sequence[Box]) -> Box | None:
    """The box around all of them; None where there are none."""
    if not boxes:
        return None
    lefts, feet, rights, heads = zip(*boxes, strict=True)
    return min(lefts), min(feet), max(rights), max(heads)


def is_finite(box: Box) -> bool:
    return all(map(isfinite, box))


def scales(matrix: Matrix) -> tuple[float, float]:
    """How long the unit's two sides become."""
    a, b, c, d, _, _ = matrix
    return hypot(a, b), hypot(c, d)
