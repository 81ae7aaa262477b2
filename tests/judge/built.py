"""A book as it was read, sound unless told otherwise: front matter of eight pages, five chapters on rectos.

Half title, blank, title page, imprint, dedication, blank, contents, blank; then chapters of twelve pages, of which the
last is blank. Folios at the foot, the title of the book at the head of versos and that of the chapter at the head of
rectos; none over openings and on blanks. All of it invented.
"""

from __future__ import annotations

from typing import Any

from tests.judge.factory import book as facts
from tests.judge.factory import document, page
from worker.book import Book
from worker.book.models import (
    BookPage,
    ContentsEntry,
    ContentsList,
    Folio,
    Grid,
    Opening,
    RunningHead,
    TextBlock,
)
from worker.measure.models import Measurements

FRONT = 8
CHAPTER = 12
TITLES = ("The Tide Book", "Two Harbours", "The Second Bell", "Paper and Tar", "Low Water")
TITLE = "The Salt Road"
PAGES = FRONT + CHAPTER * len(TITLES)
OPENINGS = tuple(FRONT + 1 + CHAPTER * count for count in range(len(TITLES)))
CONTENTS = 7
GRID = Grid(leading=14.0, head=66.0, foot=54.0)
FIRST, LAST = 648 - 66.0, 54.0
_KINDS = ("half-title", "blank", "title", "imprint", "dedication", "blank", "contents", "blank")


def folio(number: int, value: int | None = None, **keys: Any) -> Folio:
    """The folio of a page of the file; 1 on the first chapter's opening, unless ``value`` says otherwise."""
    value = number - FRONT if value is None else value
    given = {"text": str(value), "value": value, "numerals": "arabic", "box": (206, 30, 226, 38), "edge": "foot",
             "position": "centre"} | keys  # fmt: skip
    return Folio(**given)


def head(number: int, text: str | None = None, **keys: Any) -> RunningHead:
    chapter = TITLES[min((number - FRONT - 1) // CHAPTER, len(TITLES) - 1)]
    said = (TITLE if number % 2 == 0 else chapter) if text is None else text
    return RunningHead(**({"text": said, "box": (60, 610, 200, 618), "edge": "head", "position": "outside"} | keys))


def book_page(number: int) -> BookPage:
    """One page of the sound book."""
    if number <= FRONT:
        kind = _KINDS[number - 1]
        return BookPage(page=number, part="front", kind=kind, expected=True if kind == "blank" else None)
    counted = str(number - FRONT)
    in_chapter = (number - FRONT - 1) % CHAPTER
    if in_chapter == CHAPTER - 1:
        return BookPage(page=number, part="body", kind="blank", counted=counted,
                        expected=None if number == PAGES else True)  # fmt: skip
    opens = in_chapter == 0
    last = in_chapter == CHAPTER - 2
    return BookPage(
        page=number,
        part="body",
        kind="opening" if opens else "text",
        folio=folio(number),
        counted=counted,
        head=None if opens else head(number),
        box=(60, 50, 370, 590),
        first_baseline=480.0 if opens else FIRST,
        last_baseline=300.0 if last else LAST,
        starts_with_text=not opens,
        ends_with_text=True,
    )


def opening(count: int) -> Opening:
    number = OPENINGS[count]
    return Opening(page=number, kind="chapter", title=TITLES[count], box=(150, 478, 280, 494), sinkage=168.0, size=18,
                   signs=("size", "sinkage"))  # fmt: skip


def entry(count: int, **keys: Any) -> ContentsEntry:
    number = OPENINGS[count]
    given = {"page": CONTENTS, "box": (60, 500 - 20 * count, 370, 510 - 20 * count), "text": TITLES[count], "level": 0,
             "number": str(number - FRONT), "target": number, "heading": number} | keys  # fmt: skip
    return ContentsEntry(**given)


def listed(*entries: ContentsEntry) -> tuple[ContentsList, ...]:
    return (ContentsList(kind="contents", title="Contents", pages=(CONTENTS,), entries=entries),)


def sound_book(**pages: BookPage) -> Book:
    """The sound book, with some pages (``p12=…``) in place of its own."""
    return Book(
        block=TextBlock(),
        grid=GRID,
        pages=tuple(pages.get(f"p{number}", book_page(number)) for number in range(1, PAGES + 1)),
        openings=tuple(map(opening, range(len(TITLES)))),
        contents=listed(*map(entry, range(len(TITLES)))),
        title=TITLE,
    )


def measured() -> Measurements:
    """Facts of such a book in which nothing else is wrong."""
    blanks = {number for number in range(1, PAGES + 1) if book_page(number).kind == "blank"}
    pages = (page(number, blank=number in blanks) for number in range(1, PAGES + 1))
    return facts(*pages, document=document(PAGES, title=TITLE))
