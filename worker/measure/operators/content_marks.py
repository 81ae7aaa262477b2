"""Marked content (ISO 32000-1 14.6), as far as it hides what does not print (8.11)."""

from __future__ import annotations

from worker.measure.content import last_name
from worker.measure.operators.machine import Machine, operator


class MarkedContentOperators(Machine):
    """``BMC BDC EMC``."""

    @operator("BMC", "BDC")
    def begin_marked(self, operands: bytes) -> None:
        hides = operands.lstrip()[:3] == b"/OC" and self.layers.hides(
            self.resources.entry("/Properties", last_name(operands))
        )
        self.marked.append(hides)
        self.hidden += hides

    @operator("EMC")
    def end_marked(self, _: bytes) -> None:
        if self.marked:
            self.hidden -= self.marked.pop()
