"""What a proof draws over a page: trim, live area, hatched marks, measured distances, and that it is a proof.

Everything is in the reader's frame: points from the lower-left corner of the trimmed page, y up.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from worker.measure.geometry import Box
from worker.proof.frame import PageFrame
from worker.proof.letters import cut, encoded, width
from worker.proof.order import PlacedMark
from worker.proof.pen import HAIRLINE, INK, PAPER, QUIET, VERDIGRIS, Pen
from worker.proof.places import Places
from worker.report.geometry import DimensionLine, Point, dimension_line, passing
from worker.words import comma, counted, told

MOST_MARKS = 40
LEAST_SIDE = 1.0
"""Points: a hatched place is at least so wide, so that it can be seen."""

SMALL = 12.0
"""Points: the size of a line of text."""

LETTER = 6.2
"""Points, the size of words on a page of the usual size."""
EDGE = 1.0
"""Points from the edge of the page to the nearest words: between it and what the author has there, be it ever so near.
"""
USUAL_WIDTH = 432.0
LEAST_SCALE, MOST_SCALE = 0.5, 40.0


@dataclass(frozen=True)
class PageMarks:
    """What is to be drawn over one page: ``findings`` are the numbers of all that touch it, marked or not."""

    number: int
    live: Box | None
    marks: tuple[PlacedMark, ...]
    findings: tuple[int, ...]


class Overlay:
    """Draws over one page; :attr:`pen` has what was drawn, :attr:`places` what room is left for notes."""

    def __init__(self, frame: PageFrame, page: PageMarks) -> None:
        self._frame = frame
        self._page = page
        self.scale = _scale(frame.shown)
        self.pen = Pen()
        self.places = Places(_inset(frame.shown, EDGE * self.scale))

    def draw(self) -> None:
        self.pen.outline(self._frame.trim, HAIRLINE, INK)
        self._live_area()
        self._statement()
        marks = self._page.marks[:MOST_MARKS]
        for mark in marks:
            for part in passing(mark.box, self._page.live):
                self._hatched(part, exact=mark.edge is not None)
        lines = [(mark, dimension_line(mark, self._frame.trim)) for mark in marks]
        for mark, line in lines:
            if line is not None and mark.text:
                self._dimension(line)
        told: set[tuple[int, str]] = set()
        for mark, line in lines:
            if line is not None or (mark.finding, mark.text) not in told:  # a distance is written at each place
                self._label(mark, line if mark.text else None)
            told.add((mark.finding, mark.text))

    def _hatched(self, box: Box, *, exact: bool) -> None:
        """A small place is hatched finer, so that what stands in it can still be read; from a little outside, unless
        its edge is what was measured."""
        box = _visible(box)
        if min(box[2] - box[0], box[3] - box[1]) < SMALL and not exact:
            self.pen.hatched(_inset(box, -1.2 * self.scale), max(3.0, 3 * self.scale), 0.15 * self.scale, INK)
        else:
            self.pen.hatched(box, max(3.5, 4 * self.scale), 0.25 * self.scale, INK)

    def _live_area(self) -> None:
        live = self._page.live
        if live is None or live[0] >= live[2] or live[1] >= live[3]:
            return
        self.pen.outline(live, 0.6 * self.scale, VERDIGRIS)
        size = 5.5 * self.scale
        if live[1] - size > self._frame.shown[1]:
            self.pen.words(encoded(told("proof.live-area")), (live[0], live[1] - size), "italic", size, VERDIGRIS)

    def _statement(self) -> None:
        """In the head margin: that this is a proof, which page of the file it is, and which findings touch it."""
        size, room = 5.5 * self.scale, self._frame.shown[2] - self._frame.shown[0] - 12 * self.scale
        proof, page = encoded(told("proof.stamp")), cut(encoded(self._place()), "italic", size, room)
        apart, gap = 0.08 * size, size
        first = width(proof, "roman", size) + apart * len(proof)
        if first > room:
            size, apart, first = size * room / first, apart * room / first, room
        page = cut(page, "italic", size, max(0.0, room - first - gap))
        whole = first + gap + width(page, "italic", size)
        left, right, head = self._frame.shown[0], self._frame.shown[2], self._frame.shown[3]
        corner = ((left + right - whole) / 2 - size / 2, head - EDGE * self.scale - 1.5 * size)
        slip = self.places.take((whole + size, 1.5 * size), [corner])
        self.pen.filled(slip, PAPER)
        base = slip[1] + 0.45 * size
        self.pen.words(proof, (slip[0] + size / 2, base), "roman", size, INK, apart=apart)
        self.pen.words(page, (slip[0] + size / 2 + first + gap, base), "italic", size, QUIET)

    def _place(self) -> str:
        found, page = self._page.findings, self._page.number
        if not found:
            return told("proof.page", page=page)
        return counted("proof.page-findings", len(found), page=page, findings=comma(map(str, found)))

    def _dimension(self, line: DimensionLine) -> None:
        """The line itself, with a short stroke across each end."""
        half, weight = 4 * self.scale, 0.7 * self.scale
        self.pen.line((line.start, line.end), weight, INK)
        for x, y in (line.start, line.end):
            ends = ((x, y - half), (x, y + half)) if line.across else ((x - half, y), (x + half, y))
            self.pen.line(ends, weight, INK)

    def _label(self, mark: PlacedMark, line: DimensionLine | None) -> None:
        """The finding's number and the mark's words on a slip of paper."""
        size = LETTER * self.scale
        number, pad = encoded(str(mark.finding)), 0.4 * size
        most = self._frame.shown[2] - self._frame.shown[0] - 5 * size
        words = cut(encoded(mark.text), "roman", size, max(0.0, most))
        first = width(number, "bold", size)
        gap = 0.5 * size if words else 0
        room = (first + gap + width(words, "roman", size) + 2 * pad, 1.5 * size)
        near = _beside(line, self._page.live, room, size) if line else _around(_visible(mark.box), room)
        slip = self.places.take(room, near)
        self.pen.filled(slip, PAPER)
        self.pen.outline(slip, HAIRLINE, INK)
        base = slip[1] + 0.45 * size
        self.pen.words(number, (slip[0] + pad, base), "bold", size)
        self.pen.words(words, (slip[0] + pad + first + gap, base), "roman", size)


def marks_by_page(marks: Sequence[PlacedMark]) -> dict[int, tuple[PlacedMark, ...]]:
    """The marks of each page that has any, in the order of their findings."""
    found: dict[int, tuple[PlacedMark, ...]] = {}
    for mark in marks:
        found[mark.page] = (*found.get(mark.page, ()), mark)
    return found


def _scale(shown: Box) -> float:
    """How much larger than on the usual page words and lines are."""
    least = min(shown[2] - shown[0], shown[3] - shown[1])
    return max(LEAST_SCALE, min(least / USUAL_WIDTH, MOST_SCALE))


def _inset(box: Box, by: float) -> Box:
    return box[0] + by, box[1] + by, box[2] - by, box[3] - by


def _visible(box: Box) -> Box:
    x0, y0, x1, y1 = box
    return x0, y0, max(x1, x0 + LEAST_SIDE), max(y1, y0 + LEAST_SIDE)


def _beside(line: DimensionLine, live: Box | None, room: tuple[float, float], size: float) -> Iterator[Point]:
    """Lower-left corners just inside the live area from the end of the line, then further along the edge."""
    (x, y), (wide, high) = line.end, room
    x0, y0, x1, y1 = live or (x, y, x, y)
    for step in range(20):
        off = (step + 1) // 2 * (-1 if step % 2 else 1) * 1.2
        match line.edge:
            case "left":
                yield max(x, x0) + size, y - high / 2 + off * high
            case "right":
                yield min(x, x1) - size - wide, y - high / 2 + off * high
            case "head":
                yield x - wide / 2 + off * wide, min(y, y1) - size - high
            case "foot":
                yield x - wide / 2 + off * wide, max(y, y0) + size


def _around(box: Box, room: tuple[float, float]) -> Iterator[Point]:
    """Lower-left corners above the box, below it, beside it, then further up and down."""
    x0, y0, x1, y1 = box
    wide, high = room
    middle, off = (x0 + x1 - wide) / 2, 0.2 * high
    yield middle, y1 + off
    yield middle, y0 - high - off
    yield x1 + off, (y0 + y1 - high) / 2
    yield x0 - wide - off, (y0 + y1 - high) / 2
    for step in range(1, 20):
        yield middle, y1 + off + 1.2 * step * high
        yield middle, y0 - high - off - 1.2 * step * high
