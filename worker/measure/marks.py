"""What one page shows: the marks that would print, gathered as the page is drawn.

Everything is in points as a reader sees the page, origin at the lower-left corner of the trimmed page.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from worker.measure.colour import Paint
from worker.measure.fonts import Font
from worker.measure.geometry import Box, intersection, is_finite, union

EDGE = 0.5
"""How near to the trimmed edge ink counts as reaching it, in points: what the contract of the measurements says."""


class Run(NamedTuple):
    """Text shown by one operator: the box of its ink, where its baseline starts and ends, and how large it is."""

    box: Box
    start: tuple[float, float]
    end: tuple[float, float]
    text: str
    font: Font
    size: float


class Picture(NamedTuple):
    """One placement of an image, with what its dictionary says."""

    box: Box
    pixels: tuple[int, int]
    ppi: tuple[float, float]
    mask_ppi: tuple[float, float] | None
    colour: str
    bits: int
    filter: str | None
    line_art: bool


@dataclass
class PageMarks:
    """Gathers marks; white on nothing, and what lies outside ``media``, is none."""

    media: Box
    trim: Box
    runs: list[Run] = field(default_factory=list)
    pictures: list[Picture] = field(default_factory=list)
    ink: Box | None = None
    text: Box | None = None
    colours: set[str] = field(default_factory=set)
    most_ink: float | None = None
    thinnest_rule: float | None = None
    transparency: bool = False
    grounds: list[Box] = field(default_factory=list)
    reach: dict[str, float] = field(default_factory=dict)

    def visible(self, box: Box, clip: Box) -> Box | None:
        """The part of a mark that would print; None where there is none."""
        if not is_finite(box):
            return None
        shown = intersection(box, clip)
        return intersection(shown, self.media) if shown else None

    def prints(self, paint: Paint, box: Box, alpha: float) -> bool:
        """White prints only where it spares something painted before."""
        if alpha <= 0:
            return False
        return not paint.white or any(_covers(ground, box) for ground in self.grounds)

    def add_ink(self, box: Box, paint: Paint | None) -> None:
        self.ink = union(self.ink, box)
        self._note_reach(box)
        if paint is not None:
            self.colours.add(paint.family)
            if paint.ink is not None:
                self.most_ink = max(self.most_ink or 0.0, paint.ink)

    def add_run(self, run: Run, paint: Paint) -> None:
        self.runs.append(run)
        self.text = union(self.text, run.box)
        self.add_ink(run.box, paint)

    def add_shape(self, box: Box, paint: Paint) -> None:
        """A filled or stroked path, or a shading."""
        if not paint.white:
            self.grounds.append(box)
        self.add_ink(box, paint)

    def add_rule(self, width: float) -> None:
        """A stroke, or a filled box as thin as one: ``width`` in points."""
        self.thinnest_rule = width if self.thinnest_rule is None else min(self.thinnest_rule, width)

    def _note_reach(self, box: Box) -> None:
        x0, y0, x1, y1 = box
        _, _, width, height = self.trim
        if x0 >= width or x1 <= 0 or y0 >= height or y1 <= 0:
            return
        if x0 <= EDGE:
            self._shortest("left", -x0)
        if y0 <= EDGE:
            self._shortest("foot", -y0)
        if x1 >= width - EDGE:
            self._shortest("right", x1 - width)
        if y1 >= height - EDGE:
            self._shortest("head", y1 - height)

    def _shortest(self, edge: str, beyond: float) -> None:
        self.reach[edge] = min(self.reach.get(edge, beyond), beyond)


def _covers(ground: Box, box: Box) -> bool:
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    return ground[0] <= x <= ground[2] and ground[1] <= y <= ground[3]
