"""What is kept of a file that was measured: the parts of its reading."""

from __future__ import annotations

import threading
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime

from worker.book import Book
from worker.measure.models import Measurements
from worker.reading import Reading, facts_json, traces_from, traces_json, with_lines
from worker.store import Inspection, Missing, Store, book_key, lines_key, measurements_key, traces_key

ONE_BOOK = threading.Lock()
"""A long book's lines fill many megabytes: where several threads want them, they take them up one by one."""


@dataclass(frozen=True)
class Known:
    """The facts of a file, without lines, when they were measured, how the book is built, and its pages' traces."""

    facts: Measurements
    measured_at: datetime
    book: Book
    traces: tuple[str, ...] = ()


def keep_reading(store: Store, inspection_id: str, reading: Reading, measured_at: datetime) -> Known:
    """Keep the parts as the inspection's objects; they are durable once this returns."""
    store.bytes.write(lines_key(inspection_id), reading.lines)
    store.bytes.write(book_key(inspection_id), reading.book.model_dump_json().encode())
    store.bytes.write(traces_key(inspection_id), traces_json(reading.traces))
    store.bytes.write(measurements_key(inspection_id), facts_json(reading.facts))
    return Known(reading.facts, measured_at, reading.book, reading.traces)


def known_before(store: Store, row: Inspection, reader: str) -> Known | None:
    """What is known of the same bytes by this reader, whoever uploaded them; made the row's own, under its file name.

    None where nobody has measured them yet.
    """
    earlier = store.rows.measured_before(row.sha256, reader)
    if earlier is None or earlier.measured_at is None:
        return None
    try:
        facts, book = kept_facts(store, earlier), kept_book(store, earlier)
        traces = traces_from(store.bytes.read(traces_key(earlier.id)))
        if earlier.id != row.id:
            _copy_measured(store, earlier.id, row.id)
            facts = facts.model_copy(update={"file": facts.file.model_copy(update={"name": row.file_name})})
            store.bytes.write(measurements_key(row.id), facts_json(facts))
    except Missing:  # deleted in between, or never kept
        return None
    return Known(facts, earlier.measured_at, book, traces)


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


def kept_traces(store: Store, row: Inspection) -> tuple[str, ...]:
    """The traces of all pages; none where it was measured before they were kept."""
    try:
        return traces_from(store.bytes.read(traces_key(row.id)))
    except Missing:
        return ()


def kept_measurements(store: Store, row: Inspection) -> Measurements:
    """The facts with the pages' lines. Raises :class:`Missing`."""
    return with_lines(kept_facts(store, row), store.bytes.read(lines_key(row.id)))


def _copy_measured(store: Store, source_id: str, target_id: str) -> None:
    for key_of in (lines_key, book_key):
        store.bytes.copy(key_of(source_id), key_of(target_id))
    with suppress(Missing):  # it was measured before they were kept
        store.bytes.copy(traces_key(source_id), traces_key(target_id))
