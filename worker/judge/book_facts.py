"""What the rules about how a book is built look at, got from the book once.

Sides go by the count of pages in the file: page 1 is where a book opens, and so is every odd one. In a book that is
bound on the right these are its left-hand pages.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from worker.book.models import Book, BookPage, ContentsEntry, Folio, Opening
from worker.book.numerals import Number
from worker.judge.case import Case
from worker.measure.models import Box
from worker.words import told

LEAST_ON_VERSOS = 3
MOSTLY = 0.75
"""Of the openings: what so many do is meant. House value."""
LEAST_KEPT = 3
LEAST_LEFT = 0.2
"""Of the chapters on rectos: before so many at least a blank is left, where half of them would be by chance."""


@dataclass(frozen=True)
class Built:
    """A book as it was read."""

    book: Book
    pages: tuple[BookPage, ...]

    def page(self, number: int) -> BookPage | None:
        return self.pages[number - 1] if 1 <= number <= len(self.pages) else None

    @cached_property
    def folios(self) -> tuple[tuple[BookPage, Folio], ...]:
        """The pages that print one, with it, in their order."""
        return tuple((page, page.folio) for page in self.pages if page.folio)

    @cached_property
    def chapters(self) -> tuple[Opening, ...]:
        return tuple(opening for opening in self.openings if opening.kind == "chapter")

    @cached_property
    def openings(self) -> tuple[Opening, ...]:
        """Those of the body and the back matter."""
        return tuple(opening for opening in self.book.openings if self._is_in_body(opening.page))

    @cached_property
    def opens_on_versos(self) -> bool:
        """Whether chapters open on versos by design: the text of a picture book faces its pictures."""
        on_verso = sum(opening.page % 2 == 0 for opening in self.openings)
        return on_verso >= max(LEAST_ON_VERSOS, MOSTLY * len(self.openings))

    @cached_property
    def keeps_to_rectos(self) -> bool:
        """Whether chapters are kept to rectos on purpose: most open there, and blanks were left to that end."""
        pages = [opening.page for opening in self.chapters]
        on_recto = [page for page in pages if page % 2]
        left = [page for page in on_recto[1:] if self.was_left_blank(page - 1)]
        return len(on_recto) >= max(LEAST_KEPT, MOSTLY * len(pages)) and len(left) >= LEAST_LEFT * len(on_recto)

    def was_left_blank(self, number: int) -> bool:
        """Whether a page is a blank after a page of text: the back of a part's title is blank for its own sake."""
        page, before = self.page(number), self.page(number - 1)
        return page is not None and before is not None and page.kind == "blank" and before.kind in ("text", "opening")

    @cached_property
    def entries(self) -> tuple[ContentsEntry, ...]:
        """The entries of the contents: not those of lists of figures and tables, nor of what a chapter lists of itself
        in a book that has a contents before or after its text."""
        lists = [each for each in self.book.contents if each.kind == "contents"]
        of_the_book = [each for each in lists if self.pages[each.pages[0] - 1].part != "body"]
        return tuple(entry for each in of_the_book or lists for entry in each.entries)

    def counted(self, number: int) -> str:
        """The folio of a page, printed or not, or the number that it has in the file."""
        page = self.page(number)
        return page.counted if page and page.counted else told("phrases.folios.unnumbered", page=number)

    def may_be_counted(self, number: int, text: str) -> bool:
        """Whether a page may have this number. One that prints none is counted on from the folio before it, or back
        from the one after it: where these differ one of them is wrong, and not the page."""
        page = self.page(number)
        if page is None or page.counted is None or page.counted == text:
            return True
        return page.folio is None and text in {
            Number(folio.value + number - at.page, folio.numerals).text for at, folio in self._folios_around(number)
        }

    def _folios_around(self, number: int) -> Iterator[tuple[BookPage, Folio]]:
        """The nearest ones before and after a page, where they are of one kind of numerals."""
        at = bisect_left(self.folios, number, key=lambda printed: printed[0].page)
        around = self.folios[max(0, at - 1) : at + 1]
        if len({folio.numerals for _, folio in around}) == 1:
            yield from around

    def chapter_runs(self) -> Iterator[Sequence[BookPage]]:
        """The pages of each chapter in turn, from the one after its opening on, blanks and plates among them."""
        starts = [opening.page for opening in self.openings] + [len(self.pages) + 1]
        for start, end in pairwise(starts):
            yield self.pages[start : end - 1]

    def _is_in_body(self, number: int) -> bool:
        page = self.page(number)
        return page is not None and page.part != "front"


def built(case: Case) -> Built | None:
    """The book of a case; None where it was not read, or only its text block was."""
    book = case.book
    return Built(book, book.pages) if book is not None and len(book.pages) == len(case.pages) else None


def whole(page: BookPage, case: Case) -> Box:
    """Where to look on a page as a whole: its text, or the page where it has none."""
    return page.box or case.pages[page.page - 1].trim
