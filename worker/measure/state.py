"""The graphics state (ISO 32000-1 8.4 and 9.3), as far as it decides what prints and where."""

from __future__ import annotations

from dataclasses import dataclass

from worker.measure.colour import GRAY, Space
from worker.measure.fonts import Font
from worker.measure.geometry import IDENTITY, Box, Matrix, Outline
from worker.measure.paint import BLACK, PLAIN, Manner, Paint
from worker.measure.strokes import SOLID, Style


@dataclass
class GraphicsState:
    """``ctm`` leads straight to what a reader sees (points, origin at the trimmed page's lower-left corner)."""

    ctm: Matrix
    clip: Box
    outlines: tuple[Outline, ...] = ()
    """The clip paths within ``clip`` that are no upright rectangles."""
    fill: Paint = BLACK
    stroke: Paint = BLACK
    fill_space: Space = GRAY
    stroke_space: Space = GRAY
    fill_manner: Manner = PLAIN
    stroke_manner: Manner = PLAIN
    """How the colours are laid on; ``fill`` and ``stroke`` are always colours in their manner."""
    fill_alpha: float = 1.0
    stroke_alpha: float = 1.0
    line: Style = SOLID
    font: Font | None = None
    size: float = 0.0
    character_space: float = 0.0
    word_space: float = 0.0
    stretch: float = 1.0
    leading: float = 0.0
    rise: float = 0.0
    mode: int = 0
    text_matrix: Matrix = IDENTITY
    line_matrix: Matrix = IDENTITY

    def copy(self) -> GraphicsState:
        """As it is now. (``copy.copy`` takes four times as long, and some producers save it for every line.)"""
        twin = object.__new__(GraphicsState)
        twin.__dict__.update(self.__dict__)
        return twin
