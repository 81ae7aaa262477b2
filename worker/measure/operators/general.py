"""The graphics state (ISO 32000-1 8.4.4)."""

from __future__ import annotations

from typing import Any

from worker.measure.content import numbers
from worker.measure.geometry import as_matrix, multiply
from worker.measure.operators.machine import Machine, operator
from worker.measure.paint import laid_on
from worker.measure.strokes import Style, dashes

_DEEPEST_STACK = 10_000


class GeneralOperators(Machine):
    """``q Q cm w J j M d gs``; what else there is in this group moves no mark."""

    @operator("q")
    def save(self, _: bytes) -> None:
        if len(self.stack) < _DEEPEST_STACK:
            self.stack.append(self.state.copy())

    @operator("Q")
    def restore(self, _: bytes) -> None:
        if self.stack:
            self.state = self.stack.pop()

    @operator("cm")
    def concatenate(self, operands: bytes) -> None:
        matrix = as_matrix(numbers(operands))
        if matrix:
            self.state.ctm = multiply(matrix, self.state.ctm)

    @operator("w")
    def line_width(self, operands: bytes) -> None:
        width, line = numbers(operands), self.state.line
        if width and width[-1] != line.width:
            self.state.line = Style(abs(width[-1]), *line[1:])

    @operator("J")
    def line_cap(self, operands: bytes) -> None:
        cap = numbers(operands)
        if cap and cap[-1] != self.state.line.cap:
            self._draw_lines(cap=int(cap[-1]))

    @operator("j")
    def line_join(self, operands: bytes) -> None:
        join = numbers(operands)
        if join and join[-1] != self.state.line.join:
            self._draw_lines(join=int(join[-1]))

    @operator("M")
    def miter_limit(self, operands: bytes) -> None:
        limit = numbers(operands)
        if limit:
            self._draw_lines(miter_limit=limit[-1])

    @operator("d")
    def dash(self, operands: bytes) -> None:
        lengths, _, phase = operands.partition(b"]")
        asked = numbers(lengths.replace(b"[", b" "))
        if asked or self.state.line.dash:
            self._draw_lines(**dashes(asked, numbers(phase)))

    def _draw_lines(self, **asked: Any) -> None:
        self.state.line = self.state.line._replace(**asked)

    @operator("gs")
    def extended_state(self, operands: bytes) -> None:
        """A graphics state parameter dictionary (8.4.5)."""
        asked, state = self.resources.extended_state(operands), self.state
        if asked is None:
            return
        if asked.fill_alpha is not None:
            state.fill_alpha = asked.fill_alpha
        if asked.stroke_alpha is not None:
            state.stroke_alpha = asked.stroke_alpha
        if asked.line:
            self._draw_lines(**asked.line)
        if asked.font is not None:
            state.font, state.size = asked.font
        if asked.fill_manner:
            state.fill_manner, state.fill = laid_on(state.fill, state.fill_manner, asked.fill_manner)
        if asked.stroke_manner:
            state.stroke_manner, state.stroke = laid_on(state.stroke, state.stroke_manner, asked.stroke_manner)
