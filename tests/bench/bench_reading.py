"""How real books are read: folios, openings and contents, beside what their own files say; and how long that takes.

``python -m tests.bench.bench_reading [--details] [NAME …]``

The table is that of ``tests/book/README.md``. With ``--details`` it tells what is wrong, place by place. Measurements
are kept in the folder for temporary files, by the file and the version of the reader.
"""

from __future__ import annotations

import argparse
import hashlib
import pickle
import re
import tempfile
import time
from collections.abc import Iterable
from pathlib import Path

import pikepdf

from tests.book.shelf import BOOKS, RealBook
from tests.book.truth import Result, Share, file_of, judged, untold
from tests.books.designs.by_typst import Design, prose, set_by_typst
from worker.book import read_book
from worker.measure import measure
from worker.measure.models import Measurements
from worker.measure.version import READER_VERSION

MOST_DETAILS = 40
COLUMNS = (
    "book",
    "Debian package",
    "set by",
    "pages",
    "folios",
    "openings found",
    "no others",
    "titles",
    "entries found",
    "entries right",
    "s",
    "of measuring",
)


def measured(path: Path) -> tuple[Measurements, float]:
    """Measurements and the seconds that they took, once for each file and version."""
    key = hashlib.sha256(path.read_bytes()).hexdigest()[:20]
    kept = Path(tempfile.gettempdir()) / f"measured-{READER_VERSION}-{key}.pickle"
    if not kept.exists():
        start = time.process_time()
        measurements = measure(path)
        kept.write_bytes(pickle.dumps((measurements, time.process_time() - start)))
    found: tuple[Measurements, float] = pickle.loads(kept.read_bytes())  # noqa: S301 - our own
    return found


def row(book: RealBook) -> tuple[Result, float, float]:
    """The result, the seconds of reading, and of measuring."""
    measurements, taken = measured(file_of(book))
    told_nothing = untold(measurements)
    start = time.process_time()
    reading = read_book(told_nothing)
    seconds = time.process_time() - start
    return judged(book, reading), seconds, taken


def long_book() -> str:
    """Seconds of reading a novel of some 800 pages and forty chapters, beside those of measuring it."""
    with tempfile.TemporaryDirectory() as folder:
        titles = tuple(f"The Book of the {number}th Tide" for number in range(4, 44))
        design = Design(prose(count=len(titles), words=8200, titles=titles))
        path = set_by_typst(design, Path(folder) / "novel.pdf")
        start = time.process_time()
        measurements = measure(path)
        of = time.process_time() - start
        start = time.process_time()
        read_book(measurements)
        seconds = time.process_time() - start
    pages = len(measurements.pages)
    return f"a novel of {pages} pages: measured in {of:.2f} s, read in {seconds:.3f} s, {seconds / of:.1%} of that"


def producer_of(path: Path) -> str:
    """The program that says it wrote the file, in one word or two."""
    with pikepdf.open(path) as pdf:
        producer = str(pdf.docinfo.get("/Producer", ""))
    name = re.match(r"(?:[A-Z]\w* )?[\w./-]+", producer)
    return name.group() if name else "–"


def show(share: Share) -> str:
    return f"{share.right}/{share.of}" if share.of else "–"


def print_row(cells: Iterable[str]) -> None:
    print("| " + " | ".join(cells) + " |", flush=True)


def told(book: RealBook, details: bool) -> Result:
    """Print what became of one book."""
    result, seconds, of = row(book)
    about = (book.name, book.corpus.package, producer_of(file_of(book)), str(result.pages))
    print_row((*about, *map(show, result.shares), f"{seconds:.3f}", f"{seconds / of:.1%}"))
    if details:
        for share in result.shares:
            for wrong in share.wrong[:MOST_DETAILS]:
                print("    ", wrong)
    return result


def together(results: list[Result]) -> Iterable[str]:
    """The row of all the books that the promise is made for."""
    yield from ("all that are asked", "", "", str(sum(result.pages for result in results)))
    for shares in zip(*(result.shares for result in results), strict=True):
        yield show(Share(sum(share.right for share in shares), sum(share.of for share in shares)))
    yield from ("", "")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--details", action="store_true")
    asked = parser.parse_args()
    print_row(COLUMNS)
    print("|" + "---|" * len(COLUMNS))
    books = [book for book in BOOKS if book.corpus.path.exists() and (not asked.names or book.name in asked.names)]
    results = [(book, told(book, asked.details)) for book in books]
    if not asked.names:
        print_row(together([result for book, result in results if not book.not_asked]))
        print(f"\n{long_book()}")


if __name__ == "__main__":
    main()
