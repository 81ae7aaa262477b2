"""Links and other annotations (ISO 32000-1 12.5 and 12.6), and the appearances that print."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

import pikepdf

from worker.measure.active import Acting, on_annotation, on_page
from worker.measure.geometry import IDENTITY, Box, Matrix, normalised, transform
from worker.measure.models import Annotation, Link, LinkKind
from worker.measure.pdfobjects import array, as_text, dictionary, get, integer, name, numbers

_HIDDEN, _PRINT = 2, 4
_KINDS: dict[str | None, LinkKind] = {
    "URI": "uri", "GoTo": "goto", "GoToR": "gotor", "Launch": "launch", "Named": "named", "JavaScript": "javascript",
}  # fmt: skip
_LONGEST_TARGET = 500
_NO_PICTURE_OF_THEIR_OWN = {"Link", "Popup"}


class PageNotes(NamedTuple):
    """What lies over a page: its links, its other annotations, and what of all of them acts by itself."""

    links: list[Link]
    others: list[Annotation]
    acting: list[Acting]


def page_annotations(page: Any, number: int, view: Matrix) -> PageNotes:
    """What lies over a page; a form's widgets and pop-ups are neither links nor others."""
    notes = PageNotes([], [], on_page(page, number))
    for annotation in array(page.get("/Annots")):
        kind = name(get(annotation, "/Subtype"))
        corners = numbers(get(annotation, "/Rect"))
        box = transform(normalised(corners), view) if len(corners) == 4 else None
        notes.acting.extend(on_annotation(annotation, kind, number, box))
        if kind is None or kind in ("Widget", "Popup") or box is None:
            continue
        if kind == "Link":
            what, target = _destination(annotation)
            notes.links.append(Link(page=number, box=box, kind=what, target=target))
        else:
            notes.others.append(Annotation(page=number, box=box, kind=kind))
    return notes


def _destination(annotation: Any) -> tuple[LinkKind, str | None]:
    action = get(annotation, "/A")
    if dictionary(action) is None:
        return ("goto", None) if get(annotation, "/Dest") is not None else ("other", None)
    kind = _KINDS.get(name(get(action, "/S")), "other")
    keys = {"uri": "/URI", "gotor": "/F", "launch": "/F", "named": "/N"}
    target = get(action, keys[kind]) if kind in keys else None
    if isinstance(target, pikepdf.Name):
        return kind, name(target)
    return kind, as_text(target)[:_LONGEST_TARGET] if isinstance(target, pikepdf.String) else None


def printed_appearances(page: Any) -> Iterator[tuple[pikepdf.Stream, Matrix]]:
    """The appearance streams that print, each with the matrix that places it (ISO 32000-1 12.5.5, algorithm 8.1)."""
    for annotation in array(page.get("/Annots")):
        flags = integer(get(annotation, "/F"))
        if flags & _HIDDEN or not flags & _PRINT or name(get(annotation, "/Subtype")) in _NO_PICTURE_OF_THEIR_OWN:
            continue
        appearance = get(get(annotation, "/AP"), "/N")
        state = get(annotation, "/AS")
        if isinstance(appearance, pikepdf.Dictionary) and isinstance(state, pikepdf.Name):
            appearance = get(appearance, state)
        rectangle, bounds = numbers(get(annotation, "/Rect")), numbers(get(appearance, "/BBox"))
        if isinstance(appearance, pikepdf.Stream) and len(rectangle) == 4 and len(bounds) == 4:
            yield appearance, _placement(normalised(rectangle), normalised(bounds), numbers(get(appearance, "/Matrix")))


def _placement(rectangle: Box, bounds: Box, own: list[float]) -> Matrix:
    matrix: Matrix = (own[0], own[1], own[2], own[3], own[4], own[5]) if len(own) == 6 else IDENTITY
    x0, y0, x1, y1 = transform(bounds, matrix)
    across = (rectangle[2] - rectangle[0]) / (x1 - x0) if x1 > x0 else 1.0
    up = (rectangle[3] - rectangle[1]) / (y1 - y0) if y1 > y0 else 1.0
    a, b, c, d, e, f = matrix
    dx, dy = rectangle[0] - x0 * across, rectangle[1] - y0 * up
    return a * across, b * up, c * across, d * up, e * across + dx, f * up + dy
