"""Where parts and chapters open, told by how their headings are set and where they stand; no word is asked for.

A heading of a chapter always starts a page, and those of sections do not: a style of type that is larger than the
text's, or of another cut, and that stands at the head of its page wherever it is used, is the style of openings. Where
chapters are not told by their type, they are by white space above that others do not have.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import NamedTuple

from worker.book.grid import LARGER, Setting, Style, style_of
from worker.book.heads import Body
from worker.book.models import ContentsEntry, Opening, OpeningSign
from worker.book.titles import Title, labels_of, parts_of, spellings, title_of
from worker.book.wording import plain_letters, without_number
from worker.measure.geometry import around
from worker.measure.models import Bookmark, Line

ALWAYS_FIRST = 0.75
"""A style is that of openings where so many of its lines stand at the head of their pages."""
FRESH = 0.6
"""And so many of these pages are plainly begun anew: sunk, without the running head, after a page that ends short."""
MOSTLY = 0.8
SUNK_LEADINGS = 1.2
WHITE_LEADINGS = 1.5
MOST_ROWS = 8
SHORT = 0.7
"""Of the measure: what is wider is no heading without larger type."""
LEAST_TEXT = 2
"""Lines of text below a heading; a page with fewer is a title of its own."""
LEAST_LIKE = 2
LEAST_LISTED = 2
LEAST_SUNK = 3
SUNK_APART = 2.0
ALIKE = 0.25
"""Leadings between openings that are sunk alike."""
ENOUGH_LETTERS = 24
LEAST_LETTERS = 6
"""A title of fewer letters is looked for as a line of its own."""
TITLE_LINES = 2
"""Lines below what is plainly set as a heading that may be of it: a long title in the text's own type."""


@dataclass(frozen=True)
class Top:
    """The head of one page: the rows that are set as a heading, and how the page begins."""

    body: Body
    heading: tuple[Line, ...]
    styles: frozenset[Style]
    text_lines: int
    """Lines near the head that are set as the text of the book is."""
    lines_below: int
    sunk: float
    """How much lower than usual the page starts, in leadings."""
    white: float
    """Leadings between the heading and the text."""
    begun_anew: bool
    has_head: bool
    no_head: bool
    """It has no running head where pages of its side have one."""

    @property
    def page(self) -> int:
        return self.body.leaf.number

    @property
    def is_fresh(self) -> bool:
        return self.sunk >= SUNK_LEADINGS or self.no_head or self.begun_anew


def openings(
    bodies: Sequence[Body],
    setting: Setting,
    *,
    with_heads: frozenset[int],
    contents: Sequence[ContentsEntry] = (),
    outline: Sequence[Bookmark] = (),
    apart: Iterable[int] = (),
) -> tuple[Opening, ...]:
    """Openings in the order of pages.

    ``with_heads``: the pages that have a running head; ``contents``: the entries of the contents; ``outline``: the
    file's own; ``apart``: the pages that open no part and no chapter whatever they look like, as those of the contents.
    """
    left_out = set(apart)
    tops = {top.page: top for top in _tops(bodies, setting, with_heads) if top.page not in left_out}
    entries = [_Named(each.level, each.text, (each.target, each.heading)) for each in contents]
    bookmarks = [_Named(each.level, each.title, (each.page,)) for each in outline]
    listed, outlined = _named(entries, tops), _named(bookmarks, tops)
    styles = _opening_styles(list(tops.values()), bodies, setting, left_out)
    chosen = _by_style(styles) | listed | outlined
    if sum(tops[page].lines_below >= LEAST_TEXT for page in chosen) < LEAST_LIKE:
        chosen |= _by_white_space([top for top in tops.values() if top.page not in chosen])
    chosen |= _just_like(chosen, tops)
    chosen |= _parts(styles, list(tops.values()), chosen)
    opened = [(tops[page], parts_of(_heading_of(tops[page]))) for page in sorted(chosen)]
    labels, titles = labels_of(parts for _, parts in opened), _titles([*entries, *bookmarks])
    return tuple(
        _opening(
            top,
            title_of(parts, labels, LARGER * setting.size, titles[top.page]),
            setting,
            listed=top.page in listed,
            outlined=top.page in outlined,
        )
        for top, parts in opened
    )


def _titles(headings: Iterable[_Named]) -> Mapping[int | None, set[str]]:
    """The letters of what is said to stand on each page."""
    titles: dict[int | None, set[str]] = defaultdict(set)
    for heading in headings:
        for page in heading.pages:
            titles[page] |= spellings(heading.text)
    return titles


