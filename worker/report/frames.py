"""Where the head and the foot of the frame lie that a program sets its lines in: a PDF shows the lines alone.

Word processors keep whole lines within the frame, the room above and below the letters with them. TeX and Typst put
the first line's capitals at its head and may put the last baseline on its foot (their manuals: ``topskip``, and
``top-edge`` and ``bottom-edge`` of text). All lengths are points, from the trimmed edges.
"""

from __future__ import annotations

from dataclasses import dataclass

from worker.book.models import Flow, Grid
from worker.measure.models import Document

BELOW_BASELINE = 0.2
"""Of a line of a word processor, so much is below its baseline (common practice, no source)."""
DRAWN_IN = 0.05
"""Typst sets paragraphs as wholes and avoids a last line of a word (its manual: ``costs`` of text). House value."""
CAPITALS = 0.66
"""Ems from the baseline to the top of capitals (common practice, no source)."""


@dataclass(frozen=True)
class Seat:
    """How lines sit in their frame: from its head down to the first baseline, and from the last one that has room down
    to its foot."""

    above: float
    below: float
    drawn_in: float = 0.0
    """Of the measure: a paragraph whose last line would be no longer is set a line shorter instead."""


def seat_of(document: Document, flow: Flow) -> Seat:
    """As the program sets them that made the file."""
    program = f"{document.creator or ''} {document.producer or ''}"
    if "Typst" in program:
        return Seat(CAPITALS * flow.size, 0.0, DRAWN_IN)
    if "TeX" in program:
        return Seat(flow.size, 0.0)
    below = BELOW_BASELINE * flow.leading
    return Seat(flow.leading - below, below)


def head_of_frame(grid: Grid, seat: Seat) -> float:
    """The head margin that was typed."""
    return grid.head - seat.above
