"""What real books are said to be by their own files, and how near the reading comes to that.

The reading is given neither the outline nor the page labels, and nothing here is taken from the reading but what is
judged. Three general tools tell the truth: PDFium reads the outline, pikepdf the labels, poppler the words and where
they stand.

- Folios: the label of a page is its folio where poppler finds that very word at the head or the foot of the page, and
  there is none where it does not.
- Openings: the entries of the outline at the levels named in ``shelf.py``. What is read as one is judged on every page
  of the file; those that the outline leaves out, and a person found, are named there too.
- Contents: the entries of the outline, at any depth, that the pages of the contents print with the folio of the page
  that the outline leads to.

A few outlines lead to the page before the heading, having been written before the page was turned: an entry whose title
is nowhere on its page, and at the head of the next, is taken to lead there.
"""

from __future__ import annotations

import gzip
import hashlib
import html
import subprocess
import tempfile
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import pikepdf
import pypdfium2

from tests.book.shelf import RealBook
from tests.measured import facts_of
from worker.book import read_book
from worker.book.models import Book, ContentsEntry
from worker.measure.models import Measurements

AT_THE_EDGE = 0.14
"""Of a page's height: the zone at its head and at its foot in which a folio is looked for."""
ENOUGH = 24
"""Letters of a title that are compared."""
AT_THE_HEAD = 120
"""Letters at the head of a page among which the title is that opens it."""
NUMBERED = 12
"""Letters that a number before a title may have, "Chapter 12"."""
AROUND_FOLIOS = "-–—[]()|/ "


@dataclass(frozen=True)
class Heading:
    """An entry of the outline: its level from 0, its title, and the page that it leads to."""

    level: int
    title: str
    page: int

    @property
    def letters(self) -> str:
        return plain(self.title)


@dataclass(frozen=True)
class Text:
    """The letters and figures of a page, by ``pdftotext``: row by row, and in the order of the file."""

    rows: str
    as_set: str

    def has(self, letters: str) -> bool:
        return letters in self.rows or letters in self.as_set


@dataclass(frozen=True)
class Truth:
    """What a book's own file says. ``folios``: by page, None where none is printed."""

    folios: tuple[str | None, ...]
    openings: dict[int, str]
    listed: tuple[Heading, ...]
    """What the contents prints."""
    outline: tuple[Heading, ...]
    texts: list[Text]


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
    """How one book was read.

    ``found`` and ``no_others`` are recall and precision of the openings, and ``titles`` those that are called as in the
    outline; ``listed`` are the entries that the contents prints and that were read to lead to the right page. ``right``
    are the entries read, those that lead to no page with such a heading being wrong: the outline tells, or of what it
    leaves out the words on that page.
    """

    pages: int
    folios: Share
    found: Share
    no_others: Share
    titles: Share
    listed: Share
    right: Share

    @property
    def shares(self) -> tuple[Share, ...]:
        return (self.folios, self.found, self.no_others, self.titles, self.listed, self.right)


@cache
def plain(text: str) -> str:
    """The letters and figures of a text."""
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


def outline_of(path: Path) -> tuple[Heading, ...]:
    """The entries that lead to a page."""
    document = pypdfium2.PdfDocument(path)
    try:
        entries = []
        for entry in document.get_toc(max_depth=20):
            leads_to = entry.get_dest()
            if leads_to is not None and leads_to.get_index() is not None:
                entries.append(Heading(entry.level, entry.get_title(), leads_to.get_index() + 1))
        return tuple(entries)
    finally:
        document.close()


def _settled(entry: Heading, texts: list[Text]) -> Heading:
    """The entry, on the page where its title stands; figures before the title may be set elsewhere or in words."""
    title = entry.letters.lstrip("0123456789")
    after = texts[entry.page].rows[:AT_THE_HEAD] if entry.page < len(texts) else ""
    turned = title and not texts[entry.page - 1].has(title) and title in after
    return replace(entry, page=entry.page + 1) if turned else entry


def labels_of(path: Path) -> list[str]:
    """The label of each page; its place in the file, where the file has no labels."""
    with pikepdf.open(path) as pdf:
        return [page.label for page in pdf.pages]


@dataclass
class Words:
    """Of a page by ``pdftotext -raw -bbox``: all words in the order of the file, and those at its head or foot."""

    as_set: list[str]
    at_edges: set[str]
    """Dashes and brackets around them left out."""


def words_of(path: Path) -> list[Words]:
    """The words of each page."""
    pages: list[Words] = []
    height = 0.0
    for line in _pdftotext(path, "-raw", "-bbox").splitlines():
        if "<page " in line:
            pages.append(Words([], set()))
            height = float(line.split('height="')[1].split('"')[0])
        elif "<word " in line:
            word = html.unescape(line.split(">", 1)[1].rsplit("<", 1)[0])
            pages[-1].as_set.append(word)
            top, bottom = (float(line.split(f'{side}="')[1].split('"')[0]) for side in ("yMin", "yMax"))
            if bottom < AT_THE_EDGE * height or top > (1 - AT_THE_EDGE) * height:
                pages[-1].at_edges.add(word.strip(AROUND_FOLIOS))
    return pages


def texts_of(path: Path, words: list[Words]) -> list[Text]:
    """The letters and figures of each page."""
    by_rows = _pdftotext(path, "-layout").split("\f")[:-1]
    return [Text(plain(rows), plain("".join(page.as_set))) for rows, page in zip(by_rows, words, strict=True)]


def _pdftotext(path: Path, *how: str) -> str:
    return subprocess.run(["pdftotext", *how, path, "-"], check=True, capture_output=True, text=True).stdout


