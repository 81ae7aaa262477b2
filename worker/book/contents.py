"""The contents, and lists of figures and tables: their pages, and the text, level and number of each entry.

A contents is known by rows that end (or begin) with numbers that do not decrease, and by titles that are found again as
headings in the book; no word for it is asked for. An index ends its rows with numbers that go up and down; a list of
figures has entries that are no headings. Rows without a number are no entries.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from itertools import pairwise
from statistics import median
from typing import Literal, NamedTuple

from worker.book.contents_entries import Draft, Pages, drafts_of
from worker.book.contents_levels import Start, levels_of
from worker.book.contents_rows import LEAST_ON_PAGE, MOST_ARE_ENTRIES, Row, rows_of
from worker.book.grid import Setting
from worker.book.headings import Headings, Match, Place, Wanted, wanted
from worker.book.heads import Body
from worker.book.models import ContentsEntry, ContentsList, NotRead, TextBlock
from worker.book.wording import plain_letters, without_number
from worker.measure.geometry import around

LEAST_ENTRIES = 3
"""Fewer are those of a contents only where each is a heading in the book."""
ENOUGH_ENTRIES = 5
"""A list of so many that leads nowhere is said to be one that could not be read."""
FOUND_AGAIN = 0.5
"""Of the entries of a contents: so many are headings somewhere in the book."""
NEARLY_ALL = 0.9
HARDLY = 0.05
"""Of what a list leads to: so much may be set as headings are where all are captions."""
NEAR = 12
"""Pages that a list of figures may stand apart from the contents."""
IN_FRONT = 0.2
"""Of the book's pages: a contents stands among the first."""
ALPHABETICAL = 0.9
LETTERS = 4
"""Of the steps from one title to the next: so many go on in the alphabet, where there are several initials."""


class Found(NamedTuple):
    """What an entry says, how well its heading was found, and on which page."""

    draft: Draft
    text: str
    match: Match
    place: Place | None
    page: int | None


def contents_lists(
    bodies: Sequence[Body], setting: Setting, block: TextBlock, pages: Pages, plates: frozenset[int] = frozenset()
) -> tuple[tuple[ContentsList, ...], NotRead | None]:
    """The contents, and the lists beside it; ``pages``: the pages of the file that bear a folio (``xii``, ``12``);
    ``plates``: those that show pictures.

    What looks like a contents whose titles are nowhere in the book is said not to have been read.
    """
    rows = _rows_of_pages(bodies, block)
    if not rows:
        return (), None
    titles = {page: [line for row in on if not row.number for line in row.lines] for page, on in rows.items()}
    headings = Headings(bodies, setting, titles, plates)
    in_front = max(NEAR, round(IN_FRONT * len(bodies)))
    lists = _lists([part for run in _runs(rows) for part in _parted(run)], headings, pages, in_front)
    kept = _kept(lists)
    return kept, None if kept else _not_read(lists, in_front)


def _lists(parts: Sequence[Sequence[Row]], headings: Headings, pages: Pages, in_front: int) -> list[ContentsList]:
    """Every list with its entries found: those of a contents at their pages, or elsewhere in the book.

    Where none leads to its pages, a contents may be out of date. Rows that begin with numbers may then be no list of
    pages at all: they are one where they stand among the first pages, ``in_front``, and nearly all are headings.
    """
    drafts = [(part, drafts_of(part, pages)) for part in parts]
    found = [(part, _on_their_pages(each, headings)) for part, each in drafts if len(each) >= LEAST_ON_PAGE]
    found = [(part, each) for part, each in found if len(each) >= LEAST_ENTRIES or _lead_all(each, headings)]
    leading = [each for _, each in found if _share(each) >= FOUND_AGAIN]
    captions = _captions(leading, headings)
    for part, each in found:
        if any(each is other for other in leading):
            each[:] = _looked_for(each, headings)
        elif not leading and (not part[0].leads or part[-1].page <= in_front):
            sought = _looked_for(each, headings)
            if not part[0].leads or _share(sought) >= NEARLY_ALL:
                each[:] = sought
    lists = []
    for part, each in found:
        is_contents = _share(each) >= FOUND_AGAIN and not any(each is other for other in captions)
        if is_contents or _is_dense(part):
            lists.append(_list(part, each, "contents" if is_contents else "list"))
    return lists


