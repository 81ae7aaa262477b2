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
    return pickle.loads(kept.read_bytes())  # noqa: S301 - our own


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
    return re.match(r"(?:[A-Z]\w* )?[\w./-]+", producer).group() if producer else "–"


def show(share: Share) -> str:
    return f"{share.right}/{share.of}" if share.of else "–"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--details", action="store_true")
    asked = parser.parse_args()
    print("| " + " | ".join(COLUMNS) + " |")
    print("|" + "---|" * len(COLUMNS))
    for book in BOOKS:
        if not book.corpus.path.exists() or (asked.names and book.name not in asked.names):
            continue
        result, seconds, of = row(book)
        shares = result.shares
        cells = [
            book.name,
            book.corpus.package,
            producer_of(file_of(book)),
            str(result.pages),
            *map(show, shares),
            f"{seconds:.3f}",
            f"{seconds / of:.1%}",
        ]
        print("| " + " | ".join(cells) + " |", flush=True)
        if asked.details:
            for share in shares:
                for wrong in share.wrong[:MOST_DETAILS]:
                    print("    ", wrong)
    if not asked.names:
        print(f"\n{long_book()}")


if __name__ == "__main__":
    main()
