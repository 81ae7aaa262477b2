"""What real books are said to be by their own files: the outline and the page labels, as PDFium and pikepdf read them.

The reading of the book is given neither. An outline lists headings, so of openings it tells those at the levels named
for each book; pages before the first and after the last of them are not judged, and no entry of the contents that the
outline knows nothing of. A label tells the folio of a page where
poppler finds that very word at the head or the foot of it, and that there is none where it does not.
"""

from __future__ import annotations

import gzip
import hashlib
import subprocess
import tempfile
from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pikepdf
import pypdfium2

from tests.corpora import (
    ANNOTATIONS,
    ASYMPTOTE,
    DEBIAN_POLICY,
    DEBIAN_REFERENCE,
    DEBIAN_REFERENCE_DE,
    DEBIAN_REFERENCE_JA,
    DEBMAKE,
    DEVELOPERS_REFERENCE,
    GNUPLOT,
    LUATEX,
    MAINT_GUIDE,
    MEMOIR,
    OCTAVE,
    R_ADMIN,
    R_EXTS,
    R_INTRO,
    R_LANG,
    VALGRIND,
    Corpus,
)
from worker.book import read_book
from worker.book.models import Book, ContentsEntry
from worker.measure import measure
from worker.measure.models import Measurements

AT_THE_EDGE = 0.14
"""Of a page's height: the zone at its head and at its foot in which a folio is looked for."""
ENOUGH = 24
"""Letters of a title that are compared."""


@dataclass(frozen=True)
class RealBook:
    """One book: its file, the levels of its outline that open pages, and whether its labels are what is printed."""

    corpus: Corpus
    levels: tuple[int, ...] = (0,)
    labels: bool = True
    asked: bool = True
    """Whether the promise is made for this book too."""
    unlisted: tuple[int, ...] = ()
    """Pages that open a part, and that the outline leaves out: titles alone on their pages."""

    @property
    def name(self) -> str:
        return self.corpus.path.name.split(".pdf")[0]


BOOKS = (
    RealBook(MEMOIR, unlisted=(421,)),  # “Appendices”
    RealBook(ANNOTATIONS),
    RealBook(R_INTRO),
    RealBook(R_EXTS),
    RealBook(R_ADMIN),
    RealBook(R_LANG),
    RealBook(DEBIAN_REFERENCE),
    RealBook(DEBIAN_REFERENCE_DE),
    RealBook(DEBIAN_REFERENCE_JA),
    RealBook(MAINT_GUIDE),
    RealBook(DEBMAKE),
    RealBook(LUATEX, labels=False),
    RealBook(OCTAVE),
    RealBook(VALGRIND, levels=(0, 1), asked=False),  # several books in one; four of their titles are not read
    RealBook(GNUPLOT),
    RealBook(DEBIAN_POLICY),
    RealBook(DEVELOPERS_REFERENCE),
    RealBook(ASYMPTOTE),
)


@dataclass(frozen=True)
class Share:
    """So many of so many, and what is wrong with the others, in words."""

    right: int
    of: int
    wrong: tuple[str, ...] = ()

    @property
    def value(self) -> float:
        return self.right / self.of if self.of else 1.0


@dataclass(frozen=True)
class Result:
    """How one book was read. ``listed``: the entries of the outline, down to the deepest level that the contents has,
    that the contents was read to have."""

    pages: int
    folios: Share
    recall: Share
    precision: Share
    entries: Share
    listed: Share


@cache
def plain(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())


def file_of(book: RealBook) -> Path:
    """The PDF, taken out of its packing where Debian packs it."""
    path = book.corpus.path
    if path.suffix != ".gz":
        return path
    packed = path.read_bytes()
    out = Path(tempfile.gettempdir()) / f"{hashlib.sha256(packed).hexdigest()[:16]}-{path.stem}"
    if not out.exists():
        out.write_bytes(gzip.decompress(packed))
    return out


def untold(measurements: Measurements) -> Measurements:
    """The measurements without the outline."""
    return measurements.model_copy(update={"document": measurements.document.model_copy(update={"outline": ()})})


def outline_of(path: Path) -> list[tuple[int, str, int]]:
    """Level, title and page of each entry that leads to a page."""
    document = pypdfium2.PdfDocument(path)
    try:
        entries = []
        for entry in document.get_toc(max_depth=20):
            leads_to = entry.get_dest()
            if leads_to is not None and leads_to.get_index() is not None:
                entries.append((entry.level, entry.get_title(), leads_to.get_index() + 1))
        return entries
    finally:
        document.close()


