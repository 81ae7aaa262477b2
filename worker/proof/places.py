"""Room for words and notes on a page, so that none covers another as long as there is room."""

from __future__ import annotations

from collections.abc import Iterable

from worker.measure.geometry import Box
from worker.report.geometry import Point

MOST_TRIED = 60


class Places:
    """What is taken of the area ``within``, which the page shows."""

    def __init__(self, within: Box) -> None:
        self._within = within
        self._taken: list[Box] = []

    def take(self, size: tuple[float, float], corners: Iterable[Point]) -> Box:
        """A box of that size (width, height) at the first free one of the lower-left ``corners``; at the first of them
        where none is free. All are moved onto the page."""
        first: Box | None = None
        for tried, corner in enumerate(corners):
            box = self._moved_in(corner, size)
            first = first or box
            if not any(_overlap(box, taken) for taken in self._taken):
                first = box
                break
            if tried == MOST_TRIED:
                break
        if first is None:
            raise ValueError("no corner was named")
        self._taken.append(first)
        return first

    def _moved_in(self, corner: Point, size: tuple[float, float]) -> Box:
        x0, y0, x1, y1 = self._within
        x = max(x0, min(corner[0], x1 - size[0]))
        y = max(y0, min(corner[1], y1 - size[1]))
        return x, y, x + size[0], y + size[1]


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
