"""The colours of a shading (ISO 32000-1 8.7.4.5), at the ends of its functions and where their pieces meet."""

from __future__ import annotations

from typing import Any

from worker.measure.colour import colour_space, page_colour
from worker.measure.paint import Paint, made_of
from worker.measure.pdfobjects import array, get, integer, numbers, stream_bytes

_DEPTH = 6
_MOST_PIECES = 256
_MOST_SAMPLES = 65_536


def shading_paint(shading: Any, resources: Any, *, background: bool = False) -> Paint:
    """The paint of a shading; its ink is not known where no function that can be told gives its colours."""
    space = colour_space(get(shading, "/ColorSpace"), resources)
    colours = function_ends(get(shading, "/Function"))
    if background and (ground := numbers(get(shading, "/Background"))):
        colours = [*colours, ground]
    if not function_ends(get(shading, "/Function")):
        return made_of((Paint(page_colour(space), False, None),))
    return made_of(tuple(space.paint(colour) for colour in colours))


def function_ends(function: Any, depth: int = 0) -> list[list[float]]:
    """The values of a function (7.10) at its ends and where its pieces meet; empty where they cannot be told.

    Between two of them an exponential function goes straight or in one curve, and so does the sum of its values: the
    heaviest ink is at one of them. A function of type 4, a small program, is not run.
    """
    if depth > _DEPTH:
        return []
    if members := array(function):
        return _side_by_side([function_ends(member, depth + 1) for member in members])
    match integer(get(function, "/FunctionType"), -1):
        case 0:
            return _samples(function)
        case 2:
            return [numbers(get(function, "/C0")) or [0.0], numbers(get(function, "/C1")) or [1.0]]
        case 3:
            pieces = [function_ends(piece, depth + 1) for piece in array(get(function, "/Functions"))[:_MOST_PIECES]]
            return [values for piece in pieces for values in piece] if all(pieces) else []
        case _:
            return []


def _side_by_side(members: list[list[list[float]]]) -> list[list[float]]:
    """One function for each component: what they give together at the first end and at the last."""
    if not all(members):
        return []
    return [[value for member in members for value in member[at]] for at in (0, -1)]


def _samples(function: Any) -> list[list[float]]:
    """A sampled function's values, of 8 bits each and decoded to its range (7.10.2)."""
    ranges = numbers(get(function, "/Decode")) or numbers(get(function, "/Range"))
    count = len(ranges) // 2
    if not count or integer(get(function, "/BitsPerSample")) != 8:
        return []
    data = stream_bytes(function)
    if len(data) > _MOST_SAMPLES:
        return []
    spans = list(zip(ranges[::2], ranges[1::2], strict=False))
    return [
        [low + byte / 255 * (high - low) for byte, (low, high) in zip(data[at : at + count], spans, strict=False)]
        for at in range(0, len(data) - count + 1, count)
    ]