def labels_of(path: Path) -> list[str]:
    with pikepdf.open(path) as pdf:
        return [page.label for page in pdf.pages]


def words_at_edges(path: Path) -> list[set[str]]:
    """Of each page the words that stand at its head or foot, by ``pdftotext -bbox``, dashes and brackets left out."""
    shown = subprocess.run(["pdftotext", "-bbox", path, "-"], check=True, capture_output=True, text=True).stdout
    pages: list[set[str]] = []
    height = 0.0
    for line in shown.splitlines():
        if "<page " in line:
            pages.append(set())
            height = float(line.split('height="')[1].split('"')[0])
        elif "<word " in line:
            top, bottom = (float(line.split(f'{side}="')[1].split('"')[0]) for side in ("yMin", "yMax"))
            if bottom < AT_THE_EDGE * height or top > (1 - AT_THE_EDGE) * height:
                pages[-1].add(line.split(">", 1)[1].rsplit("<", 1)[0].strip("-–—[]()|/ "))
    return pages


def judged(book: RealBook, reading: Book | None = None) -> Result:
    """Hold the reading of a book against its file."""
    path = file_of(book)
    reading = reading or read_book(untold(measure(path, share=True)))
    outline = outline_of(path)
    recall, precision = _openings(book, reading, outline)
    entries, listed = _contents(reading, outline)
    return Result(len(reading.pages), _folios(book, path, reading), recall, precision, entries, listed)


def _folios(book: RealBook, path: Path, reading: Book) -> Share:
    if not book.labels:
        return Share(0, 0)
    wrong = []
    for page, label, words in zip(reading.pages, labels_of(path), words_at_edges(path), strict=True):
        read = page.folio.text if page.folio else None
        if read != (label if label in words else None):
            wrong.append(f"p. {page.page}: read {read}, label {label}{' (printed)' if label in words else ''}")
    return Share(len(reading.pages) - len(wrong), len(reading.pages), tuple(wrong))


def _openings(book: RealBook, reading: Book, outline: list[tuple[int, str, int]]) -> tuple[Share, Share]:
    true = {page: title for level, title, page in outline if level in book.levels}
    lists = {page for each in reading.contents for page in each.pages}
    true = {page: title for page, title in true.items() if page not in lists}
    read = {opening.page: opening.title for opening in reading.openings if min(true) <= opening.page <= max(true)}
    missed = tuple(f"p. {page}: missed {title!r}" for page, title in true.items() if page not in read)
    false = tuple(
        f"p. {page}: no opening, read {title!r}" for page, title in read.items() if page not in {*true, *book.unlisted}
    )
    return Share(len(true) - len(missed), len(true), missed), Share(len(read) - len(false), len(read), false)


def _contents(reading: Book, outline: list[tuple[int, str, int]]) -> tuple[Share, Share]:
    titles: dict[int, list[tuple[int, str]]] = defaultdict(list)
    for level, title, page in outline:
        titles[page].append((level, plain(title)[-ENOUGH:]))
    entries = [entry for each in reading.contents if each.kind == "contents" for entry in each.entries]
    known = {title for of_page in titles.values() for _, title in of_page}
    entries = [entry for entry in entries if any(_is(plain(entry.text), title) for title in known)]
    wrong, deepest, found = [], 0, set()
    for entry in entries:
        level, key = _outlined(entry, titles)
        if level is None:
            wrong.append(f"{entry.text!r} {entry.number}: read as p. {entry.target}, heading on {entry.heading}")
        else:
            deepest = max(deepest, level)
            found.add(key)
    asked = {(page, plain(title)[-ENOUGH:]) for level, title, page in outline if level <= deepest}
    lacking = tuple(f"p. {page}: not in the contents as read: …{title}" for page, title in sorted(asked - found))
    return (
        Share(len(entries) - len(wrong), len(entries), tuple(wrong)),
        Share(len(asked & found), len(asked) if entries else 0, lacking),
    )


def _outlined(
    entry: ContentsEntry, titles: dict[int, list[tuple[int, str]]]
) -> tuple[int | None, tuple[int, str] | None]:
    """The level of the outline's entry that this one is, on the page that its number leads to."""
    read = plain(entry.text)
    for level, title in titles.get(entry.target or 0, []):
        if _is(read, title):
            return level, (entry.target or 0, title)
    return None, None


def _is(read: str, title: str) -> bool:
    """Whether an entry's letters are those of a title, the numbers before either aside."""
    return bool(title) and (read.endswith(title) or title.endswith(read[-ENOUGH:]))