def _tops(bodies: Sequence[Body], setting: Setting, with_heads: frozenset[int]) -> Iterable[Top]:
    before: Body | None = None
    usual_heads = {side: _share(bodies, with_heads, side) > 0.5 for side in (0, 1)}
    for body in bodies:
        if body.lines:
            heading = _heading(body, setting)
            rest = body.lines[len(heading) :]
            page = body.leaf.number
            yield Top(
                body=body,
                heading=heading,
                styles=frozenset(style_of(line) for line in heading if line.size >= LARGER * setting.size),
                text_lines=sum(_is_text(line, setting) for line in rest[:MOST_ROWS]),
                lines_below=len(rest),
                sunk=setting.sunk(body),
                white=(heading[-1].baseline - rest[0].baseline) / setting.leading if heading and rest else 0.0,
                begun_anew=before is None or not before.lines or _ends_short(before, setting),
                has_head=page in with_heads,
                no_head=usual_heads[page % 2] and page not in with_heads,
            )
        before = body


def _share(bodies: Sequence[Body], with_heads: frozenset[int], side: int) -> float:
    pages = [body.leaf.number for body in bodies if body.lines and body.leaf.number % 2 == side]
    return sum(page in with_heads for page in pages) / len(pages) if pages else 0.0


def _ends_short(body: Body, setting: Setting) -> bool:
    return body.leaf.from_foot(body.lines[-1].baseline) - setting.foot > 2 * setting.leading


def _heading(body: Body, setting: Setting) -> tuple[Line, ...]:
    """The lines at the head of a page up to the first that is set as text."""
    lines = body.lines
    at = 0
    while at < min(len(lines), MOST_ROWS) and _is_display(lines, at, setting):
        at += 1
    return lines[:at]


def _is_text(line: Line, setting: Setting) -> bool:
    return line.font in setting.fonts and line.size < LARGER * setting.size


def _is_display(lines: Sequence[Line], at: int, setting: Setting) -> bool:
    line = lines[at]
    if line.size >= LARGER * setting.size:
        return True
    width = line.box[2] - line.box[0]
    if width > SHORT * setting.measure:
        return False
    below = line.baseline - lines[at + 1].baseline if at + 1 < len(lines) else 2 * setting.leading
    return line.font not in setting.fonts or below >= WHITE_LEADINGS * setting.leading


class _Named(NamedTuple):
    """A heading as the contents or the outline has it, and the pages where it may stand."""

    level: int
    text: str
    pages: tuple[int | None, ...]


def _named(headings: Sequence[_Named], tops: Mapping[int, Top]) -> set[int]:
    """The pages of those levels, from the highest down, whose headings begin pages anew."""
    chosen: set[int] = set()
    for level in sorted({heading.level for heading in headings}):
        of_level = {heading for heading in headings if heading.level == level}  # a short contents says the same twice
        places = {(page, heading) for heading in of_level for page in heading.pages if page is not None}
        begun = {page for page, heading in places if page in tops and _is_headed(tops[page], heading.text)}
        if len(of_level) < LEAST_LISTED or sum(tops[page].is_fresh for page in begun) < FRESH * len(of_level):
            break
        chosen |= begun
    return chosen


def _is_headed(top: Top, text: str) -> bool:
    """Whether the page begins with this heading, the number aside: it may be a word there and a figure here."""
    lines = [plain_letters(line.text) for line in top.body.lines[: len(top.heading) + TITLE_LINES]]
    wanted = plain_letters(without_number(text))
    if len(wanted) < LEAST_LETTERS:
        return wanted in lines or plain_letters(text) in lines
    heading = "".join(lines[: len(top.heading)])
    return wanted[:ENOUGH_LETTERS] in "".join(lines) or (len(heading) >= LEAST_LETTERS and heading in wanted)


def _opening_styles(
    tops: Sequence[Top], bodies: Sequence[Body], setting: Setting, left_out: set[int]
) -> dict[Style, list[Top]]:
    """Styles of which nearly all lines stand at the head of their pages, with these."""
    least = LARGER * setting.size
    everywhere: Counter[Style] = Counter()
    for body in bodies:
        if body.leaf.number not in left_out:
            everywhere.update(style_of(line) for line in body.lines if line.size >= least)
    first: Counter[Style] = Counter()
    pages: dict[Style, list[Top]] = defaultdict(list)
    for top in tops:
        first.update(style_of(line) for line in top.heading if line.size >= least)
        for style in top.styles:
            pages[style].append(top)
    return {
        style: on
        for style, on in pages.items()
        if first[style] >= ALWAYS_FIRST * everywhere[style] and sum(top.is_fresh for top in on) >= FRESH * len(on)
    }


