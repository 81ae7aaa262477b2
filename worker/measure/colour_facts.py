"""What a page's marks tell of its colours: which, where, how much ink, what is seen through."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from worker.measure.colour import PROCESS
from worker.measure.geometry import Box, intersection
from worker.measure.marks import PageMarks, Run
from worker.measure.models import (
    ColourPlace,
    InkPlace,
    MarkKind,
    MixedText,
    PageColour,
    Points,
    Transparency,
    TransparencyPlace,
)
from worker.measure.paint import Paint

_ONE_INK = 100.0
_MOST_COLOURS = 24
"""Colours of mixed text of one page that are kept, the heaviest first."""


class _Use(NamedTuple):
    """A colour, what it is used for, and the boxes of its marks in the order in which they are painted."""

    paint: Paint
    of: MarkKind
    boxes: list[Box]
    runs: list[Run]
    uncertain: bool
    """Whether less of it may be seen, or more ink come to it."""


def colour_facts(marks: PageMarks) -> dict[str, Any]:
    """The fields of a ``Page`` that are about colour."""
    paints = marks.paints
    seen_through = _seen_through(marks)
    facts: dict[str, Any] = {
        "colours": tuple(sorted({paint.family for paint in paints})),
        "most_ink": max((paint.ink for paint in paints if paint.ink is not None), default=None),
        "transparency": bool(seen_through),
    }
    if seen_through:
        places = (TransparencyPlace(kind=kind, box=box) for kind, box in seen_through.items())
        facts["transparency_places"] = tuple(places)
    if facts["colours"] not in ((), ("gray",)):
        uses = list(_uses(marks))
        facts["coloured"] = tuple(_coloured(uses, marks.trim))
        facts["ink_places"] = tuple(_heaviest(uses, marks))
        facts["mixed_text"] = tuple(_mixed_text(uses, marks.trim))
    return facts


def _seen_through(marks: PageMarks) -> dict[Transparency, Box]:
    """The first mark of each kind."""
    found = dict(marks.seen_through)
    for paint, runs in marks.text_paints.items():
        if paint.transparency:
            found.setdefault(paint.transparency, runs[0].box)
    for paint, boxes in marks.shape_paints.items():
        if paint.transparency:
            found.setdefault(paint.transparency, boxes[0])
    return found


def _uses(marks: PageMarks) -> Iterator[_Use]:
    for paint, runs in marks.text_paints.items():
        boxes = [run.box for run in runs]
        for colour in paint.colours:
            yield _Use(colour, "text", boxes, runs, _is_uncertain(paint))
    for paint, boxes in marks.shape_paints.items():
        for colour in paint.colours:
            yield _Use(colour, "drawing", boxes, [], _is_uncertain(paint))
    for picture, box, pixels in marks.seen:
        paint = Paint(pixels.colour, False, pixels.ink)
        yield _Use(paint, "picture", [box], [], picture.masked or box != picture.box)


def _is_uncertain(paint: Paint) -> bool:
    return paint.overprints or paint.transparency is not None


def _touches(box: Box, trim: Box) -> bool:
    return intersection(box, trim) is not None


def _first(boxes: list[Box], trim: Box) -> Box | None:
    return next((box for box in boxes if _touches(box, trim)), None)


def _coloured(uses: list[_Use], trim: Box) -> Iterator[ColourPlace]:
    """Each colour but grey, in each kind of mark, once."""
    places: dict[tuple[PageColour, MarkKind], tuple[Box, dict[str, None]]] = {}
    for use in uses:
        box = _first(use.boxes, trim) if use.paint.family != "gray" else None
        if box is None:
            continue
        _, names = places.setdefault((use.paint.family, use.of), (box, {}))
        if use.paint.family == "spot":
            names.update(dict.fromkeys(ink for ink, _ in use.paint.inks if ink not in PROCESS))
    for (colour, of), (box, names) in places.items():
        yield ColourPlace(colour=colour, of=of, box=box, inks=tuple(names))


def _heaviest(uses: list[_Use], marks: PageMarks) -> Iterator[InkPlace]:
    """Of each kind of mark the heaviest, where it asks for more than one full ink."""
    heaviest: dict[MarkKind, tuple[float, Box, _Use]] = {}
    for use in uses:
        ink = use.paint.ink
        if ink is None or ink <= _ONE_INK or (use.of in heaviest and ink <= heaviest[use.of][0]):
            continue
        box = _first(use.boxes, marks.trim)
        if box is not None:
            heaviest[use.of] = ink, box, use
    for of, (ink, box, use) in heaviest.items():
        bound = use.uncertain or _shares_its_place(box, marks)
        yield InkPlace(of=of, percent=ink, box=box, inks=dict(use.paint.inks), bound=bound)


def _shares_its_place(box: Box, marks: PageMarks) -> bool:
    """Whether another mark lies there too."""
    others = (*marks.shapes, *(run.box for run in marks.runs))
    return any(other is not box and _overlap(other, box) for other in others)


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _mixed_text(uses: list[_Use], trim: Box) -> Iterator[MixedText]:
    """Text in several inks, the heaviest first."""
    mixed = [use for use in uses if use.of == "text" and len(use.paint.inks) > 1]
    for use in sorted(mixed, key=lambda use: -(use.paint.ink or 0))[:_MOST_COLOURS]:
        runs = [run for run in use.runs if _touches(run.box, trim)]
        if not runs:
            continue
        least = min(runs, key=lambda run: run.size)
        sizes: tuple[Points, Points] = (least.size, max(run.size for run in runs))
        registration = use.paint.family == "registration"
        yield MixedText(inks=dict(use.paint.inks), registration=registration, sizes=sizes, box=least.box)
