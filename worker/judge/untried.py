"""What a rule could not be tried on, in words: the whole book, or some of its pages.

A margin is told only of a page whose edges are known: an accusation from the wrong edge would send people to change a
number that is right.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from worker.book.models import NotRead
from worker.judge.case import Apart, Case, on_pages
from worker.judge.colour import inks_not_known
from worker.judge.file import title_not_compared
from worker.judge.pdfx import not_looked_at
from worker.judge.type import silent_fonts
from worker.rules import RULES
from worker.words import told

_GROUPS_OF_CONTENT = ("live area", "type", "image", "colour", "blank")
_GROUPS_BY_THE_PAGE = ("live area", "blank")
_BLEED = ("bleed-missing", "bleed-short")
_OF_THE_FILE = ("output-intent",)
"""Rules of such a group that look at no page."""
_COUNTS = ("page-count", "page-multiple")
_OF_FOLIOS = ("first-folio", "folio-order", "folio-parity", "folio-on-blank", "contents-page-number")
_NEEDS: dict[str, tuple[str, ...]] = {
    "folios": _OF_FOLIOS,
    "running-heads": ("running-head",),
    "openings": ("chapter-on-verso", "first-folio", "sinkage", "contents-missing-entry", "uneven-text-block"),
    "contents": ("contents-page-number", "contents-missing-entry"),
    "front-matter": ("front-matter-order",),
    "grid": ("uneven-text-block",),
    "paragraphs": ("widow", "orphan"),
}
"""What could not be read of a book, and the rules that need it."""
_REST: dict[str, Callable[[Case], Iterator[str]]] = {
    "document-title": title_not_compared,
    "font-restricted": silent_fonts,
    "ink-coverage": inks_not_known,
    "pdfx-conformance": not_looked_at,
}
"""What some rules leave untested of the whole file."""
_SPOKEN_OF: tuple[Apart, ...] = ("turned", "lying", "spread", "cover", "marks", "cropped")


def untried(rule: str, case: Case) -> str | None:
    """Why the rule cannot be tried on any page; None where it can on some."""
    by_the_page = RULES[rule].group in _GROUPS_BY_THE_PAGE or rule in _BLEED
    counts_the_file = rule in _COUNTS and case.judged_as_pages == len(case.pages)
    if (by_the_page or counts_the_file) and case.spread:
        return told("untried.two-on-one")
    if RULES[rule].group == "book" and (why := _not_read(rule, case)):
        return why
    if rule == "mirrored-margins" and case.mirroring is None:
        return " ".join((told("untried.too-few-pages"), *_left_out(rule, case)))
    return None


def _not_read(rule: str, case: Case) -> str | None:
    """Why what a rule needs of how the book is built is not known."""
    if case.book is None or len(case.book.pages) != len(case.pages):
        return next((f"{missing.why.capitalize()}." for missing in _missing(case)), told("untried.book-not-read"))
    if rule in _OF_FOLIOS and not any(page.folio for page in case.book.pages):
        return told("untried.no-folios")
    return next((f"{missing.why.capitalize()}." for missing in _missing(case) if rule in _NEEDS[missing.what]), None)


def _missing(case: Case) -> tuple[NotRead, ...]:
    return case.book.not_read if case.book else ()


def left_out(rule: str, case: Case) -> str | None:
    """The pages that the rule could not look at, and why; None where it saw all."""
    return " ".join(_left_out(rule, case)) or None


def _left_out(rule: str, case: Case) -> Iterator[str]:
    group = RULES[rule].group
    unread = [page for page in case.pages if page.unread is not None and rule not in _OF_THE_FILE]
    if group in _GROUPS_OF_CONTENT or rule in _BLEED or rule == "pdfx-conformance":
        for why in dict.fromkeys(page.unread for page in unread):
            pages = [page.page for page in unread if page.unread == why]
            yield told("untried.unread", pages=on_pages(pages).capitalize(), why=why)
    if rule in _REST:
        yield from _REST[rule](case)
    if group == "live area" or rule in _BLEED:
        for kind in _SPOKEN_OF:
            pages = [number for number, why in case.apart.items() if why == kind]
            if pages:
                yield told(f"untried.left-out.{kind}", pages=on_pages(pages).capitalize())
    if rule in _BLEED:
        guessed = [page.page for page in case.standing_pages if case.is_guessed(page)]
        if guessed:
            yield told("untried.open-edge", pages=on_pages(guessed))
