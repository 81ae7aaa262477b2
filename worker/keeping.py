"""What is kept of a file that was measured: its facts, the lines of its pages apart, and the book read from them.

A long book's lines are nine tenths of all that is known of it, and judging does without them.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from datetime import datetime

from pydantic import TypeAdapter

from worker.book import Book, read_book
from worker.measure.models import Line, Measurements, Page
from worker.store import Inspection, Missing, Store, book_key, lines_key, measurements_key

ONE_BOOK = threading.Lock()
"""A long book's lines fill many megabytes: where several threads want them, they take them up one by one."""

_LINES = TypeAdapter(tuple[tuple[Line, ...], ...])
_WITHOUT_LINES = {"pages": {"__all__": {"lines"}}}


@dataclass(frozen=True)
class Known:
    """The facts of a file, when they were measured, and how the book is built. Where kept, the facts have no lines."""

    measurements: Measurements
    measured_at: datetime
    book: Book


def keep_measured(store: Store, inspection_id: str, measurements: Measurements, measured_at: datetime) -> Known:
    """Read the book, and keep all three as the inspection's objects; they are durable once this returns."""
    book = read_book(measurements)
    lines = _LINES.dump_json(tuple(page.lines for page in measurements.pages))
    store.bytes.write(lines_key(inspection_id), lines)
    store.bytes.write(book_key(inspection_id), book.model_dump_json().encode())
    _write_facts(store, inspection_id, measurements)
    return Known(measurements, measured_at, book)


def known_before(store: Store, row: Inspection, reader: str) -> Known | None:
    """What is known of the same bytes by this reader, whoever uploaded them; made the row's own, under its file name.

    None where nobody has measured them yet.
    """
    earlier = store.rows.measured_before(row.sha256, reader)
    if earlier is None or earlier.measured_at is None:
        return None
    try:
        facts, book = kept_facts(store, earlier), kept_book(store, earlier)
        if earlier.id != row.id:
            _copy_measured(store, earlier.id, row.id)
            facts = facts.model_copy(update={"file": facts.file.model_copy(update={"name": row.file_name})})
            _write_facts(store, row.id, facts)
    except Missing:  # deleted in between, or never kept
        return None
    return Known(facts, earlier.measured_at, book)


def share_known(store: Store, source: Inspection, target_id: str) -> None:
    """Keep all that is known of one inspection's file under another too. Raises :class:`Missing`."""
    _copy_measured(store, source.id, target_id)
    store.bytes.copy(measurements_key(source.id), measurements_key(target_id))


def kept_facts(store: Store, row: Inspection) -> Measurements:
    """The facts without the pages' lines. Raises :class:`Missing`."""
    return Measurements.model_validate_json(store.bytes.read(measurements_key(row.id)))


def kept_book(store: Store, row: Inspection) -> Book:
    """How the book is built. Raises :class:`Missing`."""
    return Book.model_validate_json(store.bytes.read(book_key(row.id)))


def kept_measurements(store: Store, row: Inspection) -> Measurements:
    """The facts with the pages' lines. Raises :class:`Missing`."""
    facts = kept_facts(store, row)
    lines = _LINES.validate_json(store.bytes.read(lines_key(row.id)))
    return facts.model_copy(update={"pages": tuple(map(_with_lines, facts.pages, lines))})


def _with_lines(page: Page, lines: tuple[Line, ...]) -> Page:
    return page.model_copy(update={"lines": lines})


def _copy_measured(store: Store, source_id: str, target_id: str) -> None:
    for key_of in (lines_key, book_key):
        store.bytes.copy(key_of(source_id), key_of(target_id))


def _write_facts(store: Store, inspection_id: str, measurements: Measurements) -> None:
    facts = measurements.model_dump_json(exclude=_WITHOUT_LINES)
    store.bytes.write(measurements_key(inspection_id), facts.encode())
