"""Rules about folios, the page numbers that are printed.

Every page is counted, printed or not; the first page of the text bears arabic 1 and is a recto (CMOS 17 1.5-1.9, read
second-hand), so odd folios stand on rectos (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from worker.book.models import BookPage, Folio, Opening
from worker.judge.book_facts import Built, built
from worker.judge.case import Case, Draft, among, mark, on_pages
from worker.judge.models import Mark, Measured, Required
from worker.judge.registry import rule
from worker.words import told

Printed = tuple[BookPage, Folio]
DISPLAY = ("part", "half-title", "title", "dedication", "plate", "blank")
"""Kinds of pages that may stand between arabic 1 and the first chapter (Chicago 1.4, read second-hand)."""


@rule("first-folio")
def first_folio(case: Case) -> Iterator[Draft]:
    """The start number alone: where it puts odd folios on the wrong side too, ``folio-parity`` speaks. A picture book
    whose text faces its pictures counts from its title page (common practice, no source)."""
    book = built(case)
    opening = first_opening(book) if book and not book.opens_on_versos else None
    page = book.page(opening.page) if book and opening else None
    if not book or not page or page.folio is None or page.folio.value == 1 or _begins_before(book, page):
        return
    if page.folio.numerals == "arabic" and is_even(page, page.folio):
        return
    first = text_start(book) or page.page
    yield Draft(
        pages=[page.page],
        form=_start_form(page.page, first),
        measured=Measured(value=page.folio.value, unit="count"),
        required=Required(value=1 + page.page - first, unit="count", relation="equal"),
        facts={"is_": page.folio.text, "page": page.page, "first": first, "start": start_number(first)},
        marks=[_mark(page, page.folio)],
    )


def _start_form(page: int, first: int) -> str:
    if first % 2 == 0:
        return "verso"
    return "" if first == page else "part"


@rule("folio-order")
def folio_order(case: Case) -> Iterator[Draft]:
    """Each break is one page: that where the count goes on otherwise than the page before says."""
    book = built(case)
    if not book:
        return
    breaks = list(_breaks(book.folios))
    if breaks:
        (page, folio), wanted = breaks[0]
        yield Draft(
            pages=[page.page for (page, _), _ in breaks],
            measured=Measured(value=folio.value, unit="count"),
            required=Required(value=wanted, unit="count", relation="equal"),
            facts={
                "page": page.page,
                "is_": folio.text,
                "wanted": wanted,
                "among": among("phrases.folio-order.among", len(breaks)),
            },
            marks=[
                mark(page.page, folio.box, told("marks.folio-wanted", folio=folio.text, wanted=wanted))
                for (page, folio), wanted in breaks
            ],
        )


@rule("folio-parity")
def folio_parity(case: Case) -> Iterator[Draft]:
    """Of each count the first run of folios tells: what goes wrong after a break in the order is that break's doing."""
    book = built(case)
    if not book:
        return
    wrong = [printed for count in _counts(book.folios) if _is_on_wrong_side(count) for printed in count]
    if not wrong:
        return
    page, folio = wrong[0]
    first = text_start(book) or 1
    yield Draft(
        pages=[page.page for page, _ in wrong],
        form=_parity_form(wrong, first),
        facts={
            "pages": on_pages([page.page for page, _ in wrong]),
            "page": page.page,
            "is_": folio.text,
            "start": start_number(first),
            "first": first,
        },
        marks=(_mark(page, folio) for page, folio in wrong),
    )


def _parity_form(wrong: Sequence[Printed], first: int) -> str:
    """What has to be done: with the numbers, or with the pages before the text."""
    if all(folio.numerals != "arabic" for _, folio in wrong):
        return "front"
    return "start" if first % 2 else "verso"


@rule("folio-on-blank")
def folio_on_blank(case: Case) -> Iterator[Draft]:
    """No folio on a blank page (CMOS 16 1.6, from memory). Of a running head beside it this rule speaks too."""
    book = built(case)
    shown = [(page, folio) for page, folio in book.folios if page.kind == "blank"] if book else []
    if shown:
        pages = [page.page for page, _ in shown]
        yield Draft(
            pages=pages,
            facts={
                "pages": on_pages(pages),
                "and_head": told("phrases.folio-on-blank.and-head") if any(page.head for page, _ in shown) else "",
            },
            marks=[_mark(page, folio) for page, folio in shown],
        )


def first_opening(book: Built) -> Opening | None:
    """Where the text starts: the first chapter, or the title of the part before it where that is counted as 1."""
    for opening in book.openings:
        page = book.page(opening.page)
        if opening.kind == "chapter" or (page and page.counted == "1"):
            return opening
    return None


def text_start(book: Built) -> int | None:
    """The page that arabic 1 belongs on: the first chapter's, or that of the title of its part (Chicago 1.4, read
    second-hand: a part's title may be 1, its back 2, and the text begin on 3)."""
    return book.openings[0].page if book.openings else None


def _begins_before(book: Built, page: BookPage) -> bool:
    """Whether 1 is a page of display before the first chapter: a second half title, or a part's title."""
    before = book.pages[: page.page - 1]
    at = next((each.page for each in before if each.counted == "1"), None)
    return at is not None and all(each.kind in DISPLAY for each in before[at - 1 :])


def start_number(page: int) -> int:
    """The number that the file's first page would bear, so that this one bears 1."""
    return 2 - page


def is_even(page: BookPage, folio: Folio) -> bool:
    """Whether an odd folio stands where an even one should, or the reverse."""
    return (page.page - folio.value) % 2 == 1


def _breaks(folios: Sequence[Printed]) -> Iterator[tuple[Printed, int]]:
    """The pages where the count breaks, each with the number that it would have. A single wrong folio is one break."""
    before: Printed | None = None
    for at, (page, folio) in enumerate(folios):
        if before is None or before[1].numerals != folio.numerals:
            before = page, folio
            continue
        wanted = before[1].value + page.page - before[0].page
        if folio.value == wanted:
            before = page, folio
            continue
        yield (page, folio), wanted
        following = folios[at + 1] if at + 1 < len(folios) else None
        if following is None or following[1].value - following[0].page != wanted - page.page:
            before = page, folio


def _counts(folios: Sequence[Printed]) -> Iterator[list[Printed]]:
    """The folios of each count, of one kind of numerals, up to the first break in it."""
    for numerals in dict.fromkeys(folio.numerals for _, folio in folios):
        of_kind = [printed for printed in folios if printed[1].numerals == numerals]
        first = next(_breaks(of_kind), None)
        yield of_kind if first is None else of_kind[: of_kind.index(first[0])]


def _is_on_wrong_side(count: Sequence[Printed]) -> bool:
    return len(count) > 1 and all(is_even(page, folio) for page, folio in count)


def _mark(page: BookPage, folio: Folio) -> Mark:
    return mark(page.page, folio.box, told("marks.folio", folio=folio.text))
