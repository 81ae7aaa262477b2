"""Rules about the contents: that its numbers lead to the headings, and that it lists them all.

A contents page is not kept up by itself: a word processor sets it anew only when it is told to (common practice, no
source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from worker.book.models import ContentsEntry, Opening
from worker.book.wording import plain_letters, without_number
from worker.judge.book_facts import Built, built
from worker.judge.case import Case, Draft, mark, on_pages, some_of
from worker.judge.models import Mark
from worker.judge.registry import rule
from worker.words import counted, told

FOUND = 0.8
"""Of the entries, or of the openings, that agree: where fewer do, the contents is not of this kind of headings, or was
not read well enough to accuse it."""
ALL_STALE = 3
"""Wrong entries that show that the contents was not made anew, rather than that a number was mistyped."""
ENOUGH_LETTERS = 24
"""Letters of a title that are compared: the contents may have it shorter."""


@rule("contents-page-number")
def contents_page_number(case: Case) -> Iterator[Draft]:
    """An entry whose heading stands elsewhere. That the page it names bears such a heading too is enough."""
    book = built(case)
    wrong = [entry for entry in book.entries if _leads_astray(book, entry)] if book else []
    if not book or not wrong or _found(book.entries) < FOUND:
        return
    entry = wrong[0]
    many = len(wrong) >= ALL_STALE
    yield Draft(
        pages=sorted({entry.page for entry in wrong}),
        form="many" if many else "",
        facts={
            "text": entry.text,
            "says": entry.number,
            "stands": _place(book, entry.heading),
            "count": len(wrong),
            "of": len(book.entries),
            "rest": "" if len(wrong) == 1 else told("phrases.contents-page-number.another"),
        },
        marks=[_mark(book, entry) for entry in wrong],
    )


@rule("contents-missing-entry")
def contents_missing_entry(case: Case) -> Iterator[Draft]:
    """Two forms: a chapter that the contents lacks (parts may stand there without a number), and an entry that no
    heading answers to."""
    book = built(case)
    if not book or not book.entries:
        return
    yield from _lacking(book)
    yield from _stray(book)


def _lacking(book: Built) -> Iterator[Draft]:
    chapters = [opening for opening in book.chapters if opening.title]
    listed = {page for entry in book.entries for page in (entry.heading, entry.target)}
    texts = {_letters(entry.text) for entry in book.entries}
    lacking = [opening for opening in chapters if opening.page not in listed and not texts & _said(opening)]
    if lacking and len(lacking) <= (1 - FOUND) * len(chapters) + 1 and len(lacking) < len(chapters) / 2:
        yield Draft(
            pages=sorted({_belongs_on(book, opening) for opening in lacking}),
            form="lacking",
            cause="lacking",
            facts={
                "titles": some_of([_quoted(opening.title) for opening in lacking]),
                "pages": on_pages(opening.page for opening in lacking),
                "open": counted("phrases.contents-missing-entry.open", len(lacking)),
                "is_": counted("phrases.contents-missing-entry.is", len(lacking)),
            },
            marks=[mark(opening.page, opening.box, told("marks.not-in-contents")) for opening in lacking],
        )


def _stray(book: Built) -> Iterator[Draft]:
    titles = [plain_letters(opening.title) for opening in book.openings]
    stray = [entry for entry in book.entries if entry.heading is None and not _is_within(entry, titles)]
    if stray and _found(book.entries) >= FOUND:
        yield Draft(
            pages=sorted({entry.page for entry in stray}),
            form="stray",
            cause="stray",
            facts={"titles": some_of([_quoted(entry.text) for entry in stray])},
            marks=[mark(entry.page, entry.box, told("marks.no-such-heading")) for entry in stray],
        )


def _is_within(entry: ContentsEntry, titles: Sequence[str]) -> bool:
    """Whether an entry says a part of some heading: the second line of a long one was read by itself."""
    return any(plain_letters(entry.text) in title for title in titles)


def _leads_astray(book: Built, entry: ContentsEntry) -> bool:
    """Where two pages bear one folio, the number is right if the heading stands on either."""
    if entry.heading is None or entry.heading == entry.target:
        return False
    return not book.may_be_counted(entry.heading, entry.number)


def _found(entries: Sequence[ContentsEntry]) -> float:
    """The share of entries whose heading was found at all."""
    return sum(entry.heading is not None for entry in entries) / len(entries) if entries else 0.0


def _said(opening: Opening) -> set[str]:
    return {_letters(opening.title), _letters(opening.number or "")} - {""}


def _letters(text: str) -> str:
    return plain_letters(without_number(text))[:ENOUGH_LETTERS]


def _belongs_on(book: Built, opening: Opening) -> int:
    """The page of the contents where an opening should be listed: that of the entry before it."""
    before = [entry for entry in book.entries if (entry.heading or entry.target or 0) <= opening.page]
    return before[-1].page if before else book.entries[0].page


def _place(book: Built, page: int | None) -> str:
    return book.counted(page) if page is not None else ""


def _mark(book: Built, entry: ContentsEntry) -> Mark:
    text = told("marks.contents-page-number", says=entry.number, stands=_place(book, entry.heading))
    return mark(entry.page, entry.box, text)


def _quoted(title: str) -> str:
    return told("phrases.contents-missing-entry.title", title=title)
