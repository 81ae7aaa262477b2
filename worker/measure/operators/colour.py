"""Colour (ISO 32000-1 8.6.8)."""

from __future__ import annotations

from worker.measure.colour import GRAY, Space
from worker.measure.content import last_name
from worker.measure.operators.machine import operator
from worker.measure.operators.patterns import Patterns
from worker.measure.paint import NOTHING, PLAIN, Paint


class ColourOperators(Patterns):
    """``g G rg RG k K cs CS sc SC scn SCN``."""

    @operator("g")
    def fill_gray(self, operands: bytes) -> None:
        self._set_fill(self.resources.gray, operands)

    @operator("G")
    def stroke_gray(self, operands: bytes) -> None:
        self._set_stroke(self.resources.gray, operands)

    @operator("rg")
    def fill_rgb(self, operands: bytes) -> None:
        self._set_fill(self.resources.rgb, operands)

    @operator("RG")
    def stroke_rgb(self, operands: bytes) -> None:
        self._set_stroke(self.resources.rgb, operands)

    @operator("k")
    def fill_cmyk(self, operands: bytes) -> None:
        self._set_fill(self.resources.cmyk, operands)

    @operator("K")
    def stroke_cmyk(self, operands: bytes) -> None:
        self._set_stroke(self.resources.cmyk, operands)

    @operator("cs")
    def fill_space(self, operands: bytes) -> None:
        state = self.state
        state.fill_space = space = self.resources.space(operands)
        state.fill = space.first.under(state.fill_manner)

    @operator("CS")
    def stroke_space(self, operands: bytes) -> None:
        state = self.state
        state.stroke_space = space = self.resources.space(operands)
        state.stroke = space.first.under(state.stroke_manner)

    @operator("sc", "scn")
    def fill_components(self, operands: bytes) -> None:
        self._set_fill(self.state.fill_space, operands)

    @operator("SC", "SCN")
    def stroke_components(self, operands: bytes) -> None:
        self._set_stroke(self.state.stroke_space, operands)

    def _set_fill(self, space: Space, operands: bytes) -> None:
        state = self.state
        paint = self._patterned(space, operands) if space.family == "pattern" else space.painted(operands)
        state.fill_space = space
        state.fill = paint if state.fill_manner is PLAIN else paint.under(state.fill_manner)

    def _set_stroke(self, space: Space, operands: bytes) -> None:
        state = self.state
        paint = self._patterned(space, operands) if space.family == "pattern" else space.painted(operands)
        state.stroke_space = space
        state.stroke = paint if state.stroke_manner is PLAIN else paint.under(state.stroke_manner)

    def _patterned(self, space: Space, operands: bytes) -> Paint:
        """A pattern, with the colour under it where it has none of its own (8.7.3.3)."""
        pattern = self.resources.entry("/Pattern", last_name(operands))
        return self.pattern_paint(pattern, (space.base or GRAY).painted(operands)) if pattern is not None else NOTHING
