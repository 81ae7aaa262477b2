"""How the book is built, in short sentences for the colophon."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from worker.book import Book
from worker.book.models import BookPage, PageKind
from worker.report.facts import Fact
from worker.units import Unit, page_ranges, show_length, show_number

MOST_RUNS = 12
MOST_OPENINGS = 60
KINDS: dict[PageKind, str] = {
    "half-title": "Half title",
    "title": "Title page",
    "imprint": "Imprint",
    "dedication": "Dedication",
    "contents": "Contents",
    "list": "Lists of figures or tables",
    "plate": "Plates",
}


def book_facts(book: Book | None, unit: Unit, *, most_openings: int = MOST_OPENINGS) -> tuple[Fact, ...]:
    """None for a book that was not read. Pages are pages of the file, folios beside them."""
    return tuple(_facts(book, unit, most_openings)) if book is not None else ()


def _facts(book: Book, unit: Unit, most_openings: int) -> Iterator[Fact]:
    yield Fact("Folios", _folios(book) or "none found")
    for kind, name in KINDS.items():
        pages = [page.page for page in book.pages if page.kind == kind]
        if pages:
            yield Fact(name, f"page {page_ranges(pages)}" if len(pages) == 1 else f"pages {page_ranges(pages)}")
    yield from _imprint(book)
    if book.openings:
        yield Fact("Openings", "; ".join(_openings(book, most_openings)))
    for each in book.contents:
        yield Fact(f"Entries of “{each.title or 'the contents'}”", f"{len(each.entries)}")
    blanks = [page.page for page in book.pages if page.kind == "blank" and page.expected]
    if blanks:
        yield Fact("Blanks that an opening asks for", page_ranges(blanks))
    if book.grid:
        leading = f"{show_number(book.grid.leading, 2)} pt from line to line"
        first, last = show_length(book.grid.head, unit), show_length(book.grid.foot, unit)
        yield Fact("Lines", f"{leading}; the first {first} from the head, the last {last} from the foot")
    for missing in book.not_read:
        yield Fact("Not read", missing.why)


def _imprint(book: Book) -> Iterator[Fact]:
    if book.imprint is None:
        return
    said = {"ISBN": ", ".join(book.imprint.isbns), "Copyright": book.imprint.copyright, "Edition": book.imprint.edition}
    yield from (Fact(name, value) for name, value in said.items() if value)


def _folios(book: Book) -> str:
    """Runs of pages that count on from one another: ``9–40: 1–32``."""

    def run(page: BookPage) -> tuple[str, int] | None:
        return (page.folio.numerals, page.page - page.folio.value) if page.folio else None

    printed = [page for page in book.pages if page.folio]
    told = []
    for _, group in groupby(printed, key=run):
        pages = list(group)
        first, last = pages[0], pages[-1]
        if first.folio and last.folio:
            span = f"{first.page}" if first is last else f"{first.page}–{last.page}"
            told.append(f"pages {span}: {first.folio.text}" + ("" if first is last else f" to {last.folio.text}"))
    rest = [f"{len(told) - MOST_RUNS} runs more"] if len(told) > MOST_RUNS else []
    return "; ".join(told[:MOST_RUNS] + rest)


def _openings(book: Book, most: int) -> Iterator[str]:
    for opening in book.openings[:most]:
        page = book.pages[opening.page - 1]
        folio = f", folio {page.folio.text}" if page.folio else ""
        number = f"{opening.number} " if opening.number and opening.number != opening.title else ""
        yield f"{number}{opening.title} (page {opening.page}{folio})"
    if len(book.openings) > most:
        yield f"{len(book.openings) - most} more"
