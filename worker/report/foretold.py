"""How many pages the book takes in another frame, from how its text flows now.

The text is broken anew in the new measure, paragraph by paragraph as their lengths tell; headings, white space and
pictures take the depth that they take; openings that are kept to rectos get their blanks again.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from worker.book.flow import PARTS
from worker.book.models import Book, Flow, Stretch
from worker.judge.book_facts import Built

LEAST_MEASURE, LEAST_LINES = 8.0, 4.0
"""Sizes of the type, and lines: nobody would read a smaller block."""
ROUNDING = 0.02


@dataclass(frozen=True)
class Frame:
    """A text block beside the present one, in points: its ``measure`` and the ``present`` one; ``depth`` leads from the
    first baseline to the lowest that has room, and is None where that stays as it is."""

    measure: float
    present: float
    depth: float | None = None
    drawn_in: float = 0.0
    """As in :class:`worker.report.frames.Seat`."""


def pages_in(book: Book, frame: Frame) -> int | None:
    """The pages that the file has in another frame; None where that cannot be told, or where it holds no text."""
    flow = book.flow
    if flow is None or not flow.stretches:
        return None
    lines = lines_on_page(flow, frame)
    if lines < LEAST_LINES or frame.measure < LEAST_MEASURE * flow.size or frame.present <= 0:
        return None
    growth = _growth(flow, frame)
    count = 0
    for piece in _pieces(book):
        count += piece.on_recto and count % 2
        count += 1 if piece.stretch is None else _pages_of(piece.stretch, growth, lines)
    return count


def _growth(flow: Flow, frame: Frame) -> float:
    if frame.measure == frame.present or not any(flow.paragraphs):
        return 1.0
    return rows_in(flow, frame.measure / frame.present, frame.drawn_in) / rows_in(flow, 1.0)


def rows_in(flow: Flow, share: float, drawn_in: float = 0.0) -> int:
    """The lines of all paragraphs in a measure that is this share of the present one."""
    lengths = ((many, (length - 0.5) / PARTS / share - drawn_in) for length, many in enumerate(flow.paragraphs) if many)
    return sum(many * max(1, math.ceil(measures)) for many, measures in lengths)


def lines_on_page(flow: Flow, frame: Frame) -> float:
    """The lines of a full page in a frame."""
    return flow.lines if frame.depth is None else float(math.floor(1 + frame.depth / flow.leading + ROUNDING))


@dataclass(frozen=True)
class _Piece:
    """A page that is what it is, or a stretch of text."""

    on_recto: bool
    stretch: Stretch | None = None


def _pieces(book: Book) -> Iterator[_Piece]:
    """The book from first to last, without the blanks before openings that are kept to rectos: they come again."""
    built = Built(book, book.pages)
    stretches = {stretch.first: stretch for stretch in book.flow.stretches} if book.flow else {}
    held = {page for each in stretches.values() for page in range(each.first, each.last + 1)}
    opened = [opening.page for opening in built.openings]
    kept = {page for page in opened if page % 2 and (built.keeps_to_rectos or page == min(opened))}
    for page in book.pages:
        if page.page in stretches:
            yield _Piece(page.page in kept, stretches[page.page])
        elif page.page in held and page.kind in ("text", "opening"):
            continue
        elif not (page.page + 1 in kept and built.was_left_blank(page.page)):
            yield _Piece(page.page in kept)


def _pages_of(stretch: Stretch, growth: float, lines: float) -> int:
    """The last page may be filled to the end; of the others a little is left free."""
    depth = stretch.text * growth + stretch.other
    return 1 + max(0, math.ceil((depth - lines) / max(1.0, lines - stretch.left) - ROUNDING))
