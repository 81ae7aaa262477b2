"""Matrices and boxes (ISO 32000-1 8.3): ``[a b c d e f]`` maps (x, y) to (ax + cy + e, bx + dy + f)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import hypot, isfinite

Matrix = tuple[float, float, float, float, float, float]
Box = tuple[float, float, float, float]

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
