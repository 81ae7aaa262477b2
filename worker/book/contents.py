"""The contents, and lists of figures and tables: their pages, and the text, level and number of each entry.

A contents is known by rows that end (or begin) with numbers that do not decrease, and by titles that are found again as
headings in the book; no word for it is asked for. An index ends its rows with numbers that go up and down; a list of
figures has entries that are no headings. Rows without a number are no entries.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from worker.book.contents_levels import levels_of
from worker.book.contents_rows import Row, number_after, rows_of
from worker.book.grid import Setting, Style
from worker.book.headings import Headings, Match, Place, Wanted, wanted
from worker.book.heads import Body
from worker.book.models import ContentsEntry, ContentsList, NotRead, TextBlock
from worker.measure.geometry import around
from worker.measure.models import Box

LEAST_ENTRIES = 3
ENOUGH_ENTRIES = 5
"""A list of so many that leads nowhere is said to be one that could not be read."""
FOUND_AGAIN = 0.5
"""Of the entries of a contents: so many are headings somewhere in the book."""
SAME_INDENT = 4.0
"""Points by which rows of one indent differ: figures are of different widths."""
WRAPPED = 1.45
"""Leadings between the rows of one entry."""
NEAR = 12
"""Pages that a list of figures may stand apart from the contents."""
IN_FRONT = 0.2
"""Of the book's pages: a contents stands among the first."""
_RUN_ON = re.compile(r"(?<=\d),\s+|(?<=\d)\s+(?=(?:\d+|[A-Z])(?:\.\d+)+\s)")
"""Between two entries of one row."""

Pages = Mapping[str, Sequence[int]]


class Draft(NamedTuple):
    """An entry that is looked for. ``readings``: its rows as one title, or fewer of them where the first are none of
    it."""

    rows: tuple[Row, ...]
    readings: tuple[str, ...]
    number: str
    target: int | None


class Found(NamedTuple):
    """What an entry says, and where its heading is."""

    draft: Draft
    text: str
    match: Match
    place: Place | None


def contents_lists(
    bodies: Sequence[Body], setting: Setting, block: TextBlock, pages: Pages
) -> tuple[tuple[ContentsList, ...], NotRead | None]:
    """The contents, and the lists beside it; ``pages``: the pages of the file that bear a folio (``xii``, ``12``)."""
    rows = {body.leaf.number: found for body in bodies if (found := rows_of(body, _left_edge(body, block)))}
    if not rows:
        return (), None
    drafts = [(part, _drafts(part, pages)) for run in _runs(sorted(rows)) for part in _parted(rows, run)]
    titles = {page: [row.lines[0] for row in on if row.number is None] for page, on in rows.items()}
    headings = Headings(bodies, setting, titles)
    found = [(part, _on_their_pages(each, headings)) for part, each in drafts if len(each) >= LEAST_ENTRIES]
    known = [(part, _list(part, each, headings, setting)) for part, each in found]
    lists = _kept([each for _, each in known], len(bodies))
    return lists, None if lists else _not_read([each for _, each in known], len(bodies))


def _left_edge(body: Body, block: TextBlock) -> float:
    edge = block.odd_left if body.leaf.number % 2 else block.even_left
    return body.leaf.page.trim[0] + (edge.usual if edge else 0.0)


def _runs(pages: Sequence[int]) -> Iterator[list[int]]:
    """Pages that follow one another, a blank between them aside."""
    run: list[int] = []
    for page in pages:
        if run and page > run[-1] + 2:
            yield run
            run = []
        run.append(page)
    if run:
        yield run


def _parted(rows: Mapping[int, Sequence[Row]], run: Sequence[int]) -> Iterator[list[Row]]:
    """The rows of one list after the other: each has a title before its first entry, and its numbers begin anew."""
    every = [row for page in run for row in rows[page]]
    numbered = [at for at, row in enumerate(every) if row.number]
    start = 0
    for position in range(1, len(numbered)):
        before, at = numbered[position - 1], numbered[position]
        following = [_rank(every[each]) for each in numbered[position : position + 2]]
        if at > before + 1 and all(rank < _rank(every[before]) for rank in following):
            title = _title_before(every, before, at)
            yield every[start:title]
            start = title
    yield every[start:]


def _rank(row: Row) -> tuple[bool, int]:
    return (row.number.numerals == "arabic", row.number.value) if row.number else (False, 0)


def _title_before(rows: Sequence[Row], before: int, at: int) -> int:
    """Where the title of a list stands that begins between two entries: its largest row, or the first on its page."""
    return max(range(before + 1, at), key=lambda each: (rows[each].style[1], -each))
