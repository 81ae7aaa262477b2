"""The number that the pages start with, where the first chapter is not page 1."""

from __future__ import annotations

from collections.abc import Iterator

from worker.book import Book
from worker.judge.book_facts import Built
from worker.judge.book_folios import start_number, text_start
from worker.judge.models import Judgement
from worker.report.models import Setting
from worker.words import told

_FINDINGS = {"first-folio", "folio-parity"}


def folio_start(book: Book, judgement: Judgement) -> Iterator[Setting]:
    """What the file's first page would be numbered, as it is and as it should be (common practice, no source)."""
    if not _FINDINGS & {finding.rule for finding in judgement.findings}:
        return
    first = text_start(Built(book, book.pages))
    if first is None or first % 2 == 0:
        return
    printed = next(((page, page.folio) for page in book.pages[first - 1 :] if page.folio), None)
    asked = start_number(first)
    measured = printed[1].value - printed[0].page + 1 if printed else None
    if measured != asked:
        note = told("setup.notes.folio-start")
        yield Setting(name="folio-start", measured=measured, required=asked, set=asked, unit=None, note=note)
