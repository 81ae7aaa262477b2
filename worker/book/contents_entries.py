"""Entries of a contents from its rows: titles over several rows are one, and rows may hold several entries."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from worker.book.contents_rows import Rank, Row, is_label, number_after, rank_of

SAME_INDENT = 4.0
"""Points by which rows of one indent differ: figures are of different widths."""
WRAPPED = 1.45
"""Leadings between the rows of one entry."""
MOST_ROWS = 7
"""Rows of one title before its last."""
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


def drafts_of(rows: Sequence[Row], pages: Pages) -> list[Draft]:
    """The entries of a list, in their order; ``pages``: the pages of the file that bear a folio."""
    groups = list(_joined(rows))
    labelled = sum(map(_has_label, groups))
    if labelled < len(groups) / 2:  # parts, which have no number: a chapter's label would stand above each
        groups = [group[1:] if _has_label(group) else group for group in groups]
    before = [(False, 0), *(group[-1].rank for group in groups)]
    return [draft for group, rank in zip(groups, before, strict=False) for draft in _entries(group, pages, rank)]


def _has_label(group: Sequence[Row]) -> bool:
    """Whether the first of several rows is a word and a number."""
    return len(group) > 1 and is_label(group[0].whole)


def _joined(rows: Sequence[Row]) -> Iterator[tuple[Row, ...]]:
    """The rows of each entry: the number stands in the last."""
    leading = _leading(rows)
    waiting: list[Row] = []
    for row in rows:
        if waiting and not _goes_on(waiting[-1], row, leading):
            waiting = []
        waiting = [*waiting[-MOST_ROWS:], row]
        if row.number is not None:
            if any(each.text for each in waiting):
                yield tuple(waiting)
            waiting = []


def _leading(rows: Sequence[Row]) -> float:
    """The distance between rows that follow close."""
    steps = sorted(
        step for upper, lower in pairwise(rows) if upper.page == lower.page and (step := _step(upper, lower)) > 0
    )
    return steps[len(steps) // 3] if steps else 0.0


def _step(above: Row, below: Row) -> float:
    return above.baseline - below.baseline


def _goes_on(above: Row, row: Row, leading: float) -> bool:
    """Whether a row may be the rest of an entry: it is set alike, close, and not further to the left."""
    return (
        (above.page, above.column) == (row.page, row.column)
        and (not row.text or (above.style == row.style and row.x >= above.x - SAME_INDENT))
        and _step(above, row) <= WRAPPED * leading
    )


def _entries(rows: tuple[Row, ...], pages: Pages, before: Rank) -> list[Draft]:
    """The entry of these rows; or each of those that run on in them, if their numbers go on from the one before:
    ``2.1 Sea 14, 2.2 Land 16``."""
    texts = [row.whole for row in rows[:-1]]
    last = rows[-1]
    number = last.number.text if last.number else ""
    parts = [number_after(part) for part in _RUN_ON.split(_unhyphenated([*texts, f"{last.text} {number}"]))]
    ranks = [before, *(rank_of(each) for _, each in parts if each and each.text in pages)]
    if 1 < len(parts) == len(ranks) - 1 and ranks == sorted(ranks) and all(text for text, _ in parts):
        return [_draft(rows, (text,), each.text, pages) for text, each in parts if each]
    readings = [_unhyphenated([*texts[start:], last.text]) for start in range(len(rows))]
    return [_draft(rows, tuple(text for text in readings if text), number, pages)]


def _draft(rows: tuple[Row, ...], readings: tuple[str, ...], number: str, pages: Pages) -> Draft:
    return Draft(rows, readings, number, _page_after(rows[-1].page, pages.get(number, ())))


def _page_after(contents: int, pages: Sequence[int]) -> int | None:
    """Of the pages that bear a folio, the first after the contents: a file may hold several books."""
    return next((page for page in pages if page > contents), pages[0] if pages else None)


def _unhyphenated(parts: Sequence[str]) -> str:
    text = parts[0]
    for part in parts[1:]:
        text = text[:-1] + part if text.endswith(("-", "\u2010")) and part[:1].islower() else f"{text} {part}"
    return text.strip()
