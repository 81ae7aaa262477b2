"""A flawed book and the mended one, set by Typst; where things went from one to the other, by Typst's own layout."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from tests.books.designs.by_typst import FRONT, Design, Layout, layout, prose, set_by_typst
from tests.books.designs.sound import PLAIN, SOUND
from worker.compare import Earlier, earlier_report
from worker.judge import judge
from worker.measure import measure
from worker.profiles import load_profile
from worker.reading import Reading, reading_of
from worker.report.compose import compose
from worker.report.models import Report

PRINTER = "common-paperback"
WHEN = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
MORE_FRONT = (*FRONT, "epigraph", "half")
"""Two leaves more before the text; a part of the front matter takes a recto."""

LONG = PLAIN.but(chapters=prose(count=8, words=3000, titles=tuple(f"The Tide of {n} Bells" for n in range(3, 11))))

RESET: dict[str, tuple[Design, Design]] = {
    "wider margins": (PLAIN, PLAIN.but(outside=60.0, front=MORE_FRONT)),
    "narrower margins": (PLAIN.but(outside=72.0, openings="any"), PLAIN.but(openings="any", front=FRONT[:-2])),
    "short chapters": (
        SOUND["forty short chapters"],
        SOUND["forty short chapters"].but(outside=80.0, front=MORE_FRONT),
    ),
    "poems": (SOUND["poems"], SOUND["poems"].but(outside=80.0, front=MORE_FRONT)),
    "german": (SOUND["german"], SOUND["german"].but(outside=60.0, front=MORE_FRONT)),
    "long, of words that come again": (LONG, LONG.but(outside=60.0, front=MORE_FRONT)),
}
"""The same words set twice: other margins, so that paragraphs break and fall elsewhere, and other front matter."""


@dataclass(frozen=True)
class Book:
    """A book that was set, its layout as Typst tells it, and what was read of it."""

    path: Path
    layout: Layout
    reading: Reading

    @property
    def report(self) -> Report:
        profile = load_profile(PRINTER)
        judgement = judge(self.reading.facts, profile, book=self.reading.book)
        return compose(
            self.reading.facts,
            self.reading.book,
            judgement,
            profile,
            measured_at=WHEN,
            traces=self.reading.traces,
        )


def made(design: Design, path: Path) -> Book:
    """Set a book, and read it."""
    set_by_typst(design, path)
    return Book(path, layout(design), reading_of(measure(path)))


def as_earlier(report: Report) -> Earlier:
    """A report as it is taken up again from its JSON."""
    return earlier_report(report.model_dump_json().encode())


def went(old: Layout, new: Layout) -> Mapping[int, set[int]]:
    """For each old page with the start or the end of a paragraph, the new pages where those now are."""
    places: dict[int, set[int]] = {}
    for before, after in ((old.starts, new.starts), (old.ends, new.ends)):
        for name, spot in before.items():
            places.setdefault(spot.page, set()).add(after[name].page)
    return places