@cache
def truth_of(book: RealBook) -> Truth:
    """What the file of a book says."""
    path = file_of(book)
    words = words_of(path)
    texts = texts_of(path, words)
    outline = tuple(_settled(entry, texts) for entry in outline_of(path))
    numbers = labels_of(path)
    if book.counted_from is not None:
        numbers = [str(page - book.counted_from + 1) for page in range(1, len(numbers) + 1)]
    pairs = zip(numbers, words, strict=True)
    folios = tuple(number if number in page.at_edges else None for number, page in pairs)
    openings = {entry.page: entry.title for entry in reversed([*_opening_pages(book, outline)])}
    return Truth(folios, openings, tuple(_printed(book, outline, texts, numbers)), outline, texts)


def _opening_pages(book: RealBook, outline: Iterable[Heading]) -> Iterable[Heading]:
    """The entries at the levels named for the book. What leads to a list is read as a list, to page 1 as the title."""
    above: Heading | None = None
    for entry in outline:
        if entry.level == 0:
            above = entry
        in_part = entry.level == 1 and above is not None and above.title in book.parts
        if (entry.level in book.levels or in_part) and entry.page not in {1, *book.lists, *book.runs_on}:
            yield entry


def _printed(book: RealBook, outline: Iterable[Heading], texts: list[Text], numbers: list[str]) -> Iterable[Heading]:
    """The headings that the contents prints, each with the number of its page after it; not the contents' own."""
    shown = [texts[page - 1] for page in sorted(book.contents)]
    for entry in outline:
        wanted = entry.letters[-ENOUGH:] + plain(numbers[entry.page - 1])
        if entry.letters and entry.page not in {1, *book.contents} and any(text.has(wanted) for text in shown):
            yield entry


def judged(book: RealBook, reading: Book | None = None) -> Result:
    """Hold the reading of a book against its file."""
    reading = reading or read_book(untold(facts_of(file_of(book))))
    truth = truth_of(book)
    entries = [entry for each in reading.contents if each.kind == "contents" for entry in each.entries]
    return Result(
        len(reading.pages),
        _folios(truth, reading),
        *_openings(book, truth, reading),
        _titles(truth, reading),
        _listed(truth, entries),
        _right(truth, entries),
    )


def _folios(truth: Truth, reading: Book) -> Share:
    wrong = []
    for page, true in zip(reading.pages, truth.folios, strict=True):
        read = page.folio.text if page.folio else None
        if read != true:
            wrong.append(f"p. {page.page}: read {read}, printed {true}")
    return Share(len(reading.pages) - len(wrong), len(reading.pages), tuple(wrong))


def _openings(book: RealBook, truth: Truth, reading: Book) -> tuple[Share, Share]:
    read = {opening.page: opening.title for opening in reading.openings}
    known = {*truth.openings, *book.unlisted}
    missed = tuple(f"p. {page}: missed {title!r}" for page, title in truth.openings.items() if page not in read)
    false = tuple(f"p. {page}: no opening, read {title!r}" for page, title in read.items() if page not in known)
    return (
        Share(len(truth.openings) - len(missed), len(truth.openings), missed),
        Share(len(read) - len(false), len(read), false),
    )


def _titles(truth: Truth, reading: Book) -> Share:
    """Titles may be read with their numbers, or be listed with them."""
    read = {opening.page: opening.title for opening in reading.openings}
    wrong = tuple(
        f"p. {page}: read {read.get(page)!r}, is {true!r}"
        for page, true in truth.openings.items()
        if not _is_called(read.get(page, ""), true)
    )
    return Share(len(truth.openings) - len(wrong), len(truth.openings), wrong)


def _is_called(read: str, true: str) -> bool:
    short, long = sorted((plain(read), plain(true)), key=len)
    starts_alike = len(short) >= ENOUGH and short[:ENOUGH] in long[: ENOUGH + NUMBERED]  # outlines have shorter titles
    return bool(short) and (starts_alike or (long.endswith(short) and len(long) - len(short) <= NUMBERED))


def _listed(truth: Truth, entries: list[ContentsEntry]) -> Share:
    """The headings that are printed in the contents, and found there."""
    leading_to: dict[int, list[ContentsEntry]] = defaultdict(list)
    for entry in entries:
        for page in {entry.target, entry.heading} - {None}:
            leading_to[page or 0].append(entry)
    wrong = tuple(
        f"p. {heading.page}: {heading.title!r} is in the contents, and not read so"
        for heading in truth.listed
        if not any(_is(entry, heading) for entry in leading_to[heading.page])
    )
    return Share(len(truth.listed) - len(wrong), len(truth.listed), wrong)


def _right(truth: Truth, entries: list[ContentsEntry]) -> Share:
    """The entries read that lead to a page with such a heading."""
    on_page: dict[int, list[Heading]] = defaultdict(list)
    for heading in truth.outline:
        on_page[heading.page].append(heading)

    def leads_right(entry: ContentsEntry) -> bool:
        pages = {page for page in (entry.target, entry.heading) if page}
        if any(_is(entry, heading) for page in pages for heading in on_page[page]):
            return True
        outlined = any(_is(entry, heading) for heading in truth.outline)
        return not outlined and any(truth.texts[page - 1].has(plain(entry.text)) for page in pages)

    wrong = tuple(
        f"p. {entry.page}: {entry.text!r} {entry.number}: read as p. {entry.target}, heading on {entry.heading}"
        for entry in entries
        if not leads_right(entry)
    )
    return Share(len(entries) - len(wrong), len(entries), wrong)


def _is(entry: ContentsEntry, heading: Heading) -> bool:
    """Whether an entry's letters are those of a heading, the numbers before either aside."""
    read, title = plain(entry.text), heading.letters
    return bool(read and title) and (read.endswith(title[-ENOUGH:]) or title.endswith(read[-ENOUGH:]))
