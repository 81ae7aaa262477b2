"""What one page shows: the marks that would print, gathered as the page is drawn.

Everything is in points as a reader sees the page, origin at the lower-left corner of the trimmed page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from worker.measure.colour import Paint
from worker.measure.fonts import Font
from worker.measure.geometry import Box, around, intersection, is_finite, union

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


class Lacking(NamedTuple):
    """A shown glyph that the font has not: what stands there or the room left free, and the letter that is meant."""

    box: Box
    letter: str
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
    source: Any = None
    """The image XObject, or an inline image's bytes between ``BI`` and ``EI``."""


def _not_known_to_be(_: Picture) -> bool:
    return False


@dataclass
class PageMarks:
    """Gathers marks; white on nothing, and what lies outside ``media``, is none.

    ``is_white`` is asked of each picture. A white one is listed and is no ink, also where it covers what lies beneath.
    """

    media: Box
    trim: Box
    is_white: Callable[[Picture], bool] = _not_known_to_be
    runs: list[Run] = field(default_factory=list)
    lacking: list[Lacking] = field(default_factory=list)
    pictures: list[Picture] = field(default_factory=list)
    thinnest_rule: float | None = None
    transparency: bool = False
    grounds: list[Box] = field(default_factory=list)
    """Where something is painted that white may lie on."""
    _shapes: list[Box] = field(default_factory=list)
    """The ink of all that is no text."""
    _paints: dict[int, Paint] = field(default_factory=dict)
    _picture_colours: set[str] = field(default_factory=set)

    def visible(self, box: Box, clip: Box) -> Box | None:
        """The part of a mark that would print, the box itself where all of it does; None where nothing does.

        ``clip`` lies within the media from the start.
        """
        x0, y0, x1, y1 = box
        if clip[0] <= x0 <= x1 <= clip[2] and clip[1] <= y0 <= y1 <= clip[3]:
            return box
        return intersection(box, clip) if is_finite(box) else None

    def prints(self, paint: Paint, box: Box, alpha: float) -> bool:
        """White prints only where it spares something painted before."""
        if alpha <= 0:
            return False
        return not paint.white or any(_covers(ground, box) for ground in self.grounds)

    @property
    def text(self) -> Box | None:
        """The box of all text."""
        return around([run.box for run in self.runs])

    @property
    def ink(self) -> Box | None:
        """The box of everything."""
        return union(self.text, around(self._shapes))

    @property
    def colours(self) -> set[str]:
        """The families of all colours that print."""
        return {paint.family for paint in self._paints.values()} | self._picture_colours

    @property
    def most_ink(self) -> float | None:
        """The highest sum of inks, in percent, that one mark asks for."""
        return max((paint.ink for paint in self._paints.values() if paint.ink is not None), default=None)

    def add_run(self, run: Run, paint: Paint) -> None:
        self.runs.append(run)
        self._paints[id(paint)] = paint

    def add_picture(self, picture: Picture, box: Box, paint: Paint | None) -> None:
        """A picture, of which ``box`` is seen. A stencil has the paint that it is filled with."""
        self.pictures.append(picture)
        if self.is_white(picture):
            return
        self.grounds.append(box)
        self._shapes.append(box)
        if paint is None:
            self._picture_colours.add(picture.colour.removeprefix("indexed-"))
        else:
            self._paints[id(paint)] = paint

    def add_shape(self, box: Box, paint: Paint) -> None:
        """A filled or stroked path, or a shading."""
        if not paint.white:
            self.grounds.append(box)
        self._shapes.append(box)
        self._paints[id(paint)] = paint

    def add_rule(self, width: float) -> None:
        """A stroke, or a filled box as thin as one: ``width`` in points."""
        self.thinnest_rule = width if self.thinnest_rule is None else min(self.thinnest_rule, width)

    @property
    def reach(self) -> dict[str, float]:
        """How far past each trimmed edge the ink goes that touches or crosses it; the shortest of several marks."""
        ink = self.ink
        if ink is None or self._keeps_clear(ink):
            return {}
        reach: dict[str, float] = {}
        for box in [*self._shapes, *(run.box for run in self.runs)]:
            for edge, beyond in self._past_the_edges(box):
                reach[edge] = min(reach.get(edge, beyond), beyond)
        return reach

    def _keeps_clear(self, box: Box) -> bool:
        x0, y0, x1, y1 = box
        _, _, width, height = self.trim
        return x0 > EDGE and y0 > EDGE and x1 < width - EDGE and y1 < height - EDGE

    def _past_the_edges(self, box: Box) -> Iterator[tuple[str, float]]:
        x0, y0, x1, y1 = box
        _, _, width, height = self.trim
        if x0 >= width or x1 <= 0 or y0 >= height or y1 <= 0:
            return
        if x0 <= EDGE:
            yield "left", -x0
        if y0 <= EDGE:
            yield "foot", -y0
        if x1 >= width - EDGE:
            yield "right", x1 - width
        if y1 >= height - EDGE:
            yield "head", y1 - height


def _covers(ground: Box, box: Box) -> bool:
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    return ground[0] <= x <= ground[2] and ground[1] <= y <= ground[3]
