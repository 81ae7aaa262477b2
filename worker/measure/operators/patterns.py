"""Patterns (ISO 32000-1 8.7): a cell that is laid as tiles, or a shading."""

from __future__ import annotations

from typing import Any

import pikepdf

from worker.measure.geometry import IDENTITY, as_matrix, multiply
from worker.measure.marks import PageMarks
from worker.measure.operators.machine import EVERYTHING, Machine
from worker.measure.paint import NOTHING, Paint, made_of
from worker.measure.pdfobjects import get, identity, integer, numbers, stream_bytes
from worker.measure.shading import shading_paint

_UNCOLOURED = 2


class Patterns(Machine):
    """What other operators need of patterns."""

    def pattern_paint(self, pattern: Any, under: Paint) -> Paint:
        """The paint of a pattern; an uncoloured one is drawn in ``under``."""
        if not isinstance(pattern, pikepdf.Stream):
            return shading_paint(get(pattern, "/Shading"), self.resources.raw, background=True)
        base = self.stack[0].ctm if self.stack else self.state.ctm
        coloured = integer(get(pattern, "/PaintType")) != _UNCOLOURED
        key = identity(pattern), base, None if coloured else under
        if key not in self.cells:
            self.cells[key] = self._of_cell(pattern, base, None if coloured else under)
        paint: Paint = self.cells[key]
        return paint

    def _of_cell(self, pattern: pikepdf.Stream, base: Any, under: Paint | None) -> Paint:
        """The colours of the cell's own marks, and its pictures, each once, at the size that they print."""
        key = identity(pattern)
        if len(self.open) >= self.limits.nesting or key in self.open:
            return NOTHING
        marks = self.marks
        cell = PageMarks(media=EVERYTHING, trim=EVERYTHING, is_white=marks.is_white, pixels_of=marks.pixels_of)
        inner = self.inner(cell, key)
        matrix = as_matrix(numbers(get(pattern, "/Matrix"))) or IDENTITY
        inner.begin(get(pattern, "/Resources"), multiply(matrix, base), EVERYTHING)
        if under is not None:
            inner.state.fill = inner.state.stroke = under
        inner.follow(stream_bytes(pattern))
        return made_of(cell.paints, tuple(cell.pictures), next(iter(cell.seen_through), None))
