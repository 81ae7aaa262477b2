"""Pages made by hand, for the reading of the book: a block of lines, and what stands around it."""

from __future__ import annotations

from collections.abc import Iterable

from tests.report.books import page_of
from worker.book.leaf import Leaf, leaf_of
from worker.measure.models import Line, Page

WIDTH, HEIGHT = 432.0, 648.0
INSIDE, OUTSIDE, LEADING = 45.0, 36.0, 14.0
SERIF = "Tern Serif"
HEAD, FOOT = 620.0, 30.0
"""Baselines of what runs above and below the text."""


def line(
    text: str, x0: float, baseline: float, *, x1: float | None = None, size: float = 10.5, font: str = SERIF
) -> Line:
    """A line that starts at ``x0``; half an em a letter where ``x1`` does not say how long it is."""
    end = x0 + len(text) * size / 2 if x1 is None else x1
    return Line(
        box=(x0, baseline - size / 4, end, baseline + size * 0.7), baseline=baseline, text=text, font=font, size=size
    )


def edges(number: int) -> tuple[float, float]:
    """The left and the right edge of the text on a page of a book bound at the left."""
    return (INSIDE, WIDTH - OUTSIDE) if number % 2 else (OUTSIDE, WIDTH - INSIDE)


def text_lines(number: int, rows: int = 36, *, first: float = 582.0, words: str = "The tide was out.") -> list[Line]:
    """Full lines of text from a first baseline down."""
    left, right = edges(number)
    return [line(words, left, first - LEADING * row, x1=right) for row in range(rows)]


def centred(text: str, baseline: float, *, size: float = 9.0, font: str = SERIF) -> Line:
    half = len(text) * size / 4
    return line(text, WIDTH / 2 - half, baseline, size=size, font=font)


def outer(number: int, text: str, baseline: float, *, size: float = 9.0) -> Line:
    """Text at the outer edge of the block."""
    left, right = edges(number)
    return (
        line(text, right - len(text) * size / 2, baseline, size=size)
        if number % 2
        else line(text, left, baseline, size=size)
    )


def page(number: int, lines: Iterable[Line]) -> Page:
    """A page with these lines, in the order in which they are read."""
    ordered = tuple(sorted(lines, key=lambda each: (-each.baseline, each.box[0])))
    return page_of(number, blank=not ordered).model_copy(update={"lines": ordered})


def leaves(pages: Iterable[Page]) -> list[Leaf]:
    return [leaf_of(each) for each in pages]
