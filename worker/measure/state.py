"""The graphics state (ISO 32000-1 8.4 and 9.3), as far as it decides what prints and where."""

from __future__ import annotations

import copy
from dataclasses import dataclass

from worker.measure.colour import BLACK, GRAY, Paint, Space
from worker.measure.fonts import Font
from worker.measure.geometry import IDENTITY, Box, Matrix


@dataclass
class GraphicsState:
    """``ctm`` leads straight to what a reader sees (points, origin at the trimmed page's lower-left corner)."""

    ctm: Matrix
    clip: Box
    fill: Paint = BLACK
    stroke: Paint = BLACK
    fill_space: Space = GRAY
    stroke_space: Space = GRAY
    fill_alpha: float = 1.0
    stroke_alpha: float = 1.0
    line_width: float = 1.0
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

    def saved(self) -> GraphicsState:
        return copy.copy(self)
