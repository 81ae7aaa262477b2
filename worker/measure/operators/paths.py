"""Paths: made, painted, clipped to (ISO 32000-1 8.5), and shadings."""

from __future__ import annotations

from worker.measure.content import first_name, numbers
from worker.measure.geometry import (
    IDENTITY,
    Box,
    Outline,
    apply,
    corners,
    fills_its_box,
    is_upright,
    scales,
    transform,
)
from worker.measure.operators.machine import MOST_CORNERS, operator
from worker.measure.operators.patterns import Patterns
from worker.measure.path import Path, flattened
from worker.measure.shading import shading_paint
from worker.measure.strokes import stroked_box

_CURVE_PARTS = 8
_FLAT = 0.01
"""A path no wider or no higher than this, in points, is a level or an upright line."""


class PathOperators(Patterns):
    """``m l c v y re h``, the operators that paint, ``W W*`` and ``sh``."""

    @operator("m")
    def move(self, operands: bytes) -> None:
        at = numbers(operands)
        if len(at) >= 2:
            self.path.move(apply(self.state.ctm, at[-2], at[-1]))

    @operator("l")
    def line(self, operands: bytes) -> None:
        to = numbers(operands)
        if len(to) >= 2:
            self.path.line(apply(self.state.ctm, to[-2], to[-1]))

    @operator("c")
    def curve(self, operands: bytes) -> None:
        points = self._points(operands, 3)
        if points:
            self.path.curve(*points)

    @operator("v")
    def curve_from_here(self, operands: bytes) -> None:
        """The first control point is the point where the pen is."""
        points = self._points(operands, 2)
        if points:
            self.path.curve(self.path.at, *points)

    @operator("y")
    def curve_to_there(self, operands: bytes) -> None:
        """The second control point is the point where the curve ends."""
        points = self._points(operands, 2)
        if points:
            self.path.curve(points[0], points[1], points[1])

    @operator("h")
    def close(self, _: bytes) -> None:
        self.path.close()

    @operator("re")
    def rectangle(self, operands: bytes) -> None:
        values = numbers(operands)
        if len(values) < 4:
            return
        x, y, width, height = values[-4:]
        box = (min(x, x + width), min(y, y + height), max(x, x + width), max(y, y + height))
        if is_upright(self.state.ctm):
            self.path.rectangle(transform(box, self.state.ctm), apply(self.state.ctm, x, y))
        else:
            self._turned_rectangle(box)

    def _turned_rectangle(self, box: Box) -> None:
        first, *others = corners(box, self.state.ctm)
        self.path.move(first)
        for corner in others:
            self.path.line(corner)
        self.path.close()
        wide, high = scales(self.state.ctm)
        self.path.note_thin(wide * (box[2] - box[0]), high * (box[3] - box[1]))

    def _points(self, operands: bytes, count: int) -> list[tuple[float, float]]:
        values = numbers(operands)[-2 * count :]
        if len(values) < 2 * count:
            return []
        return [apply(self.state.ctm, x, y) for x, y in zip(values[::2], values[1::2], strict=True)]

    @operator("W", "W*")
    def clip(self, _: bytes) -> None:
        self.path.clips = True

    @operator("n")
    def end(self, _: bytes = b"") -> None:
        if self.path.clips:
            self.clip_to(self.path.box, self._outline())
        self.path = Path()

    def _outline(self) -> Outline:
        """The path as polygons, where it is more than one upright rectangle."""
        path = self.path
        if not path.trail and len(path.rectangles) <= 1:
            return ()
        outline = [corners(box, IDENTITY) for box in path.rectangles]
        for pieces, _ in path.subpaths():
            points = [point for piece in pieces for point in flattened(piece, _CURVE_PARTS)]
            outline.append([pieces[0][0], *points])
        return () if len(outline) == 1 and fills_its_box(outline[0]) else tuple(outline)

    @operator("f", "F", "f*")
    def fill(self, _: bytes) -> None:
        self._paint_fill()
        self.end()

    @operator("s")
    def close_and_stroke(self, _: bytes) -> None:
        self.path.close()
        self.stroke()

    @operator("S")
    def stroke(self, _: bytes = b"") -> None:
        self._paint_stroke()
        self.end()

    @operator("b", "b*")
    def close_fill_and_stroke(self, _: bytes) -> None:
        self.path.close()
        self.fill_and_stroke()

    @operator("B", "B*")
    def fill_and_stroke(self, _: bytes = b"") -> None:
        self._paint_fill()
        self._paint_stroke()
        self.end()

    def _paint_fill(self) -> None:
        state, path = self.state, self.path
        shape = self._outline() if state.outlines and len(path.trail) <= MOST_CORNERS else ()
        box = self.seen(path.box, shape) if path.box and not self.hidden else None
        if box is None:
            return
        if self.marks.prints(state.fill, box, state.fill_alpha):
            self.marks.add_shape(box, state.fill)
            for thin in path.thin_boxes:
                self.marks.add_rule(thin, box)

    def _paint_stroke(self) -> None:
        state, drawn = self.state, self.path.box
        if drawn is None or self.hidden:
            return
        wide, high = scales(state.ctm)
        half_x, half_y = state.line.width * wide / 2, state.line.width * high / 2
        x0, y0, x1, y1 = drawn
        upright, level = x1 - x0 < _FLAT, y1 - y0 < _FLAT
        covered = stroked_box(self.path, state.line, state.ctm)
        box = self.seen(covered) if covered else None
        if box and self.marks.prints(state.stroke, box, state.stroke_alpha):
            self.marks.add_shape(box, state.stroke)
            self.marks.add_rule(2 * (half_x if upright else half_y if level else min(half_x, half_y)), box)

    @operator("sh")
    def shade(self, operands: bytes) -> None:
        box = self.seen(self.state.clip)
        if box and not self.hidden:
            shading = self.resources.entry("/Shading", first_name(operands))
            paint = shading_paint(shading, self.resources.raw).under(self.state.fill_manner)
            if self.marks.prints(paint, box, self.state.fill_alpha):
                self.marks.add_shape(box, paint)
