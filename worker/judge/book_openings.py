"""Rules about how chapters and parts open.

The first chapter opens on a recto always; later ones on either side, unless the house keeps them all to rectos (Chicago
page order, read second-hand). All chapters are sunk alike (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from statistics import median

from worker.book.models import Opening
from worker.judge.book_facts import Built, built
from worker.judge.book_folios import first_opening, is_even
from worker.judge.case import Case, Draft, among, mark, on_pages
from worker.judge.models import Measured, Required
from worker.judge.registry import rule
from worker.words import semicolon, told

ALIKE = 2.0
"""Points between openings that are sunk alike: one point is asked (common practice, no source), and stretched space
before a heading may take as much again without being seen."""
DESCENDERS = 0.35
"""Ems by which the ink of two last lines may differ that stand at one height: letters below the line or none."""
LEAST_ALIKE = 3
MOSTLY = 0.6


@rule("chapter-on-verso")
def chapter_on_verso(case: Case) -> Iterator[Draft]:
    """The first one, and others where the book keeps its chapters to rectos. Where the count itself is on the wrong
    side, ``folio-parity`` speaks of the first."""
    book = built(case)
    if not book:
        return
    on_verso = [opening for opening in book.openings if opening.page % 2 == 0]
    first, kept = first_opening(book), book.keeps_to_rectos
    wrong = [opening for opening in on_verso if kept or (opening is first and not book.opens_on_versos)]
    if first in wrong and _counts_from_verso(book, first):
        wrong.remove(first)
    if wrong:
        pages = [opening.page for opening in wrong]
        text = told("marks.opens-on", side=case.sides["even_side"])
        yield Draft(
            pages=pages,
            form="" if kept else "first",
            facts={
                "pages": on_pages(pages),
                "titles": semicolon(_named(opening) for opening in wrong[:3]),
            },
            marks=[mark(opening.page, opening.box, text) for opening in wrong],
        )


@rule("sinkage")
def sinkage(case: Case) -> Iterator[Draft]:
    """Headings of one kind and size, with and without a number, in body and back matter apart. A title of two lines may
    grow upwards from the same place: it is off only where both its head and its foot are."""
    book = built(case)
    if not book:
        return
    off = [each for group in _groups(book) for each in _off(group, case)]
    if off:
        opening, usual = max(off, key=lambda each: abs(each[0].sinkage - each[1]))
        pages = sorted(each.page for each, _ in off)
        lower = opening.sinkage > usual
        yield Draft(
            pages=pages,
            form="" if lower else "higher",
            measured=Measured(value=opening.sinkage, unit="pt"),
            required=Required(value=usual, unit="pt", relation="equal"),
            facts={
                "page": opening.page,
                "title": _named(opening),
                "is_": case.length(opening.sinkage),
                "usual": case.length(usual),
                "off": case.length(abs(opening.sinkage - usual)),
                "pages": on_pages(pages),
                "among": among("phrases.sinkage.among", len(off)),
            },
            marks=[
                mark(
                    each.page, each.box, told("marks.sinkage", is_=case.length(each.sinkage), usual=case.length(common))
                )
                for each, common in off
            ],
        )


def _counts_from_verso(book: Built, opening: Opening | None) -> bool:
    if opening is None:
        return False
    page = book.page(opening.page)
    following = [(each, each.folio) for each in book.pages[opening.page - 1 : opening.page + 3] if each.folio]
    return page is not None and any(is_even(each, folio) for each, folio in following if folio)


def _groups(book: Built) -> Iterator[list[Opening]]:
    """Openings that are to be sunk alike."""

    def alike(opening: Opening) -> tuple[object, ...]:
        return opening.kind, round(opening.size), opening.number is None, book.pages[opening.page - 1].part

    groups: dict[tuple[object, ...], list[Opening]] = {}
    for opening in book.openings:
        groups.setdefault(alike(opening), []).append(opening)
    yield from groups.values()


def _off(group: Sequence[Opening], case: Case) -> Iterator[tuple[Opening, float]]:
    """Openings that stand off the place that most of their group agree on, each with that place."""
    usual = median([opening.sinkage for opening in group])
    alike = [opening for opening in group if abs(opening.sinkage - usual) <= ALIKE]
    if len(alike) < max(LEAST_ALIKE, MOSTLY * len(group)):
        return
    single = min(alike, key=_height)
    for opening in group:
        if abs(opening.sinkage - usual) > ALIKE and not _has_grown(opening, single, case):
            yield opening, usual


def _has_grown(opening: Opening, single: Opening, case: Case) -> bool:
    """Whether a heading is of more lines than that of a single one, and its last stands where that one does."""
    taller = _height(opening) > _height(single) + opening.size / 2
    return taller and abs(_foot(opening, case) - _foot(single, case)) <= DESCENDERS * opening.size


def _foot(opening: Opening, case: Case) -> float:
    return case.pages[opening.page - 1].trim[3] - opening.box[1]


def _height(opening: Opening) -> float:
    return opening.box[3] - opening.box[1]


def _named(opening: Opening) -> str:
    key = "phrases.openings.title" if opening.title else "phrases.openings.page"
    return told(key, title=opening.title, page=opening.page)