def _by_style(groups: Mapping[Style, Sequence[Top]]) -> set[int]:
    """The chapters: of those styles the one that opens most pages of text."""
    with_text = {style: [top for top in on if top.text_lines >= LEAST_TEXT] for style, on in groups.items()}
    main = max(with_text, key=lambda style: (len(with_text[style]), style[1]), default=None)
    if main is None or len(with_text[main]) < LEAST_LIKE:
        return set()
    start = min(top.page for top in with_text[main])
    chapters = [top for top in groups[main] if top.page >= start and top.lines_below >= LEAST_TEXT]
    return {top.page for top in _without_heads(chapters)}


def _without_heads(chapters: Sequence[Top]) -> Sequence[Top]:
    """Chapters of a book that leaves the running head out where they open: one that has it only looks like one, unless
    it is sunk as deep as they are."""
    bare = [top for top in chapters if not top.has_head]
    if sum(top.no_head for top in bare) < MOSTLY * len(chapters):
        return chapters
    usual = median(top.sunk for top in bare)
    return [top for top in chapters if not top.has_head or (usual >= SUNK_APART and abs(top.sunk - usual) < ALIKE)]


def _parts(groups: Mapping[Style, Sequence[Top]], tops: Sequence[Top], chapters: set[int]) -> set[int]:
    """Titles alone on pages before a chapter that opens on the next page with text: of a style that does so within the
    book; elsewhere large type may be anything, a picture's or a title page's."""
    if not chapters:
        return set()
    before = {page for page, following in pairwise(top.page for top in tops) if following in chapters}
    start = min(chapters)
    chosen = set()
    for on in groups.values():
        alone = [top for top in on if top.lines_below < LEAST_TEXT and top.page in before]
        if any(top.page > start for top in alone):
            chosen |= {top.page for top in alone}
    return chosen


def _by_white_space(tops: Sequence[Top]) -> set[int]:
    """Tops that are sunk as no other page is, all by as much, after pages that end short; and others just like them."""
    sunk = [
        top
        for top in tops
        if top.sunk >= SUNK_APART
        and (top.begun_anew or top.no_head)
        and not top.has_head
        and top.text_lines >= LEAST_TEXT
    ]
    if not sunk:
        return set()
    usual = median(top.sunk for top in sunk)
    same = [top for top in sunk if abs(top.sunk - usual) < ALIKE]
    headed = sum(bool(top.heading) for top in same)
    if len(same) < max(LEAST_SUNK, FRESH * len(sunk)) or headed < len(same) / 2:
        return set()
    like = [top for top in tops if top.heading and not top.has_head and abs(top.sunk - usual) < ALIKE]
    start = min(top.page for top in same)  # what is sunk before is front matter
    return {top.page for top in sunk if (top.heading and top.page > start) or top in same} | {
        top.page for top in like if top.text_lines >= LEAST_TEXT
    }


def _just_like(chosen: set[int], tops: Mapping[int, Top]) -> set[int]:
    """Pages that begin as all chapters do, though the contents leaves them out: sunk as deep, in the same type."""
    chapters = [tops[page] for page in chosen if tops[page].lines_below >= LEAST_TEXT and tops[page].heading]
    usual = median(top.sunk for top in chapters) if chapters else 0.0
    alike = [top for top in chapters if abs(top.sunk - usual) < ALIKE]
    if usual < SUNK_APART or len(alike) < max(LEAST_SUNK, MOSTLY * len(chapters)):
        return set()
    styles = {style_of(top.heading[0]) for top in alike}
    return {
        page
        for page, top in tops.items()
        if top.is_fresh
        and not top.has_head
        and abs(top.sunk - usual) < ALIKE
        and top.heading
        and style_of(top.heading[0]) in styles
        and page > min(chosen)
    }


def _heading_of(top: Top) -> Sequence[Line]:
    return top.heading or top.body.lines[:1]


def _opening(top: Top, title: Title, setting: Setting, *, listed: bool, outlined: bool) -> Opening:
    heading = _heading_of(top)
    signs: list[OpeningSign] = []
    if any(line.size >= LARGER * setting.size for line in heading):
        signs.append("size")
    if top.sunk >= SUNK_LEADINGS:
        signs.append("sinkage")
    if top.white >= WHITE_LEADINGS:
        signs.append("white-space")
    if top.begun_anew:
        signs.append("new-page")
    if listed:
        signs.append("contents")
    if outlined:
        signs.append("outline")
    return Opening(
        page=top.page,
        kind="chapter" if top.lines_below >= LEAST_TEXT else "part",
        title=title.text,
        number=title.number,
        box=around([line.box for line in title.lines]) or heading[0].box,
        sinkage=top.body.leaf.from_head(heading[0].baseline),
        size=max(line.size for line in heading),
        signs=tuple(signs),
    )
