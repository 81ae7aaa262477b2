"""Where in a book a heading stands that the contents names.

The page that an entry leads to is looked at first; all others only for those that are not there. Elsewhere a heading
must say all of the title and be set as headings are: the same words may stand in the text of any page.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import IntEnum
from typing import NamedTuple

from worker.book.grid import LARGER, Setting, Style, style_of
from worker.book.heads import Body
from worker.book.wording import plain_letters, without_number
from worker.measure.models import Line

MOST_LETTERS = 40
"""Letters of a title that are compared: a heading may go on, or be shortened in the contents."""
ENOUGH_LETTERS = 18
KEY = 10
"""Letters by which titles are looked up."""
MOST_LINES = 6
"""Lines that a heading may be broken over."""
FIRST_LINES = 3
SHORT = 0.75
"""Of the measure: a wider line is one of text."""
APART = 1.25
"""Leadings above a line that stands by itself."""
LEAST_LETTERS = 3
OFTEN = 0.1
"""Of the headings that stand where they should: so many are set in a style that is one of headings."""
NOTE_MARK = 2
"""Figures after a heading that may be the mark of a note."""
_SECTION = re.compile(r"\s*(?:[A-Z]|\d+)(?:\.\d+)+\b")
_WORD_AND_NUMBER = re.compile(r"\s*[^\W\d]+\.?\s+(?:\d+|[IVXLCDM]+|[A-Z])\b[\s.:—–-]*(?=\w)")
"""``Chapter 3: ``, ``Appendix A ``: the numbering of a heading may stand on a line of its own."""


class Match(IntEnum):
    """How well the lines at one place of a page spell a title."""

    NONE = 0
    AS_TEXT = 1
    """A line of text begins so, or a caption."""
    AS_HEADING = 2
    """All of it, on lines of its own; or a line that is set as a heading begins so."""


class Wanted(NamedTuple):
    """The letters of a title: whole, and without its number; ``numbered`` where the number alone tells it."""

    forms: tuple[str, ...]
    numbered: bool

    @property
    def initials(self) -> frozenset[str]:
        return frozenset(form[0] for form in self.forms)


class Place(NamedTuple):
    """A line of a page by its place."""

    page: int
    at: int


def wanted(title: str) -> Wanted:
    """What to look for."""
    bare = without_number(title)
    texts = (title, bare, _WORD_AND_NUMBER.sub("", title, count=1), _WORD_AND_NUMBER.sub("", bare, count=1))
    forms = dict.fromkeys(letters for text in texts if (letters := plain_letters(text)[:MOST_LETTERS]))
    return Wanted(tuple(forms), _SECTION.match(title) is not None)


class Headings:
    """The headings of a book. ``titles``: of pages of the contents, the lines that are no entries; ``plates``: pages
    with pictures, whose few words are looked at only where an entry leads there."""

    def __init__(
        self,
        bodies: Sequence[Body],
        setting: Setting,
        titles: Mapping[int, Sequence[Line]],
        plates: frozenset[int] = frozenset(),
    ) -> None:
        self._lines: dict[int, Sequence[Line]] = {body.leaf.number: body.lines for body in bodies} | dict(titles)
        self._plates = plates
        self._apart = plates.union(titles)
        self._setting = setting
        self._styles: Counter[Style] = Counter()

    def on_page(self, page: int, title: Wanted) -> tuple[Match, Place | None]:
        """How well a page bears a title, and where."""
        best: tuple[Match, Place | None] = (Match.NONE, None)
        lines = self._lines.get(page, ())
        initials = title.initials
        for at, line in enumerate(lines):
            if not _may_start(line, initials):
                continue
            match = self._match(lines, at, title)
            if page in self._plates:
                match = min(match, Match.AS_TEXT)
            if match > best[0]:
                best = match, Place(page, at)
                if match == Match.AS_HEADING:
                    break
        return best

    def learn(self, place: Place) -> None:
        """Take the style of a heading that was found as one of headings."""
        self._styles[style_of(self._lines[place.page][place.at])] += 1

    def style_at(self, place: Place) -> Style:
        """How the line at a place is set."""
        return style_of(self._lines[place.page][place.at])

    def is_larger(self, style: Style) -> bool:
        """Whether a style is larger than the text's."""
        return style[1] >= LARGER * self._setting.size

    def elsewhere(self, titles: Iterable[Wanted], taken: frozenset[Place]) -> dict[Wanted, list[int]]:
        """The pages where titles stand as headings, in one look through the book; ``taken`` ones are others'."""
        by_start: dict[str, set[Wanted]] = defaultdict(set)
        for title in titles:
            for form in title.forms:
                by_start[form[:KEY]].add(title)
        found: dict[Wanted, list[int]] = defaultdict(list)
        for place, title in self._places(by_start):
            if place not in taken and self._is_heading(self._lines[place.page], place.at, title):
                found[title].append(place.page)
        return found

    def _places(self, by_start: Mapping[str, Iterable[Wanted]]) -> Iterator[tuple[Place, Wanted]]:
        """Every line of the book that begins as a title does."""
        initials = frozenset(start[0] for start in by_start)
        lengths = sorted({len(start) for start in by_start})
        for page in self._lines.keys() - self._apart:
            lines = self._lines[page]
            for at, line in enumerate(lines):
                if _may_start(line, initials):
                    start = _start(lines, at)
                    for length in lengths[: bisect_right(lengths, len(start))]:
                        for title in by_start.get(start[:length], ()):
                            yield Place(page, at), title

    def _match(self, lines: Sequence[Line], at: int, title: Wanted) -> Match:
        best = Match.NONE
        for form in title.forms:
            spelled, whole = _spelled(lines, at, form)
            if spelled < min(len(form), ENOUGH_LETTERS):
                continue
            enough = spelled >= LEAST_LETTERS or self._stands_out(lines, at)
            if (whole and enough) or self._stands_out(lines, at) or (title.numbered and form == title.forms[0]):
                return Match.AS_HEADING
            best = Match.AS_TEXT
        return best

    def _is_heading(self, lines: Sequence[Line], at: int, title: Wanted) -> bool:
        """Whether a whole title stands at a place, set as headings are."""
        whole = [form for form in title.forms if _spelled(lines, at, form) == (len(form), True)]
        if not whole:
            return False
        if title.numbered and title.forms[0] in whole:
            return True
        styled = self._styles[style_of(lines[at])] >= OFTEN * self._styles.total()
        return styled and (self._stands_out(lines, at) or self._stands_alone(lines, at))

    def _stands_out(self, lines: Sequence[Line], at: int) -> bool:
        """Whether a line is set in larger or in other type than the text, or comes first on its page."""
        line, setting = lines[at], self._setting
        return line.size >= LARGER * setting.size or line.font not in setting.fonts or at < FIRST_LINES

    def _stands_alone(self, lines: Sequence[Line], at: int) -> bool:
        """Whether a short line has white space above."""
        line, setting = lines[at], self._setting
        white = lines[at - 1].baseline - line.baseline >= APART * setting.leading
        return white and line.box[2] - line.box[0] < SHORT * setting.measure


