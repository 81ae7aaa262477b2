"""The opening pages: what was inspected, how to read the marks, and every finding with its pages and its remedy."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from worker.judge.models import Finding, Weight
from worker.measure.geometry import Box
from worker.proof.letters import Face, cut, encoded, lines, width
from worker.proof.notes import weighed
from worker.proof.order import Order
from worker.proof.pen import HAIR, HAIRLINE, INK, PAPER, QUIET, VERDIGRIS, Colour, Pen
from worker.report.words import so_many, so_many_pages
from worker.words import counted, day, grouped, told

USUAL = (432.0, 648.0)
LARGEST = 1.25
"""Type on a large page grows no further, up to twice that size of page."""
MARGINS = 44.0
"""Points on the usual page, on each side."""
INDENT = 14.0
LEADING = 1.32
LONGEST_TEXT = 1500
"""Letters of a finding's text that are set."""
MOST_PAGES = 60

Draw = Callable[[Pen, float, float], None]
"""Draws a row, given its left edge and its foot."""


@dataclass(frozen=True)
class Row:
    """One line of the list. Where a page ends is not after a row that ``clings`` to the next."""

    height: float
    draw: Draw
    clings: bool = False
    finding: int | None = None


@dataclass
class OpeningPage:
    """One page: what is drawn on it, and where each finding's text stands (boxes in points, from the lower left)."""

    pen: Pen = field(default_factory=Pen)
    places: dict[int, Box] = field(default_factory=dict)


def opening_pages(order: Order) -> list[OpeningPage]:
    """Lay out all that is to be said."""
    return _Layout(order).pages()


class _Layout:
    def __init__(self, order: Order) -> None:
        self._order = order
        self._width, self._height = order.size
        self._scale = _scale(order.size)
        self._margin = min(MARGINS * self._scale, self._width / 8)
        self._measure = self._width - 2 * self._margin

    def pages(self) -> list[OpeningPage]:
        rows = list(self._rows())
        parted = self._parted(rows)
        made = [self._page(part) for part in parted[:MOST_PAGES]]
        for number, page in enumerate(made, 1):
            self._foot(page.pen, number, len(made))
        return made

    def _parted(self, rows: list[Row]) -> list[list[Row]]:
        """The rows of each page; what clings together goes over together, unless it fills a page alone."""
        room = self._height - 2 * self._margin - 14 * self._scale
        parts: list[list[Row]] = [[]]
        left = room
        for together in _clinging(rows):
            if sum(row.height for row in together) > left and parts[-1]:
                parts.append([])
                left = room
            for row in together:
                if row.draw is _nothing and not parts[-1]:
                    continue  # no gap at the head of a page
                parts[-1].append(row)
                left -= row.height
        return parts

    def _page(self, rows: list[Row]) -> OpeningPage:
        page = OpeningPage()
        page.pen.filled((0, 0, self._width, self._height), PAPER)
        y = self._height - self._margin
        for row in rows:
            y -= row.height
            row.draw(page.pen, self._margin, y)
            if row.finding is not None and row.draw is not _nothing:
                x0, x1 = self._margin, self._width - self._margin
                before = page.places.get(row.finding)
                page.places[row.finding] = (x0, y, x1, before[3] if before else y + row.height)
        for number, place in page.places.items():
            self._weight_rule(page.pen, self._order.findings[number - 1].weight, place)
        return page

    def _weight_rule(self, pen: Pen, weight: Weight, place: Box) -> None:
        """The thickness of the rule beside a finding is its weight."""
        x, scale = place[0] + 2 * self._scale, self._scale
        thickness = {Weight.REFUSAL: 3.0, Weight.SPOILAGE: 1.5, Weight.POLISH: 0.75}[weight] * scale
        dash = f"[0.75 {1.5 * scale:.2f}] 0" if weight is Weight.POLISH else "[] 0"
        pen.line(((x, place[1]), (x, place[3])), thickness, INK, dash)

    def _foot(self, pen: Pen, number: int, of: int) -> None:
        size, y = 6.5 * self._scale, self._margin * 0.55
        proof, count = encoded(told("proof.stamp")), encoded(told("proof.foot", number=number, of=of))
        apart = 0.08 * size
        if width(proof, "roman", size) + apart * len(proof) + width(count, "italic", size) > self._measure:
            count = b""
        pen.words(proof, (self._margin, y), "roman", size, INK, apart=apart)
        pen.words(count, (self._width - self._margin - width(count, "italic", size), y), "italic", size, QUIET)

    # What is said.

    def _rows(self) -> Iterator[Row]:
        order = self._order
        yield from self._text(told("proof.lead"), "italic", 8.5, QUIET)
        yield self._gap(8)
        yield from self._text(order.title or order.name, "roman", 20)
        yield from self._text(_of(order), "italic", 9, QUIET)
        yield self._gap(9)
        yield from self._text(order.summary, "bold", 12)
        yield self._gap(9)
        yield self._rule()
        yield from self._key()
        yield self._rule()
        yield self._gap(7)
        weight = None
        for number, finding in enumerate(order.findings, 1):
            if finding.weight is not weight:
                weight = finding.weight
                named = weighed(weight)
                yield from self._text(f"{named[0].upper()}{named[1:]}", "italic", 9.5, INK, clings=True)
                yield self._gap(3, clings=True)
            yield from self._finding(number, finding)
            yield self._gap(7)
        yield from self._ending()

    def _finding(self, number: int, finding: Finding) -> Iterator[Row]:
        def set_as(text: str, face: Face, size: float, colour: Colour = INK, *, clings: bool = False) -> list[Row]:
            text = text if len(text) <= LONGEST_TEXT else f"{text[:LONGEST_TEXT]}…"
            return list(self._text(text, face, size, colour, indent=INDENT, finding=number, clings=clings))

        yield from set_as(told("proof.numbered", number=number, title=finding.title), "bold", 10.5, clings=True)
        yield from set_as(_where(finding), "roman", 9, VERDIGRIS if finding.pages else QUIET, clings=True)
        yield from set_as(finding.detail, "roman", 9)
        yield from set_as(finding.remedy, "italic", 9)

    def _ending(self) -> Iterator[Row]:
        order = self._order
        if not order.findings:
            yield from self._text(told("proof.nothing"), "roman", 10)
            yield self._gap(7)
        if order.not_tried:
            yield from self._text(so_many("proof.not-tried", order.not_tried), "roman", 8.5, QUIET)
        yield from self._text(told("page.caution"), "roman", 8.5, QUIET)

    # How it is set.

    def _text(
        self,
        text: str,
        face: Face,
        size: float,
        colour: Colour = INK,
        *,
        indent: float = 0.0,
        finding: int | None = None,
        clings: bool = False,
    ) -> Iterator[Row]:
        """Lines of text; ``size`` and ``indent`` are those on the usual page."""
        size, indent = size * self._scale, indent * self._scale
        set_lines = list(lines(text, face, size, self._measure - indent))
        for place, line in enumerate(set_lines):

            def draw(pen: Pen, x: float, y: float, line: bytes = line) -> None:
                pen.words(line, (x + indent, y + 0.3 * size), face, size, colour)

            alone = place in (0, len(set_lines) - 2) and len(set_lines) > 1
            yield Row(size * LEADING, draw, clings or alone, finding)

    def _gap(self, height: float, *, clings: bool = False) -> Row:
        return Row(height * self._scale, _nothing, clings)

    def _rule(self) -> Row:
        def draw(pen: Pen, x: float, y: float) -> None:
            pen.line(((x, y), (x + self._measure, y)), HAIRLINE * 2, HAIR)

        return Row(1, draw)

    def _key(self) -> Iterator[Row]:
        """What the marks on the pages mean, each drawn as it is there."""
        specimens: list[tuple[Callable[[Pen, Box, float], None], str]] = [
            (_live_specimen, told("proof.key.live-area")),
            (_hatch_specimen, told("proof.key.hatched")),
            (_dimension_specimen, told("proof.key.distance")),
            (_number_specimen, told("proof.key.number")),
            (_trim_specimen, told("proof.key.trim")),
        ]
        columns = 2 if self._measure > 250 * self._scale else 1
        for first in range(0, len(specimens), columns):
            yield self._key_row(specimens[first : first + columns], self._measure / columns)

    def _key_row(self, specimens: list[tuple[Callable[[Pen, Box, float], None], str]], wide: float) -> Row:
        scale = self._scale

        def draw(pen: Pen, x: float, y: float) -> None:
            for place, (specimen, words) in enumerate(specimens):
                left, size = x + place * wide, 8 * scale
                specimen(pen, (left, y + 3 * scale, left + 26 * scale, y + 15 * scale), scale)
                said = cut(encoded(words), "roman", size, wide - 36 * scale)
                pen.words(said, (left + 33 * scale, y + 6.5 * scale), "roman", size, INK)

        return Row(20 * scale, draw, clings=True)


