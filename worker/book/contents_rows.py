"""Rows of a page that may be of the contents: titles, and the numbers at their ends or before them.

A row is what stands on one baseline of one column. Numbers stand at the right edge, after leaders or not; directly
after their titles; or before them. Lengths are points.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from worker.book.grid import Style, style_of
from worker.book.heads import Body
from worker.book.leaf import SAME_ROW
from worker.book.numerals import Number, number_in
from worker.book.running import densest
from worker.measure.geometry import around
from worker.measure.models import Box, Line

LEAST_ON_PAGE = 2
MOST_LEFT = 4
"""Rows of a page on which a contents ends, where they are no more than an entry or two."""
MOST_ARE_ENTRIES = 0.5
"""Of a page's rows: so many end with a number where it is one of the contents."""
MANY_ARE_ALIGNED = 0.3
"""And so many where all numbers stand at one edge: there may be authors, or a few words about each chapter."""
IN_ORDER = 0.85
"""Of the steps from one entry's number to the next: they go on, or stay."""
SEEM_IN_ORDER = 0.6
ALIGNED = 0.6
"""Of the numbers: so many stand at one edge where they are set in a column."""
EDGE = 0.35
"""Ems by which the ink of figures at one edge differs."""
MOST_ACROSS = 2
"""Lines across a gutter: the heading above two columns."""
MIDDLE = (0.35, 0.65)
LONGEST = 400
"""Letters of a row: what is longer is no entry."""
_LEADERS = " \u00a0\u2002\u2003\u2009.:;·•…_‥‧∙・‐-–—/|~"
_AFTER = " .)]–—-"
_LAST = re.compile(r"(?<![^\W_])(?:\d{1,4}|[ivxlcdm]{1,9}|[IVXLCDM]{1,9})\Z")
_FIRST = re.compile(r"(\d{1,4}|[ivxlcdm]{1,9})[.:·…–—]*\s+(?=\S)")
_IS_PART_OF_WORD = re.compile(r"(?:[^\s.,:;·•…_‥‧∙・‐\-–—/|~]|\d[.,:/‐\-–])\Z")
"""Before a number that is the rest of a word, or of another number: ``2.1``, ``1914-18``."""
_WORDS_FOR_PAGE = frozenset(("p", "pp", "s", "str", "pág", "pag", "стр", "с"))
"""Abbreviations of "page" before the number."""
_LONGEST_NUMBER = 10
_LABEL = re.compile(r"[^\W\d]+\.? (?:\d{1,2}|[IVXLCDM]+)[.:]?")
_DIGITS, _ROMAN = "0123456789", "ivxlcdmIVXLCDM"

Rank = tuple[bool, int]
Parser = Callable[[str], tuple[str, Number | None]]


class Row(NamedTuple):
    """``x`` is its start from the left edge of the block, or of its column; ``number`` None where it bears none."""

    page: int
    column: int
    box: Box
    baseline: float
    x: float
    style: Style
    text: str
    number: Number | None
    whole: str
    """All that it says, the number too."""
    lines: tuple[Line, ...]
    leads: bool
    """Numbers stand before titles."""

    @property
    def rank(self) -> Rank:
        """By which rows are ordered."""
        return rank_of(self.number) if self.number else (False, 0)


def rows_of(body: Body, left: float, before: Row | None = None) -> list[Row]:
    """The rows of a page that looks like one of the contents; none of another.

    ``left`` is the edge of its block, ``before`` the last row of the page before, if that is one of the contents: what
    is left of it may be a single entry.
    """
    lines = body.lines
    for parsed, bears in ((number_after, _ends_with_number), (number_before, _begins_with_number)):
        bearing = [line for line in lines if bears(line)]
        few = before is not None and len(bearing) > 0 and len(lines) <= MOST_LEFT
        if not few and not (_are_enough(len(bearing), lines) and _go_on(bearing, parsed)):
            continue
        rows = [
            _row(body.leaf.number, at, row, left if at == 0 else min(line.box[0] for line in column), parsed)
            for at, column in enumerate(_columns(lines))
            for row in _grouped(column)
        ]
        if parsed is number_after:
            rows = list(_without_strays(rows))
        if is_of_contents(rows) or (before and _are_the_rest(rows, before)):
            return rows
    return []


