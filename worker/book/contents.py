"""The contents, and lists of figures and tables: their pages, and the text, level and number of each entry.

A contents is known by rows that end (or begin) with numbers that do not decrease, and by titles that are found again as
headings in the book; no word for it is asked for. An index ends its rows with numbers that go up and down; a list of
figures has entries that are no headings.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

from worker.book.grid import LARGER, Setting, Style, style_of
from worker.book.heads import Body
from worker.book.leaf import SAME_ROW
from worker.book.models import ContentsEntry, ContentsList, TextBlock
from worker.book.numerals import Number, number_in
from worker.book.wording import plain_letters, without_number
from worker.measure.geometry import around
from worker.measure.models import Box, Line

LEAST_ENTRIES = 3
LEAST_ON_PAGE = 2
MOST_ARE_ENTRIES = 0.5
"""Of a page's rows: so many end with a number where it is one of the contents."""
IN_ORDER = 0.85
"""Of the steps from one entry's number to the next: they go on, or stay."""
FOUND_AGAIN = 0.5
"""Of the entries of a contents: so many are headings somewhere in the book."""
SAME_INDENT = 4.0
"""Entries indented by no more than this, in points, are of one level: figures are of different widths."""
WRAPPED = 1.45
"""Leadings between the rows of one entry."""
_NUMBERED = re.compile(r"(.*?\S)(?:[\s.,:·•…_‥‧∙]{2,}|\s|(?<=[.…·_])|·)(\d{1,4}|[ivxlcdm]{1,9}|[IVXLCDM]{1,9})")
_BEGUN = re.compile(r"(\d{1,4}|[ivxlcdm]{1,9})\s+(\S.*)")
_LEADERS = " .,:·•…_‥‧∙"
_DIGITS, _ROMAN = frozenset("0123456789"), frozenset("ivxlcdmIVXLCDM")
_LEAST_NUMBERED = 0.2
"""Of a page's lines: the number may be a line of its own, at the right edge."""
_RUN_ON = re.compile(r"(?<=\d),\s+")
_ENOUGH_PAGES = 60
_KEY = 10
_ENOUGH = 24
"""Letters of a title that are compared: a heading may go on, or be broken otherwise."""
_FIRST_LINES = 3
_LONGEST = 120
_NEAR = 12
"""Pages that a list of figures may stand apart from the contents."""
_OF_THE_TEXT = 0.06
"""A style of so many lines is the text's own, and no heading's."""


_Parser = Callable[[str], tuple[str, Number | None]]


class _Row(NamedTuple):
    """A row of a page of the contents; ``number`` is None where it bears none."""

    page: int
    box: Box
    baseline: float
    x: float
    """Its start, from the left edge of the block."""
    style: Style
    text: str
    number: Number | None