def _clinging(rows: list[Row]) -> Iterator[list[Row]]:
    """The rows in groups that stay together."""
    together: list[Row] = []
    for row in rows:
        together.append(row)
        if not row.clings:
            yield together
            together = []
    if together:
        yield together


def _nothing(_: Pen, __: float, ___: float) -> None:
    pass


def _live_specimen(pen: Pen, box: Box, scale: float) -> None:
    pen.outline(box, 0.6 * scale, VERDIGRIS)


def _hatch_specimen(pen: Pen, box: Box, scale: float) -> None:
    pen.hatched(box, 4 * scale, 0.25 * scale, INK)


def _trim_specimen(pen: Pen, box: Box, _: float) -> None:
    pen.outline(box, HAIRLINE, INK)


def _dimension_specimen(pen: Pen, box: Box, scale: float) -> None:
    y, half = (box[1] + box[3]) / 2, 4 * scale
    pen.line(((box[0], y), (box[2], y)), 0.7 * scale, INK)
    for x in (box[0], box[2]):
        pen.line(((x, y - half), (x, y + half)), 0.7 * scale, INK)


def _number_specimen(pen: Pen, box: Box, scale: float) -> None:
    size, middle = 7 * scale, (box[0] + box[2]) / 2
    words = encoded("3")
    wide = width(words, "bold", size) + 0.8 * size
    slip = (middle - wide / 2, box[1] + 0.75 * scale, middle + wide / 2, box[1] + 0.75 * scale + 1.5 * size)
    pen.outline(slip, HAIRLINE, INK)
    pen.words(words, (slip[0] + 0.4 * size, slip[1] + 0.45 * size), "bold", size)


def _scale(size: tuple[float, float]) -> float:
    """How much larger than on the usual page the words are."""
    scale = min(size[0] / USUAL[0], size[1] / USUAL[1])
    return scale if scale <= LARGEST else max(LARGEST, scale / 2)


def _of(order: Order) -> str:
    """The file, by its name where its title stands above, and the printer."""
    judged = order.judged_as_pages != len(order.live_areas)
    rest = told(
        f"proof.of.{'judged' if judged else 'file'}",
        so_many=so_many_pages(len(order.live_areas)),
        book=grouped(order.judged_as_pages),
        printer=order.printer,
        day=day(order.made_at),
    )
    return told("proof.of.named", name=order.name, rest=rest) if order.title else rest


def _where(finding: Finding) -> str:
    if not finding.pages:
        return told("proof.whole-file")
    return counted("proof.on-pages", len(finding.pages), pages=finding.page_ranges)
