"""The number that the pages start with, where the first chapter is not page 1."""

from __future__ import annotations

from collections.abc import Iterator

from worker.book import Book
from worker.judge.book_facts import Built
from worker.judge.book_folios import first_opening, start_number
from worker.judge.models import Judgement
from worker.report.models import Setting

_FINDINGS = {"first-folio", "folio-parity"}
NOTE = (
    "The start value of page numbers for the whole document. Where the first chapter has a section of its own, let the "
    "numbers start anew there, at 1."
)


def folio_start(book: Book, judgement: Judgement) -> Iterator[Setting]:
    """What the file's first page would be numbered, as it is and as it should be (common practice, no source)."""
    if not _FINDINGS & {finding.rule for finding in judgement.findings}:
        return
    opening = first_opening(Built(book, book.pages))
    if opening is None or opening.page % 2 == 0:
        return
    folio = next((page.folio for page in book.pages[opening.page - 1 :] if page.folio), None)
    page = next((page.page for page in book.pages[opening.page - 1 :] if page.folio), opening.page)
    asked = start_number(opening.page)
    measured = folio.value - page + 1 if folio else None
    if measured != asked:
        yield Setting(name="folio-start", measured=measured, required=asked, set=asked, unit=None, note=NOTE)