def _are_the_rest(rows: Sequence[Row], before: Row) -> bool:
    """Whether a few rows go on where the page before ends, each with a number."""
    numbers = [row.rank for row in (before, *rows) if row.number]
    edge = before.box[2]
    are_all = all(row.number and row.leads == before.leads and (_is_at(edge, row) or row.style == before.style)
                  for row in rows)  # fmt: skip
    return are_all and len(rows) <= MOST_LEFT and numbers == sorted(numbers)


def number_after(text: str) -> tuple[str, Number | None]:
    """A row's title and the number at its end, leaders left out."""
    ended = text.rstrip(_AFTER)
    found = _LAST.search(ended, max(0, len(ended) - _LONGEST_NUMBER)) if len(text) <= LONGEST else None
    number = number_in(found[0]) if found else None
    if found is None or number is None:
        return text.strip(_LEADERS), None
    before = ended[: found.start()]
    if _IS_PART_OF_WORD.search(before):
        return text.strip(_LEADERS), None
    title, _, word = before.rstrip(_LEADERS + ",").rpartition(" ")
    if word.lower() not in _WORDS_FOR_PAGE:
        title = before
    return title.strip(_LEADERS + ","), number


def number_before(text: str) -> tuple[str, Number | None]:
    """A row's title and the number before it."""
    found = _FIRST.match(text) if len(text) <= LONGEST else None
    number = number_in(found[1]) if found else None
    title = text[found.end() :] if found else text
    return title.strip(_LEADERS), number if any(map(str.isalpha, title)) else None


def is_label(text: str) -> bool:
    """Whether a row is a word and a small number, as ``Part 2`` and ``Chapter IX``."""
    return _LABEL.fullmatch(text) is not None


def is_of_contents(rows: Sequence[Row]) -> bool:
    """Whether so many rows bear numbers, in such an order, as only those of a contents do."""
    numbers = [row.number for row in rows if row.number]
    least = MANY_ARE_ALIGNED if _edge(rows) is not None and len(numbers) > LEAST_ON_PAGE else MOST_ARE_ENTRIES
    if len(numbers) < max(LEAST_ON_PAGE, least * (len(rows) - 2)):
        return False
    steps = [after.value - before.value for before, after in pairwise(numbers) if before.numerals == after.numerals]
    return sum(step >= 0 for step in steps) >= IN_ORDER * len(steps) and len({each.value for each in numbers}) > 1


def _are_enough(numbers: int, lines: Sequence[Line]) -> bool:
    if numbers < max(LEAST_ON_PAGE, MANY_ARE_ALIGNED / 2 * (len(lines) - 4)):
        return False
    rows = 1 + sum(above.baseline - below.baseline >= SAME_ROW for above, below in pairwise(lines))
    return numbers >= MANY_ARE_ALIGNED * (rows - 2)


def _go_on(lines: Sequence[Line], parsed: Parser) -> bool:
    """Whether numbers of lines seem to go on, those on either half of the page by themselves: a cheap first look."""
    middle = (min(line.box[0] for line in lines) + max(line.box[2] for line in lines)) / 2
    on_right = [(line.box[2 if parsed is number_after else 0] > middle, line) for line in lines]
    steps = on = 0
    for side in (False, True):
        numbers = [number_in(line.text) or parsed(line.text)[1] for right, line in on_right if right == side]
        for one, other in pairwise(number for number in numbers if number):
            steps += 1
            on += one.value <= other.value or one.numerals != other.numerals
    return on >= SEEM_IN_ORDER * steps


def _ends_with_number(line: Line) -> bool:
    """Whether a line may end with a number, as far as a glance tells."""
    text = line.text
    return text[-1] in _DIGITS or (text[-1] in _ROMAN and not text.rpartition(" ")[2].strip(_ROMAN + _LEADERS))


def _begins_with_number(line: Line) -> bool:
    text = line.text
    return text[0] in _DIGITS or (text[0] in _ROMAN and not text.partition(" ")[0].strip(_ROMAN + _LEADERS))


def _columns(lines: Sequence[Line]) -> list[Sequence[Line]]:
    """The lines of the left and of the right column, where there are two that both have titles with numbers."""
    gutter = _gutter(lines)
    if gutter is not None:
        left = [line for line in lines if line.box[0] < gutter]
        right = [line for line in lines if line.box[0] >= gutter]
        if all(sum(map(_is_an_entry, _grouped(column))) >= LEAST_ON_PAGE for column in (left, right)):
            return [left, right]
    return [lines]