def _may_start(line: Line, initials: frozenset[str]) -> bool:
    """Whether a line may begin with one of these letters, as far as its first sign tells."""
    first = line.text[0].lower()
    return first in initials or not (first.isascii() and first.isalnum())


def _start(lines: Sequence[Line], at: int) -> str:
    """The first letters of what begins at a line."""
    letters = plain_letters(lines[at].text[: 3 * KEY])[:KEY]
    if len(letters) < KEY and at + 1 < len(lines):
        letters = (letters + plain_letters(lines[at + 1].text[: 3 * KEY]))[:KEY]
    return letters


def _spelled(lines: Sequence[Line], at: int, form: str) -> tuple[int, bool]:
    """How many letters of a title the lines from one on spell, and whether they say all of it and no more."""
    done = 0
    for line in lines[at : at + MOST_LINES]:
        letters = plain_letters(line.text[: 3 * MOST_LETTERS])
        rest = form[done:]
        if rest.startswith(letters):
            done += len(letters)
            if done == len(form):
                return done, True
        elif letters.startswith(rest):
            more = letters[len(rest) :]
            return len(form), len(form) == MOST_LETTERS or (more.isdigit() and len(more) <= NOTE_MARK)
        else:
            return done + _common(letters, rest), False
    return done, False


def _common(one: str, other: str) -> int:
    """The number of letters that begin both."""
    for at, (mine, theirs) in enumerate(zip(one, other, strict=False)):
        if mine != theirs:
            return at
    return min(len(one), len(other))
