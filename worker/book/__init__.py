"""Measurements → how the book is built, read from where its lines stand. Knows no printer profile."""

from __future__ import annotations

from worker.book.block import text_block
from worker.book.folios import counted, folios
from worker.book.grid import setting_of
from worker.book.heads import Body, bodies_of, running_heads
from worker.book.leaf import leaf_of
from worker.book.models import Book, BookPage, Folio, Grid, RunningHead
from worker.book.numerals import Number
from worker.book.openings import openings
from worker.book.paragraphs import stranded
from worker.measure.geometry import around
from worker.measure.models import Measurements

__all__ = ["Book", "read_book"]


def read_book(measurements: Measurements) -> Book:
    """Read the book from its measurements, which must have the pages' lines. Pure."""
    leaves = [leaf_of(page) for page in measurements.pages]
    block = text_block(leaves)
    printed = folios(leaves, block)
    numbers = counted(printed, len(leaves))
    bodies = bodies_of(leaves, block, printed)
    heads = running_heads(bodies, printed)
    setting = setting_of(bodies)
    if setting is None:
        return Book(block=block)
    opened = openings(bodies, setting, with_heads=frozenset(heads), outline=measurements.document.outline)
    lone, no_paragraphs = stranded(bodies, setting, block, apart=frozenset(opening.page for opening in opened))
    return Book(
        block=block,
        grid=Grid(leading=setting.leading, head=setting.head, foot=setting.foot),
        pages=tuple(
            _page(body, printed.get(body.leaf.number), numbers.get(body.leaf.number), heads.get(body.leaf.number))
            for body in bodies
        ),
        openings=opened,
        stranded=lone,
        not_read=(no_paragraphs,) if no_paragraphs else (),
    )


def _page(body: Body, folio: Folio | None, number: Number | None, head: RunningHead | None) -> BookPage:
    lines = body.lines
    return BookPage(
        page=body.leaf.number,
        part="body",
        kind="text" if lines else "blank",
        folio=folio,
        counted=number.text if number else None,
        head=head,
        box=around([line.box for line in lines]),
        first_baseline=lines[0].baseline if lines else None,
        last_baseline=lines[-1].baseline if lines else None,
    )
