"""What comes of reading one file: its facts, the lines of its pages, and what is read from both, the book and the
traces of its pages.

The lines are nine tenths of all that is known of a long book, and judging does without them: they travel and are kept
as they are written, and are only taken up where somebody looks at them.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from pydantic import TypeAdapter

from worker.book import Book, read_book
from worker.book.traces import traces
from worker.measure.models import Line, Measurements

FACTS, LINES, BOOK, TRACES = "facts.json", "lines.json", "book.json", "traces.json"
PAGE = "page"
"""Beside them: the page that the reader is at, see ``worker.measure.whereabouts``."""

_LINES = TypeAdapter(tuple[tuple[Line, ...], ...])
_TRACES = TypeAdapter(tuple[str, ...])


@dataclass(frozen=True)
class Reading:
    """``facts`` are without lines; ``lines`` is JSON, an array a page; ``traces`` has a short text for each page."""

    facts: Measurements
    lines: bytes
    book: Book
    traces: tuple[str, ...] = ()

    @cached_property
    def measurements(self) -> Measurements:
        """The facts with the lines in their places. Raises ``ValueError`` where the lines are none."""
        return with_lines(self.facts, self.lines)

    def named(self, name: str) -> Reading:
        """The same reading of a file that goes by another name."""
        return replace(
            self, facts=self.facts.model_copy(update={"file": self.facts.file.model_copy(update={"name": name})})
        )


def reading_of(measurements: Measurements) -> Reading:
    """Read the book from measurements with lines, and part them."""
    pages = tuple(page.model_copy(update={"lines": ()}) for page in measurements.pages)
    return Reading(
        facts=measurements.model_copy(update={"pages": pages}),
        lines=_LINES.dump_json(tuple(page.lines for page in measurements.pages)),
        book=read_book(measurements),
        traces=traces(measurements.pages),
    )


def with_lines(facts: Measurements, lines: bytes) -> Measurements:
    """Facts with the lines of their pages, given as JSON."""
    every_line = _LINES.validate_json(lines)
    paired = zip(facts.pages, every_line, strict=True)
    return facts.model_copy(update={"pages": tuple(page.model_copy(update={"lines": own}) for page, own in paired)})


def facts_json(facts: Measurements) -> bytes:
    """Facts as they are kept and shown, without a word of the lines that are not there."""
    return facts.model_dump_json(exclude={"pages": {"__all__": {"lines"}}}).encode()


def traces_json(traces: tuple[str, ...]) -> bytes:
    """The traces of all pages as they are kept."""
    return _TRACES.dump_json(traces)


def traces_from(data: bytes) -> tuple[str, ...]:
    """What :func:`traces_json` made. Raises ``ValueError``."""
    return _TRACES.validate_json(data)


def leave(reading: Reading, folder: Path) -> None:
    """Leave a reading in a folder, the facts last: where they are, all is."""
    for name, content in (
        (LINES, reading.lines),
        (BOOK, reading.book.model_dump_json().encode()),
        (TRACES, traces_json(reading.traces)),
        (FACTS, facts_json(reading.facts)),
    ):
        part = folder / f"{name}.part"
        part.write_bytes(content)
        os.replace(part, folder / name)


def found_in(folder: Path) -> Reading:
    """The reading that was left in a folder. Raises ``FileNotFoundError``, or ``ValueError`` for what is none."""
    facts = Measurements.model_validate_json((folder / FACTS).read_bytes())
    book = Book.model_validate_json((folder / BOOK).read_bytes())
    traced = traces_from((folder / TRACES).read_bytes())
    return Reading(facts=facts, lines=(folder / LINES).read_bytes(), book=book, traces=traced)
