"""Real books by many producers, and how far what is measured of their pages is from what is drawn of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.books.books import Plan, long_novel, set_by_libreoffice
from tests.books.rich import rewritten_by_ghostscript, set_by_browser, set_by_weasyprint, set_rich_by_reportlab
from tests.corpora import ANNOTATIONS, BEAMER, DEBIAN_REFERENCE, LUATEX, MEMOIR, POLYGLOSSIA, R_EXTS, Corpus
from tests.measure.oracle import Box, Drawn, drawn_pages
from tests.measure.settled import drawn_by_poppler
from tests.measured import facts_of
from tests.needs import needs_chromium, needs_ghostscript, needs_libreoffice, needs_module
from worker.measure.models import Page

WITHIN = 0.25
"""Points; two pixels at 600 dpi."""


@dataclass(frozen=True, eq=False)
class Book:
    """A book, where it comes from, and the pages that a test looks at: a spread, and those that were once wrong."""

    name: str
    producer: str
    made: Callable[[Path, bool], Path]
    """From a folder, and whether to leave out text that is not level, to the file."""
    step: int
    named: tuple[int, ...] = ()
    marks: tuple[pytest.MarkDecorator, ...] = ()
    slanting: bool = False
    """Whether there is text in it that is not level."""

    def spread(self, pages: int) -> list[int]:
        """The pages that a test looks at, of a book of so many."""
        return sorted({*range(1, pages + 1, self.step), *(page for page in self.named if page <= pages)})


def _real(corpus: Corpus, producer: str, step: int, *named: int) -> Book:
    return Book(corpus.path.stem, producer, lambda folder, level: corpus.path, step, named, (corpus.missing,))


def _rewritten(folder: Path, _: bool) -> Path:
    return rewritten_by_ghostscript(LUATEX.path, folder, 40)


BOOKS = (
    _real(MEMOIR, "pdfTeX", 31, 3, 49, 86),
    _real(ANNOTATIONS, "pdfTeX, Ghostscript", 71),
    _real(R_EXTS, "pdfTeX", 23, 27, 231),
    _real(BEAMER, "pdfTeX", 19, 14, 63, 226),
    _real(LUATEX, "LuaTeX", 29, 20, 26, 90, 105),
    _real(DEBIAN_REFERENCE, "XeTeX", 23, 90, 125),
    _real(POLYGLOSSIA, "XeTeX", 9),
    Book("novel", "Typst", lambda folder, level: long_novel(folder / "novel.pdf", 60), 6),
    Book("libreoffice", "LibreOffice", lambda folder, level: set_by_libreoffice(Plan(pages=12), folder), 2, (),
         (needs_libreoffice,)),
    Book("browser", "Skia", lambda folder, level: set_by_browser(40, folder, level=level), 3, (8,), (needs_chromium,),
         slanting=True),
    Book("weasyprint", "WeasyPrint", lambda folder, level: set_by_weasyprint(40, folder, level=level), 3, (4, 14, 38),
         (needs_module("weasyprint"),), slanting=True),
    Book("reportlab", "ReportLab", lambda folder, level: set_rich_by_reportlab(12, folder, level=level), 3, (2, 8),
         slanting=True),
    Book("rewritten", "LuaTeX, Ghostscript", _rewritten, 5, (), (needs_ghostscript, LUATEX.missing)),
)  # fmt: skip
PARAMETERS = [pytest.param(book, id=book.name, marks=book.marks) for book in BOOKS]


@dataclass(frozen=True)
class Distance:
    """How far the measured boxes of one page are from the drawn ones, in points, and who drew them."""

    page: int
    ink: float
    text: float
    by: str = "PDFium"

    @property
    def worst(self) -> float:
        return max(self.ink, self.text)


def distances(path: Path, pages: Iterable[int] | None = None) -> Iterator[Distance]:
    """Each of ``pages`` beside PDFium's drawing; one that is further away than it may be, beside poppler's too.

    PDFium takes widths of glyphs for whole thousandths of an em, and so ends long lines up to half a point too early.
    """
    measured = {page.page: page for page in facts_of(path).pages}
    for drawn in drawn_pages(path, pages):
        page = measured[drawn.page]
        distance = _distance(page, drawn, "PDFium")
        yield distance if distance.worst <= WITHIN else _settled(path, page, drawn, distance)


def _settled(path: Path, page: Page, drawn: Drawn, distance: Distance) -> Distance:
    """Each edge beside the nearer of the two drawings: poppler's has pictures without their white margins."""
    other = drawn_by_poppler(path, page.page)
    return Distance(
        page.page, _nearer(page.ink, drawn.ink, other.ink), _nearer(page.text, drawn.text, other.text), "poppler"
    )


def _nearer(measured: Box | None, one: Box | None, other: Box | None) -> float:
    if measured is None or one is None or other is None:
        return _apart(measured, one)
    return max(min(abs(m - a), abs(m - b)) for m, a, b in zip(measured, one, other, strict=True))


def _distance(page: Page, drawn: Drawn, by: str) -> Distance:
    return Distance(page.page, _apart(page.ink, drawn.ink), _apart(page.text, drawn.text), by)


def _apart(measured: Box | None, drawn: Box | None) -> float:
    if measured is None or drawn is None:
        return 0.0 if measured is drawn else float("inf")
    return max(abs(one - other) for one, other in zip(measured, drawn, strict=True))
