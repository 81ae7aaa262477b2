"""Compares every page of every book with what is drawn of it at 600 dpi, and its words with poppler's.

``python -m tests.bench.bench_agreement [NAME ...]``

A script, not a test: it takes about a quarter of an hour. Books that are not installed are left out. For each book:
its pages, the largest distance of ink and of text from the drawn ones in points, the pages that poppler settled, those
still further away than 0.25 pt, and the share of words and of letters that poppler has too.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from tests.measure.agreement import BOOKS, WITHIN, Book, distances
from tests.measure.words import Agreement, agreement, words_by_poppler
from worker.measure import measure


def _words(path: Path) -> list[Agreement]:
    pages = zip(measure(path).pages, words_by_poppler(path), strict=True)
    return [agreement(page, theirs) for page, theirs in pages]


def row(book: Book, path: Path, level: Path) -> str:
    """One line of the table; ``level`` is the book without text that is not level."""
    found, words = list(distances(path)), _words(level)
    total = sum(page.total for page in words)
    share = sum(2 * page.common for page in words) / total
    letters = sum(page.letters * page.total for page in words) / total
    ink, text = max(distance.ink for distance in found), max(distance.text for distance in found)
    settled = sum(distance.by != "PDFium" for distance in found)
    apart = [distance.page for distance in found if distance.worst > WITHIN]
    low = sum(page.share < 0.995 for page in words)
    return (
        f"{book.name:<20}{book.producer:<22}{len(found):>6}{ink:>7.2f}{text:>7.2f}{settled:>9}"
        f"{len(apart):>7}{share:>9.4f}{low:>6}{letters:>9.4f}  {apart[:9] or ''}"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="compare all pages of real books with what is drawn of them")
    parser.add_argument("names", nargs="*", help="only these books")
    names = parser.parse_args().names
    print(f"{'book':<20}{'producer':<22}{'pages':>6}{'ink':>7}{'text':>7}{'settled':>9}{'apart':>7}"
          f"{'words':>9}{'low':>6}{'letters':>9}")  # fmt: skip
    for book in BOOKS:
        if names and book.name not in names:
            continue
        with tempfile.TemporaryDirectory() as one, tempfile.TemporaryDirectory() as other:
            path, level = book.made(Path(one), False), book.made(Path(other), True)
            if path.exists():
                print(row(book, path, level), flush=True)


if __name__ == "__main__":
    main()
