"""What is drawn over a page's picture: trim, live area, hatched marks, dimension lines and their words."""

from __future__ import annotations

from dataclasses import dataclass

from PIL import Image, ImageDraw

from worker.measure.models import Box
from worker.report.drawing import Drawing, DrawnMark, without_repeats
from worker.report.geometry import DimensionLine, Point, dimension_line, passing
from worker.report.lettering import lettering
from worker.report.words import shown

INK = (32, 36, 44)
PAPER = (251, 248, 241)
VERDIGRIS = (31, 111, 107)
CLEAR = (0, 0, 0, 0)

FINER = 2
"""The overlay is drawn so many times larger and reduced: Pillow's lines have hard edges."""
MOST_MARKS = 40
LEAST_SIDE = 3.0
"""A hatched place is at least so many pixels wide, so that it can be seen."""


@dataclass(frozen=True)
class Frame:
    """From points of the page (y up) to pixels of its picture (y down). ``shown`` is the box the picture shows."""

    shown: Box
    size: tuple[int, int]

    def at(self, point: Point) -> Point:
        x0, y0, x1, y1 = self.shown
        return (
            (point[0] - x0) / (x1 - x0) * self.size[0],
            (y1 - point[1]) / (y1 - y0) * self.size[1],
        )

    def box(self, box: Box) -> tuple[float, float, float, float]:
        """Left, top, right, bottom in pixels."""
        left, bottom = self.at((box[0], box[1]))
        right, top = self.at((box[2], box[3]))
        return left, top, right, bottom


def draw_overlay(picture: Image.Image, frame: Frame, drawing: Drawing) -> Image.Image:
    """``picture`` (RGB) with everything that ``drawing`` asks for drawn over it."""
    finer = Frame(frame.shown, (frame.size[0] * FINER, frame.size[1] * FINER))
    pen = _Pen(finer, width=max(FINER, round(min(finer.size) / 640)))
    if _differs(drawing.trim, frame.shown):
        pen.dashed(drawing.trim)
    if drawing.live_area is not None:
        pen.outline(drawing.live_area, VERDIGRIS, 2)
    marks = without_repeats(drawing.marks[:MOST_MARKS])
    for mark in marks:
        for part in passing(mark.box, drawing.live_area):
            pen.hatched(part)
    for mark in marks:
        pen.measured(mark, dimension_line(mark, drawing.trim), drawing)
    overlay = pen.layer.resize(frame.size, Image.Resampling.BOX)
    return Image.alpha_composite(picture.convert("RGBA"), overlay).convert("RGB")


def _differs(trim: Box, shown: Box) -> bool:
    return any(abs(one - other) > 0.5 for one, other in zip(trim, shown, strict=True))


class _Pen:
    """Draws on a clear layer the size of ``frame``; ``width`` is that of its thinnest line in pixels."""

    def __init__(self, frame: Frame, width: int) -> None:
        self.frame = frame
        self.width = width
        self.layer = Image.new("RGBA", frame.size, CLEAR)
        self.draw = ImageDraw.Draw(self.layer)
        self.letter = max(18.0, min(frame.size) / 26)

    def outline(self, box: Box, colour: tuple[int, int, int], weight: int) -> None:
        left, top, right, bottom = self.frame.box(box)
        if left < right and top < bottom:
            self.draw.rectangle((left, top, right, bottom), outline=(*colour, 255), width=weight * self.width)

    def dashed(self, box: Box) -> None:
        """The trimmed edge, where the picture shows more than the trimmed page."""
        left, top, right, bottom = self.frame.box(box)
        dash = 8 * self.width
        for y in (top, bottom):
            for x in _steps(left, right, 2 * dash):
                self.draw.line((x, y, min(x + dash, right), y), fill=(*INK, 255), width=self.width)
        for x in (left, right):
            for y in _steps(top, bottom, 2 * dash):
                self.draw.line((x, y, x, min(y + dash, bottom)), fill=(*INK, 255), width=self.width)

    def hatched(self, box: Box) -> None:
        """Slanted lines across the box and an outline around it, over whatever the page has there."""
        left, top, right, bottom = self._visible(box)
        step, slant = 7 * self.width, bottom - top
        area = Image.new("RGBA", (max(1, round(right - left)), max(1, round(slant))), CLEAR)
        draw = ImageDraw.Draw(area)
        for x in _steps(-slant, right - left, step):
            draw.line((x, slant, x + slant, 0), fill=(*INK, 255), width=self.width)
        self.layer.alpha_composite(area, (max(0, round(left)), max(0, round(top))))
        self.draw.rectangle((left, top, right, bottom), outline=(*INK, 255), width=self.width)

    def _visible(self, box: Box) -> tuple[float, float, float, float]:
        """The box in pixels, cut to the picture and wide enough to be seen."""
        left, top, right, bottom = self.frame.box(box)
        least = LEAST_SIDE * FINER
        width, height = self.frame.size
        left, top = min(max(0.0, left), width - least), min(max(0.0, top), height - least)
        return left, top, max(min(right, width - 1), left + least), max(min(bottom, height - 1), top + least)

    def measured(self, mark: DrawnMark, line: DimensionLine | None, drawing: Drawing) -> None:
        """The mark's words; where they are a distance, with the line that they measure."""
        if line is not None:
            self._dimension(self.frame.at(line.start), self.frame.at(line.end), line)
        if not mark.text:
            return
        words = lettering(shown(mark.text), self.letter)
        if line is not None:
            self._words(words, self._beside(self.frame.at(line.end), words, line, drawing))
        else:
            left, top, right, _ = self._visible(mark.box)
            self._words(words, ((left + right) / 2, top - words.height))

    def _dimension(self, start: Point, end: Point, line: DimensionLine) -> None:
        half = 9 * self.width
        weight = 2 * self.width
        self.draw.line((*start, *end), fill=(*INK, 255), width=weight)
        for x, y in (start, end):
            across = (x, y - half, x, y + half) if line.across else (x - half, y, x + half, y)
            self.draw.line(across, fill=(*INK, 255), width=weight)

    def _beside(self, end: Point, words: Image.Image, line: DimensionLine, drawing: Drawing) -> Point:
        """The middle of the words: just inside the live area from the end of the line."""
        x, y = end
        room = self.letter * 0.7
        left, top, right, bottom = self.frame.box(drawing.live_area or drawing.trim)
        match line.edge:
            case "left":
                return max(x, left) + room + words.width / 2, y
            case "right":
                return min(x, right) - room - words.width / 2, y
            case "head":
                return x, max(y, top) + room + words.height / 2
            case "foot":
                return x, min(y, bottom) - room - words.height / 2

    def _words(self, words: Image.Image, middle: Point) -> None:
        """Words in ink on a slip of paper, kept on the picture."""
        pad = round(self.letter / 4)
        width, height = self.frame.size
        x = max(pad, min(round(middle[0] - words.width / 2), width - words.width - pad))
        y = max(pad, min(round(middle[1] - words.height / 2), height - words.height - pad))
        slip = (x - pad, y - pad, x + words.width + pad, y + words.height + pad)
        self.draw.rectangle(slip, fill=(*PAPER, 235))
        self.layer.paste((*INK, 255), (x, y), words)


def _steps(start: float, end: float, step: float) -> list[float]:
    return [start + index * step for index in range(max(0, int((end - start) // step) + 1))]