def _lead_all(few: Sequence[Found], headings: Headings) -> bool:
    """Whether each of a few entries is a heading, on its page or elsewhere: a number among them may be wrong."""
    return _share(_looked_for(few, headings)) == 1


def _captions(leading: Sequence[list[Found]], headings: Headings) -> list[list[Found]]:
    """Of several lists that lead to what they say, those that lead to captions: hardly one is set larger than the text,
    or as the headings are that the list with the largest of them leads to."""
    styles = [[headings.style_at(each.place) for each in found if each.place] for found in leading]
    if len(leading) < 2:
        return []
    main = set(max(styles, key=lambda of_list: median(size for _, size in of_list)))
    return [
        found
        for found, of_list in zip(leading, styles, strict=True)
        if sum(style in main or headings.is_larger(style) for style in of_list) <= HARDLY * len(of_list)
    ]


def _is_dense(rows: Sequence[Row]) -> bool:
    """Whether so many rows bear a number that it is a list, and no text with years at the ends of its lines."""
    return sum(row.number is not None for row in rows) >= MOST_ARE_ENTRIES * len(rows)


def _share(found: Sequence[Found]) -> float:
    return sum(each.match == Match.AS_HEADING for each in found) / len(found)


def _rows_of_pages(bodies: Sequence[Body], block: TextBlock) -> dict[int, list[Row]]:
    """The rows of the pages that look like those of a contents."""
    rows: dict[int, list[Row]] = {}
    for body in bodies:
        page = body.leaf.number
        before = rows.get(page - 1)
        found = rows_of(body, _left_edge(body, block), before[-1] if before else None)
        if found:
            rows[page] = found
    return rows


def _left_edge(body: Body, block: TextBlock) -> float:
    edge = block.odd_left if body.leaf.number % 2 else block.even_left
    return body.leaf.page.trim[0] + (edge.usual if edge else 0.0)


def _runs(rows: Mapping[int, Sequence[Row]]) -> Iterator[list[Row]]:
    """The rows of pages that follow one another, a blank between them aside, and have their numbers on one side."""
    run: list[Row] = []
    for page in sorted(rows):
        if run and (page > run[-1].page + 2 or rows[page][0].leads != run[-1].leads):
            yield run
            run = []
        run.extend(rows[page])
    if run:
        yield run


def _parted(rows: Sequence[Row]) -> Iterator[Sequence[Row]]:
    """The rows of one list after the other: each has a title before its first entry, or a new page, and its numbers
    begin anew."""
    numbered = [at for at, row in enumerate(rows) if row.number]
    start = 0
    for position in range(1, len(numbered)):
        before, at = numbered[position - 1], numbered[position]
        following = [rows[each].rank for each in numbered[position : position + 2]]
        apart = at > before + 1 or rows[at].page != rows[before].page
        if apart and all(rank < rows[before].rank for rank in following):
            title = _title_before(rows, before, at)
            yield rows[start:title]
            start = title
    yield rows[start:]


def _title_before(rows: Sequence[Row], before: int, at: int) -> int:
    """Where the title of a list stands that begins between two entries: its largest row, or the first on its page."""
    return max(range(before + 1, at), key=lambda each: (rows[each].style[1], -each), default=at)


def _on_their_pages(drafts: Sequence[Draft], headings: Headings) -> list[Found]:
    """What stands on the pages that the entries lead to."""
    found = [_on_its_page(draft, headings) for draft in drafts]
    for each in found:
        if each.match == Match.AS_HEADING and each.place:
            headings.learn(each.place)
    return found


def _on_its_page(draft: Draft, headings: Headings) -> Found:
    best = Found(draft, draft.readings[0], Match.NONE, None, None)
    target = draft.target
    if target is None:
        return best
    for text in draft.readings:
        match, place = headings.on_page(target, wanted(text))
        if match > best.match:
            best = Found(draft, text, match, place, target)
    return best


