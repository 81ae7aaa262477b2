"""How the book is built, in short sentences for the colophon."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from worker.book import Book
from worker.book.models import BookPage, PageKind
from worker.report.facts import Fact, fact
from worker.units import Unit, page_ranges, show_length, show_number
from worker.words import comma, counted, semicolon, told

MOST_RUNS = 12
MOST_OPENINGS = 60
KINDS: tuple[PageKind, ...] = ("half-title", "title", "imprint", "dedication", "contents", "list", "plate")


def book_facts(book: Book | None, unit: Unit, *, most_openings: int = MOST_OPENINGS) -> tuple[Fact, ...]:
    """None for a book that was not read. Pages are pages of the file, folios beside them."""
    return tuple(_facts(book, unit, most_openings)) if book is not None else ()


def _facts(book: Book, unit: Unit, most_openings: int) -> Iterator[Fact]:
    yield fact("book.folios", _folios(book) or told("colophon.book.no-folios"))
    for kind in KINDS:
        pages = [page.page for page in book.pages if page.kind == kind]
        if pages:
            yield fact(f"book.kinds.{kind}", counted("colophon.book.pages", len(pages), pages=page_ranges(pages)))
    yield from _imprint(book)
    if book.openings:
        yield fact("book.openings", semicolon(_openings(book, most_openings)))
    for each in book.contents:
        title = each.title or told("colophon.book.untitled")
        yield Fact(told("colophon.book.entries", title=title), f"{len(each.entries)}")
    blanks = [page.page for page in book.pages if page.kind == "blank" and page.expected]
    if blanks:
        yield fact("book.blanks", page_ranges(blanks))
    if book.grid:
        leading = f"{show_number(book.grid.leading, 2)} pt"
        first, last = show_length(book.grid.head, unit), show_length(book.grid.foot, unit)
        yield fact("book.lines", told("colophon.book.grid", leading=leading, first=first, last=last))
    for missing in book.not_read:
        yield fact("book.not-read", missing.why)


def _imprint(book: Book) -> Iterator[Fact]:
    if book.imprint is None:
        return
    said = {"isbn": comma(book.imprint.isbns), "copyright": book.imprint.copyright, "edition": book.imprint.edition}
    yield from (fact(f"book.{name}", value) for name, value in said.items() if value)


def _folios(book: Book) -> str:
    """Runs of pages that count on from one another: ``9–40: 1–32``."""

    def run(page: BookPage) -> tuple[str, int] | None:
        return (page.folio.numerals, page.page - page.folio.value) if page.folio else None

    printed = [page for page in book.pages if page.folio]
    counts = []
    for _, group in groupby(printed, key=run):
        pages = list(group)
        first, last = pages[0], pages[-1]
        if first.folio and last.folio:
            span = f"{first.page}" if first is last else f"{first.page}–{last.page}"
            key = "colophon.book.run" if first is last else "colophon.book.runs"
            counts.append(told(key, pages=span, first=first.folio.text, last=last.folio.text))
    more = len(counts) - MOST_RUNS
    return semicolon([*counts[:MOST_RUNS], *([counted("colophon.book.more-runs", more)] if more > 0 else [])])


def _openings(book: Book, most: int) -> Iterator[str]:
    for opening in book.openings[:most]:
        page = book.pages[opening.page - 1]
        number = f"{opening.number} " if opening.number and opening.number != opening.title else ""
        key, folio = ("opening-folio", page.folio.text) if page.folio else ("opening", "")
        yield told(f"colophon.book.{key}", opening=f"{number}{opening.title}", page=opening.page, folio=folio)
    if len(book.openings) > most:
        yield counted("colophon.book.more-openings", len(book.openings) - most)