def _gutter(lines: Sequence[Line]) -> float | None:
    """Where a second column starts: at the middle start lines that only a heading crosses."""
    x0, x1 = min(line.box[0] for line in lines), max(line.box[2] for line in lines)
    low, high = (x0 + share * (x1 - x0) for share in MIDDLE)
    starts = Counter(round(line.box[0]) for line in lines if low <= line.box[0] <= high)
    for start, count in starts.most_common(1):
        edge = start - 1.0
        if count >= LEAST_ON_PAGE and sum(line.box[0] < edge < line.box[2] for line in lines) <= MOST_ACROSS:
            return edge
    return None


def _is_an_entry(row: Sequence[Line]) -> bool:
    title, number = number_after(" ".join(line.text for line in row))
    return number is not None and any(map(str.isalpha, title))


def _grouped(lines: Sequence[Line]) -> list[list[Line]]:
    rows: list[list[Line]] = []
    for line in lines:
        if rows and abs(rows[-1][0].baseline - line.baseline) < SAME_ROW:
            rows[-1].append(line)
        else:
            rows.append([line])
    return rows


def _row(page: int, column: int, lines: list[Line], left: float, parsed: Parser) -> Row:
    lines.sort(key=lambda line: line.box[0])
    whole = " ".join(line.text for line in lines)
    text, number = parsed(whole)
    box = around([line.box for line in lines]) or lines[0].box
    return Row(
        page=page,
        column=column,
        box=box,
        baseline=lines[0].baseline,
        x=box[0] - left,
        style=style_of(lines[0]),
        text=text,
        number=number,
        whole=whole,
        lines=tuple(lines),
        leads=parsed is number_before,
    )


def _edge(rows: Sequence[Row]) -> float | None:
    """Where the numbers end that are set in a column; None where they are not."""
    ends = sorted(row.box[2] for row in rows if row.number)
    first, last = densest(ends, EDGE * rows[0].style[1] if rows else 0.0)
    return ends[(first + last) // 2] if last - first > ALIGNED * len(ends) else None


def _without_strays(rows: Sequence[Row]) -> Iterator[Row]:
    """The rows, less numbers that are part of a title, as a part's own or a year at the end of a title's first row."""
    edges = {column: _edge([row for row in rows if row.column == column]) for column in {row.column for row in rows}}
    aligned = [row.number is not None and _is_at(edges[row.column], row) for row in rows]
    sure = aligned if any(aligned) else [True] * len(rows)
    for at, row in enumerate(rows):
        if row.number is not None and not aligned[at] and _is_stray(rows, at, sure, in_column=any(aligned)):
            yield row._replace(text=row.whole, number=None)
        else:
            yield row


def _is_stray(rows: Sequence[Row], at: int, sure: Sequence[bool], *, in_column: bool) -> bool:
    """Whether a number off the edge is part of the title: it is out of order, or of a label that goes on no row."""
    row = rows[at]
    is_lone = is_label(row.whole)
    if not _is_in_order(rows, at, sure):
        return in_column or is_lone or (row.number is not None and row.number.numerals != "arabic")
    goes_on = at > 0 and rows[at - 1].number is None and rows[at - 1].style == row.style
    return in_column and is_lone and not goes_on


def _is_at(edge: float | None, row: Row) -> bool:
    return edge is not None and abs(row.box[2] - edge) <= EDGE * row.style[1]


def _is_in_order(rows: Sequence[Row], at: int, sure: Sequence[bool]) -> bool:
    """Whether a number lies between those before and after that are sure; one in capitals, which may be a chapter's,
    beside its like."""
    value, number = rows[at].rank, rows[at].number
    before = next((rows[each].rank for each in range(at - 1, -1, -1) if sure[each] and rows[each].number), None)
    after = next((rows[each].rank for each in range(at + 1, len(rows)) if sure[each] and rows[each].number), None)
    if number and number.numerals == "roman-capitals" and not any(other and not other[0] for other in (before, after)):
        return False
    return (before is None or before <= value) and (after is None or value <= after)


def rank_of(number: Number) -> Rank:
    """By which numbers are ordered: roman ones come first."""
    return number.numerals == "arabic", number.value
