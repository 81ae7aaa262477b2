"""Colour (ISO 32000-1 8.6.8)."""

from __future__ import annotations

from typing import Any

from worker.measure.colour import CMYK, GRAY, RGB, Space
from worker.measure.content import last_name
from worker.measure.operators.machine import Machine, operator


class ColourOperators(Machine):
    """``g G rg RG k K cs CS sc SC scn SCN``."""

    @operator("g")
    def fill_gray(self, operands: bytes) -> None:
        self._set_fill(GRAY, operands)

    @operator("G")
    def stroke_gray(self, operands: bytes) -> None:
        self._set_stroke(GRAY, operands)

    @operator("rg")
    def fill_rgb(self, operands: bytes) -> None:
        self._set_fill(RGB, operands)

    @operator("RG")
    def stroke_rgb(self, operands: bytes) -> None:
        self._set_stroke(RGB, operands)

    @operator("k")
    def fill_cmyk(self, operands: bytes) -> None:
        self._set_fill(CMYK, operands)

    @operator("K")
    def stroke_cmyk(self, operands: bytes) -> None:
        self._set_stroke(CMYK, operands)

    @operator("cs")
    def fill_space(self, operands: bytes) -> None:
        self.state.fill_space = space = self.resources.space(operands)
        self.state.fill = space.first

    @operator("CS")
    def stroke_space(self, operands: bytes) -> None:
        self.state.stroke_space = space = self.resources.space(operands)
        self.state.stroke = space.first

    @operator("sc", "scn")
    def fill_components(self, operands: bytes) -> None:
        self._set_fill(self.state.fill_space, operands)

    @operator("SC", "SCN")
    def stroke_components(self, operands: bytes) -> None:
        self._set_stroke(self.state.stroke_space, operands)

    def _set_fill(self, space: Space, operands: bytes) -> None:
        self.state.fill_space = space
        self.state.fill = space.painted(operands, self._pattern(operands))

    def _set_stroke(self, space: Space, operands: bytes) -> None:
        self.state.stroke_space = space
        self.state.stroke = space.painted(operands, self._pattern(operands))

    def _pattern(self, operands: bytes) -> Any:
        named = last_name(operands) if b"/" in operands else None
        return self.resources.entry("/Pattern", named) if named else None