def _looked_for(found: Sequence[Found], headings: Headings) -> list[Found]:
    """The entries, those that do not stand on their pages as headings looked for in the whole book."""
    taken = frozenset(each.place for each in found if each.match == Match.AS_HEADING and each.place)
    sought = {text: wanted(text) for each in found if each.match < Match.AS_HEADING for text in each.draft.readings}
    elsewhere = headings.elsewhere(sought.values(), taken) if sought else {}
    return [each if each.match == Match.AS_HEADING else _nearest(each, sought, elsewhere) for each in found]


def _nearest(found: Found, sought: Mapping[str, Wanted], elsewhere: Mapping[Wanted, Sequence[int]]) -> Found:
    """The page nearest to the entry's own where its heading stands; the first where it has none."""
    target = found.draft.target or 0
    for text in found.draft.readings:
        pages = elsewhere.get(sought[text], ())
        if pages:
            page = min(pages, key=lambda page: (abs(page - target), page))
            return found._replace(text=text, match=Match.AS_HEADING, page=page)
    return found


def _list(rows: Sequence[Row], found: Sequence[Found], kind: Literal["contents", "list"]) -> ContentsList:
    levels = levels_of([_start(each) for each in found])
    first = next(at for at, row in enumerate(rows) if row.number)
    above = [row.whole for row in rows[:first] if row.style[1] >= rows[first].style[1]]
    return ContentsList(
        kind=kind,
        title=above[0] if above else None,
        pages=tuple(sorted({row.page for row in rows})),
        entries=tuple(_entry(each, level) for each, level in zip(found, levels, strict=True)),
    )


def _start(found: Found) -> Start:
    row = found.draft.rows[0]
    return Start(row.x, (row.box[0] + row.box[2]) / 2, row.style, found.text)


def _entry(found: Found, level: int) -> ContentsEntry:
    rows = found.draft.rows
    return ContentsEntry(
        page=rows[-1].page,
        box=around([row.box for row in rows]) or rows[-1].box,
        text=found.text,
        level=level,
        number=found.draft.number,
        target=found.draft.target,
        heading=found.page,
    )


def _kept(lists: Sequence[ContentsList]) -> tuple[ContentsList, ...]:
    """Those that are a contents of the book, and the lists that stand by one and lead to pages of the book."""
    headings = {entry.heading for each in lists if len(each.pages) > 1 for entry in each.entries}
    contents = [each for each in lists if each.kind == "contents" and not _is_of_a_chapter(each, headings)]
    contents = [each for each in contents if each is contents[0] or not _is_alphabetical(each)]
    spans = [(each.pages[0] - NEAR, each.pages[-1] + NEAR) for each in contents]
    return tuple(each for each in lists if each in contents or (each.kind == "list" and _is_beside(each, spans)))


def _is_of_a_chapter(each: ContentsList, headings: Container[int | None]) -> bool:
    """Whether it stands on a page where a chapter begins: that may have a contents of its own."""
    return len(each.pages) == 1 and each.pages[0] in headings


def _is_alphabetical(each: ContentsList) -> bool:
    """Whether it is an index, whose first numbers happen to grow."""
    titles = [plain_letters(without_number(entry.text))[:1] for entry in each.entries]
    return len(set(titles)) >= LETTERS and sum(one <= other for one, other in pairwise(titles)) >= ALPHABETICAL * (
        len(titles) - 1
    )


def _is_beside(each: ContentsList, spans: Sequence[tuple[int, int]]) -> bool:
    """Whether a list stands by a contents, leads to pages, and is no index."""
    near = any(low <= each.pages[0] <= high for low, high in spans)
    return near and _leads(each) and not _is_alphabetical(each)


def _leads(each: ContentsList) -> bool:
    return sum(entry.target is not None for entry in each.entries) >= FOUND_AGAIN * len(each.entries)


def _not_read(lists: Sequence[ContentsList], in_front: int) -> NotRead | None:
    for each in lists:
        if len(each.entries) >= ENOUGH_ENTRIES and _leads(each) and each.pages[-1] <= in_front:
            why = f"the titles on page {each.pages[0]} of the file, listed with numbers, stand nowhere in the book"
            return NotRead(what="contents", why=why)
    return None
