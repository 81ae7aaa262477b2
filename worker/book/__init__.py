"""Measurements → how the book is built, read from where its lines stand. Knows no printer profile."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from itertools import groupby

from worker.book.block import text_block
from worker.book.contents import contents_lists
from worker.book.flow import flow_of
from worker.book.folios import counted, folios
from worker.book.grid import Setting, setting_of
from worker.book.heads import Body, bodies_of, running_heads
from worker.book.kinds import Kinds, expected_blanks, kinds_of, plates_of
from worker.book.leaf import leaf_of
from worker.book.models import Book, BookPage, Folio, Grid, NotRead, RunningHead, TextBlock
from worker.book.numerals import Number
from worker.book.openings import openings
from worker.book.paragraphs import stranded
from worker.measure.geometry import around
from worker.measure.models import Line, Measurements

__all__ = ["Book", "read_book"]

WIDEST_INDENT = 3.0
"""Ems by which the first line of a paragraph may stand in. House value."""
_NO_TEXT = "the book has too little text to tell how it is set"
_NO_OPENINGS = NotRead(what="openings", why="no page opens as chapters do")


def read_book(measurements: Measurements) -> Book:
    """Read the book from its measurements, which must have the pages' lines. Pure."""
    leaves = [leaf_of(page) for page in measurements.pages]
    block = text_block(leaves)
    printed = folios(leaves, block)
    numbers = counted(printed, len(leaves))
    bodies = bodies_of(leaves, block, printed)
    heads = running_heads(bodies, printed)
    setting = setting_of(bodies)
    if setting is None:
        return Book(block=block, not_read=tuple(NotRead(what=what, why=_NO_TEXT) for what in _ALL))
    plates = plates_of(bodies, measurements.images)
    lists, no_contents = contents_lists(bodies, setting, block, _pages_of(numbers, printed), plates)
    opened = openings(
        bodies,
        setting,
        with_heads=frozenset(heads),
        contents=[entry for each in lists if each.kind == "contents" for entry in each.entries],
        outline=measurements.document.outline,
        apart=plates.union(*(each.pages for each in lists)),
    )
    kinds = kinds_of(bodies, setting, numbers, opened, lists, measurements.images, plates)
    lone, no_paragraphs = stranded(
        bodies,
        setting,
        block,
        apart=_without_running_text(kinds),
        opened=frozenset(opening.page for opening in opened),
    )
    expected = expected_blanks(kinds)
    return Book(
        block=block,
        folios={page: folio.text for page, folio in printed.items()},
        grid=Grid(leading=setting.leading, head=setting.head, foot=setting.foot),
        pages=tuple(_page(body, kinds, setting, block, printed, numbers, heads, expected) for body in bodies),
        openings=opened,
        contents=lists,
        title=kinds.title,
        imprint=kinds.imprint,
        stranded=lone,
        flow=flow_of(bodies, setting, kinds.of, frozenset(opening.page for opening in opened)),
        not_read=tuple(
            each for each in (no_contents, kinds.not_read, no_paragraphs, None if opened else _NO_OPENINGS) if each
        ),
    )


_ALL = ("running-heads", "openings", "contents", "front-matter", "grid", "paragraphs")


def _pages_of(numbers: Mapping[int, Number], printed: Mapping[int, Folio]) -> dict[str, list[int]]:
    """The pages of each folio, in their order: those that print it, or where none does those that are so counted."""
    pages: dict[str, list[int]] = defaultdict(list)
    for page, folio in sorted(printed.items()):
        pages[folio.text].append(page)
    for text, counted_so in groupby(sorted(numbers), key=lambda page: numbers[page].text):
        if text not in pages:
            pages[text] = list(counted_so)
    return pages


def _without_running_text(kinds: Kinds) -> frozenset[int]:
    return frozenset(
        page for page, kind in kinds.of.items() if kind not in ("text", "opening") or kinds.part(page) == "front"
    )


def _page(
    body: Body,
    kinds: Kinds,
    setting: Setting,
    block: TextBlock,
    printed: Mapping[int, Folio],
    numbers: Mapping[int, Number],
    heads: Mapping[int, RunningHead],
    expected: Mapping[int, bool],
) -> BookPage:
    lines, page = body.lines, body.leaf.number
    number = numbers.get(page)
    return BookPage(
        page=page,
        part=kinds.part(page),
        kind=kinds.of[page],
        folio=printed.get(page),
        counted=number.text if number else None,
        head=heads.get(page),
        box=around([line.box for line in lines]),
        first_baseline=lines[0].baseline if lines else None,
        last_baseline=lines[-1].baseline if lines else None,
        starts_with_text=bool(lines) and _is_text(lines[0], body, setting, block),
        ends_with_text=bool(lines) and _is_text(lines[-1], body, setting, block),
        expected=expected.get(page),
    )


def _is_text(line: Line, body: Body, setting: Setting, block: TextBlock) -> bool:
    """Whether a line is set as the text is, and begins where it does: captions and tables may be of its type too."""
    left = block.odd_left if body.leaf.number % 2 else block.even_left
    indented = line.box[0] - body.leaf.page.trim[0] - (left.usual if left else 0.0)
    return setting.is_text(line) and indented <= WIDEST_INDENT * setting.size