class Headings:
    """Where headings stand: lines at the head of pages, or in other type than the text.

    The page that an entry leads to is looked at first; all others only once a heading is not there.
    """

    def __init__(self, bodies: Sequence[Body], apart: frozenset[int]) -> None:
        sample = bodies[:: max(1, len(bodies) // _ENOUGH_PAGES)]
        styles = Counter(style_of(line) for body in sample for line in body.lines)
        self._usual = {style for style, count in styles.items() if count >= _OF_THE_TEXT * styles.total()}
        self._bodies = {body.leaf.number: body for body in bodies if body.leaf.number not in apart}
        self._apart = apart
        self._of_page: dict[int, list[str]] = {}

    def page_of(self, text: str, near: int | None) -> int | None:
        """The page where such a heading stands: the nearest to ``near``, or the first; None where there is none."""
        wanted = {
            letters[:_ENOUGH] for letters in (plain_letters(text), plain_letters(without_number(text))) if letters
        }
        if near is not None and (near in self._apart or self._stands_on(near, wanted)):
            return near  # the contents lists itself, and the lists that follow
        pages = {page for page in self._by_key_of(wanted) if self._stands_on(page, wanted)}
        if pages:
            return min(pages) if near is None else min(pages, key=lambda page: (abs(page - near), page))
        return near if near is not None and self._is_any_line_of(near, wanted) else None

    def _stands_on(self, page: int, wanted: Iterable[str]) -> bool:
        headings = self._headings_of(page)
        return any(heading.startswith(letters) for letters in wanted for heading in headings)

    def _headings_of(self, page: int) -> list[str]:
        """The letters of the headings of a page, each with the line below it, with its number and without."""
        known = self._of_page.get(page)
        if known is None:
            body = self._bodies.get(page)
            known = self._of_page[page] = list(self._read(body.lines)) if body else []
        return known

    def _read(self, lines: Sequence[Line]) -> Iterator[str]:
        for at, line in enumerate(lines):
            if at < _FIRST_LINES or style_of(line) not in self._usual:
                text = f"{line.text} {lines[at + 1].text}" if at + 1 < len(lines) else line.text
                yield plain_letters(text[:_LONGEST])
                bare = without_number(text)
                if bare is not text:
                    yield plain_letters(bare[:_LONGEST])

    def _by_key_of(self, wanted: Iterable[str]) -> Iterator[int]:
        """Pages that may have such a heading, by its first letters."""
        for letters in wanted:
            if len(letters) >= _KEY:
                yield from self._by_key.get(letters[:_KEY], ())
            else:
                yield from self._bodies

    @cached_property
    def _by_key(self) -> dict[str, list[int]]:
        pages: dict[str, list[int]] = defaultdict(list)
        for page in self._bodies:
            for heading in self._headings_of(page):
                pages[heading[:_KEY]].append(page)
        return pages

    def _is_any_line_of(self, page: int, wanted: Iterable[str]) -> bool:
        body = self._bodies.get(page)
        lines = [plain_letters(line.text[:_LONGEST]) for line in body.lines] if body else []
        return any(len(letters) > 2 and line.startswith(letters) for letters in wanted for line in lines)


def contents_lists(
    bodies: Sequence[Body], setting: Setting, block: TextBlock, pages: Mapping[str, Sequence[int]]
) -> tuple[ContentsList, ...]:
    """The contents, and the lists beside it; ``pages``: the pages of the file that bear a folio (``xii``, ``12``)."""
    rows_of = {body.leaf.number: rows for body in bodies if (rows := _contents_rows(body, block))}
    if not rows_of:
        return ()
    lists = [rows for run in _runs(sorted(rows_of)) for rows in _parted([rows_of[page] for page in run], setting)]
    headings = Headings(bodies, apart=frozenset(rows_of))
    made = [_list(rows, headings, pages) for rows in lists]
    known = [each for each in made if each and len(each.entries) >= LEAST_ENTRIES]
    contents = [each for each in known if each.kind == "contents"]
    if not contents:
        return ()
    first, last = contents[0].pages[0], contents[-1].pages[-1]
    return tuple(each for each in known if each.kind == "contents" or _is_a_list(each, first, last))


def _is_a_list(each: ContentsList, first: int, last: int) -> bool:
    """Whether it stands by the contents, as those of figures and tables do, and leads to pages of the book."""
    leads = sum(entry.target is not None for entry in each.entries)
    return first - _NEAR <= each.pages[0] <= last + _NEAR and leads >= FOUND_AGAIN * len(each.entries)


def _contents_rows(body: Body, block: TextBlock) -> list[_Row]:
    """The rows of a page that looks like one of the contents; none of another."""
    lines = body.lines
    if sum(map(_may_be_an_entry, lines)) < max(LEAST_ON_PAGE, _LEAST_NUMBERED * len(lines)):
        return []
    left = _left_edge(body, block)
    grouped = _grouped(lines)
    for parsed in (_ending, _beginning):
        rows = [_row(body.leaf.number, row, left, parsed) for row in grouped]
        if _is_of_contents(rows):
            return rows
    return []


def _may_be_an_entry(line: Line) -> bool:
    text = line.text
    if text[0] in _DIGITS or text[-1] in _DIGITS:
        return True
    return text[-1] in _ROMAN and number_in(text.rpartition(" ")[2]) is not None


def _left_edge(body: Body, block: TextBlock) -> float:
    edge = block.odd_left if body.leaf.number % 2 else block.even_left
    return body.leaf.page.trim[0] + (edge.usual if edge else 0.0)


def _grouped(lines: Sequence[Line]) -> list[list[Line]]:
    rows: list[list[Line]] = []
    for line in lines:
        if rows and abs(rows[-1][0].baseline - line.baseline) < SAME_ROW:
            rows[-1].append(line)
        else:
            rows.append([line])
    return rows


def _row(page: int, lines: list[Line], left: float, parsed: _Parser) -> _Row:
    lines = sorted(lines, key=lambda line: line.box[0])
    text, number = parsed(" ".join(line.text for line in lines))
    box = around([line.box for line in lines]) or lines[0].box
    return _Row(page, box, lines[0].baseline, box[0] - left, style_of(lines[0]), text, number)


def _ending(text: str) -> tuple[str, Number | None]:
    """A row's title and the number at its end, leaders left out."""
    found = _NUMBERED.fullmatch(text)
    number = number_in(found[2]) if found else None
    if found is None or number is None or not any(map(str.isalpha, found[1])):
        return text.strip(_LEADERS), None
    return found[1].strip(_LEADERS), number


def _beginning(text: str) -> tuple[str, Number | None]:
    """A row's title and the number before it."""
    found = _BEGUN.fullmatch(text)
    number = number_in(found[1]) if found else None
    if found is None or number is None or not any(map(str.isalpha, found[2])):
        return text.strip(_LEADERS), None
    return found[2].strip(_LEADERS), number


def _is_of_contents(rows: Sequence[_Row]) -> bool:
    numbers = [row.number for row in rows if row.number]
    if len(numbers) < max(LEAST_ON_PAGE, MOST_ARE_ENTRIES * (len(rows) - 2)):
        return False
    steps = [after.value - before.value for before, after in pairwise(numbers) if before.numerals == after.numerals]
    return sum(step >= 0 for step in steps) >= IN_ORDER * len(steps) and len({each.value for each in numbers}) > 1


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


def _parted(pages: Sequence[Sequence[_Row]], setting: Setting) -> Iterator[list[_Row]]:
    """The rows of one list after the other: each begins with a title that is set large."""
    current: list[_Row] = []
    largest = 0.0
    for rows in pages:
        for at, row in enumerate(rows):
            is_large = row.number is None and row.style[1] >= LARGER * setting.size
            if is_large and (at == 0 or row.style[1] >= largest - 0.5) and any(each.number for each in current):
                yield current
                current = []
            if is_large:
                largest = max(largest, row.style[1])
            current.append(row)
    if current:
        yield current


def _list(rows: Sequence[_Row], headings: Headings, pages: Mapping[str, Sequence[int]]) -> ContentsList | None:
    joined = list(_joined(rows))
    levels = _levels(joined)
    entries = tuple(_entry(one, levels, headings, pages) for row in joined for one in _run_on(row) if one.number)
    if not entries:
        return None
    found = sum(entry.heading is not None for entry in entries)
    first = next((row for row in rows if row.number), rows[0])
    above = [row.text for row in rows[: rows.index(first)] if row.style[1] >= first.style[1]]
    return ContentsList(
        kind="contents" if found >= FOUND_AGAIN * len(entries) else "list",
        title=above[0] if above else None,
        pages=tuple(sorted({row.page for row in rows})),
        entries=entries,
    )


def _joined(rows: Sequence[_Row]) -> Iterator[_Row]:
    """Entries of several rows as one: the number stands at the end of the last."""
    steps = [upper.baseline - lower.baseline for upper, lower in pairwise(rows) if upper.page == lower.page]
    leading = sorted(steps)[len(steps) // 3] if steps else 0.0
    waiting: list[_Row] = []
    for row in rows:
        if waiting and not _goes_on(waiting[-1], row, leading):
            yield from waiting
            waiting = []
        waiting.append(row)
        if row.number is not None:
            yield _one(waiting)
            waiting = []
    yield from waiting


def _goes_on(above: _Row, row: _Row, leading: float) -> bool:
    return (
        above.page == row.page
        and above.style == row.style
        and above.baseline - row.baseline <= WRAPPED * leading
        and row.x >= above.x - SAME_INDENT
    )


def _one(rows: list[_Row]) -> _Row:
    if len(rows) == 1:
        return rows[0]
    box = around([row.box for row in rows]) or rows[0].box
    return rows[0]._replace(box=box, text=_unhyphenated([row.text for row in rows]), number=rows[-1].number)


def _run_on(row: _Row) -> list[_Row]:
    """The entries of a row that has several, one after the other: ``2.1 Sea 14, 2.2 Land 16``."""
    if row.number is None or not _RUN_ON.search(row.text):
        return [row]
    parts = [_ending(part) for part in _RUN_ON.split(f"{row.text} {row.number.text}")]
    if any(number is None for _, number in parts):
        return [row]
    return [row._replace(text=text, number=number) for text, number in parts]


def _unhyphenated(parts: Sequence[str]) -> str:
    text = parts[0]
    for part in parts[1:]:
        text = text[:-1] + part if text.endswith(("-", "\u2010")) and part[:1].islower() else f"{text} {part}"
    return text


def _levels(rows: Sequence[_Row]) -> list[tuple[float, Style | None]]:
    """Where the levels of entries start, from the left, and the style that sets one off at the same place."""
    starts = sorted(row.x for row in rows if row.number)
    edges = [start for at, start in enumerate(starts) if at == 0 or start - starts[at - 1] > SAME_INDENT]
    levels: list[tuple[float, Style | None]] = []
    for at, edge in enumerate(edges):
        end = edges[at + 1] if at + 1 < len(edges) else float("inf")
        styles = Counter(row.style for row in rows if row.number and edge <= row.x < end)
        often = [style for style in styles if styles[style] >= 2 and styles[style] >= 0.1 * styles.total()]
        levels += [(edge, style) for style in sorted(often, key=lambda style: -style[1])] or [(edge, None)]
    return levels


def _level(row: _Row, levels: Sequence[tuple[float, Style | None]]) -> int:
    """The level of a row: by its indent, and among those of one indent by its type."""
    at = bisect_right([edge for edge, _ in levels], row.x + 0.01) - 1
    edge = levels[max(at, 0)][0]
    same = [number for number, (start, _) in enumerate(levels) if start == edge]
    return next((number for number in same if levels[number][1] == row.style), same[0])


def _page_after(contents: int, pages: Sequence[int]) -> int | None:
    """Of the pages that bear a folio, the first after the contents: a file may hold several books."""
    return next((page for page in pages if page > contents), pages[0] if pages else None)


def _entry(
    row: _Row, levels: Sequence[tuple[float, Style | None]], headings: Headings, pages: Mapping[str, Sequence[int]]
) -> ContentsEntry:
    number = row.number.text if row.number else ""
    target = _page_after(row.page, pages.get(number, ()))
    return ContentsEntry(
        page=row.page,
        box=row.box,
        text=row.text,
        level=_level(row, levels),
        number=number,
        target=target,
        heading=headings.page_of(row.text, target),
    )
