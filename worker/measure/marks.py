"""What one page shows: the marks that would print, gathered as the page is drawn.

Everything is in points as a reader sees the page, origin at the lower-left corner of the trimmed page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from worker.measure.colour import GRAY, Space, page_colour
from worker.measure.fonts import Font
from worker.measure.geometry import Box, around, intersection, is_finite, union
from worker.measure.models import PageColour, Transparency
from worker.measure.paint import Manner, Paint

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
    space: Space = GRAY
    masked: bool = False
    """Whether a soft mask lets what lies beneath show through."""
    source: Any = None
    """The image XObject, or an inline image's bytes between ``BI`` and ``EI``."""


class Pixels(NamedTuple):
    """What the samples of a picture tell: its colour, and its heaviest sum of inks in percent where it is known."""

    colour: PageColour
    ink: float | None = None


class Seen(NamedTuple):
    """A picture that is seen in ``box``, and what its samples tell."""

    picture: Picture
    box: Box
    pixels: Pixels


def _not_known_to_be(_: Picture) -> bool:
    return False


def _by_its_space(picture: Picture) -> Pixels:
    return Pixels(page_colour(picture.space))


@dataclass
class PageMarks:
    """Gathers marks; white on nothing, and what lies outside ``media``, is none.

    ``is_white`` is asked of each picture. A white one is listed and is no ink, also where it covers what lies beneath.
    """

    media: Box
    trim: Box
    is_white: Callable[[Picture], bool] = _not_known_to_be
    pixels_of: Callable[[Picture], Pixels] = _by_its_space
    runs: list[Run] = field(default_factory=list)
    lacking: list[Lacking] = field(default_factory=list)
    pictures: list[Picture] = field(default_factory=list)
    seen: list[Seen] = field(default_factory=list)
    """The pictures that put ink on the page."""
    thinnest_rule: tuple[float, Box] | None = None
    seen_through: dict[Transparency, Box] = field(default_factory=dict)
    """The first mark of each kind of transparency, the paints' own apart."""
    grounds: list[Box] = field(default_factory=list)
    """Where something is painted that white may lie on."""
    shapes: list[Box] = field(default_factory=list)
    """The ink of all that is no text."""
    text_paints: dict[Paint, list[Run]] = field(default_factory=dict)
    shape_paints: dict[Paint, list[Box]] = field(default_factory=dict)
    """What was painted in which colour."""

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
        if alpha <= 0 or paint.void:
            return False
        return not paint.white or any(_covers(ground, box) for ground in self.grounds)

    @property
    def text(self) -> Box | None:
        """The box of all text."""
        return around([run.box for run in self.runs])

    @property
    def ink(self) -> Box | None:
        """The box of everything."""
        return union(self.text, around(self.shapes))

    @property
    def paints(self) -> tuple[Paint, ...]:
        """All colours that print, those of pictures too, each once."""
        drawn = dict.fromkeys(colour for paint in (*self.text_paints, *self.shape_paints) for colour in paint.colours)
        return *drawn, *(Paint(pixels.colour, False, pixels.ink) for _, _, pixels in self.seen)

    def add_run(self, run: Run, paint: Paint) -> None:
        self.runs.append(run)
        runs = self.text_paints.get(paint)
        if runs is None:
            runs = self.text_paints[paint] = []
        runs.append(run)

    def add_colours(self, run: Run, colours: Iterable[Paint]) -> None:
        """Colours that glyphs of a run, which is added already, bring with them."""
        for paint in colours:
            self.text_paints.setdefault(paint, []).append(run)

    def add_picture(self, picture: Picture, box: Box, manner: Manner) -> None:
        """A picture, of which ``box`` is seen, laid on in that manner."""
        kind: Transparency | None = "soft-mask" if picture.masked else manner.transparency
        if kind:
            self.see_through(kind, box)
        self.pictures.append(picture)
        if self.is_white(picture):
            return
        self.grounds.append(box)
        self.shapes.append(box)
        self.seen.append(Seen(picture, box, self.pixels_of(picture)))

    def add_stencil(self, picture: Picture, box: Box, paint: Paint) -> None:
        """A picture that is a mask through which a colour is painted."""
        self.pictures.append(picture)
        if not self.is_white(picture):
            self.add_shape(box, paint)

    def add_shape(self, box: Box, paint: Paint) -> None:
        """A filled or stroked path, or a shading."""
        if not paint.white:
            self.grounds.append(box)
        self.shapes.append(box)
        self.shape_paints.setdefault(paint, []).append(box)
        for picture in paint.pictures:
            self.pictures.append(picture._replace(box=box))

    def add_rule(self, width: float, box: Box) -> None:
        """A stroke, or a filled box as thin as one: ``width`` in points."""
        if self.thinnest_rule is None or width < self.thinnest_rule[0]:
            self.thinnest_rule = width, box

    def see_through(self, kind: Transparency, box: Box) -> None:
        """Something is seen through."""
        self.seen_through.setdefault(kind, box)

    @property
    def reach(self) -> dict[str, float]:
        """How far past each trimmed edge the ink goes that touches or crosses it; the shortest of several marks."""
        ink = self.ink
        if ink is None or self._keeps_clear(ink):
            return {}
        reach: dict[str, float] = {}
        for box in [*self.shapes, *(run.box for run in self.runs)]:
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
