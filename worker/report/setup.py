"""The numbers to set: what a person types where the book was set so that the printer's size and margins are kept, and
what the book becomes by it.

A wider margin narrows the text, and a longer book may be asked for a wider margin still, or be too long for its size:
the numbers are worked out for the length that the book will have with them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from worker.book import Book
from worker.judge.case import Case
from worker.judge.models import Judgement
from worker.judge.page import intended_trim, is_meant_otherwise
from worker.measure.models import Measurements
from worker.profiles import Profile
from worker.profiles.models import Trim
from worker.report.folio_start import folio_start
from worker.report.foretold import Frame, pages_in
from worker.report.frames import Seat, head_of_frame, seat_of
from worker.report.gutter import gutter, mirrored
from worker.report.margins import Case as MarginCase
from worker.report.margins import Margins, block_margins, case_of, rounded_down, rounded_up, running_lines
from worker.report.models import AfterSetup, Setting
from worker.report.picture_size import picture_widths
from worker.report.sheets import usual_size
from worker.words import told

SAFE = 0.02
"""The estimate may be so much short of what the book will have; a margin too small would cost another try."""

_OPEN_EDGES = {"page-boxes/no-trim", "page-boxes/trim-beyond-media"}


@dataclass(frozen=True)
class Settled:
    """The numbers to type, and what becomes of the book; None for a file without pages."""

    settings: tuple[Setting, ...] = ()
    after: AfterSetup | None = None

    @property
    def fits(self) -> bool:
        return self.after is not None and self.after.fits


def setup(measurements: Measurements, book: Book, judgement: Judgement, profile: Profile) -> Settled:
    """Paper, margins and gutter as measured, as asked, and as they are to be typed.

    A value is to be typed only where a finding of this judgement asks for it, or where the book grows by what is typed.
    """
    if not measurements.pages:
        return Settled()
    job = _Job(measurements, book, judgement, profile)
    meant, *others = job.trims()
    first = job.settled(meant)
    if first.fits:
        return first
    return next((each for trim in others if (each := job.settled(trim)).fits), first)


class _Length(NamedTuple):
    """Pages that the book is expected to have, and may have at most."""

    expected: int
    most: int


class _Job:
    """One file for one printer."""

    def __init__(self, measurements: Measurements, book: Book, judgement: Judgement, profile: Profile) -> None:
        self._measurements, self._book, self._judgement, self._profile = measurements, book, judgement, profile
        self._found = {finding.rule for finding in judgement.findings}
        self._size = usual_size(measurements.pages)
        case = Case(measurements, profile, judgement.judged_as_pages)
        self._present, self._meant_otherwise = intended_trim(case), is_meant_otherwise(case)
        self._seat = seat_of(measurements.document, book.flow) if book.flow else Seat(0.0, 0.0)
        self._others = (*folio_start(book, judgement), *picture_widths(measurements, judgement, profile))

    def trims(self) -> Sequence[Trim]:
        """The size that the book is meant for, then the printer's others, the closest first."""
        others = [trim for trim in self._profile.interior.trims if trim is not self._present]
        return [self._present, *sorted(others, key=self._off)]

    def settled(self, trim: Trim) -> Settled:
        """The numbers for one trim, at the first length that asks for no more inside than they give."""
        inside_at = self._profile.interior.margins.inside_at
        lengths = sorted({1, *(step.pages + 1 for step in self._profile.interior.margins.inside if step.pages)})
        for length in lengths:
            settings, frame = self._numbers(trim, length)
            after = self._length(frame)
            if after is None or (inside_at(after.most) or 0.0) <= (inside_at(length) or 0.0):
                break
        pages = after.expected if after and not self._meant_otherwise else None
        fits = after is not None and self._takes(trim, after)
        return Settled(settings, AfterSetup(pages=pages, trim=(trim.width, trim.height), fits=fits))

    def _numbers(self, trim: Trim, length: int) -> tuple[tuple[Setting, ...], Frame | None]:
        case = case_of(self._measurements, self._book, self._judgement, self._profile, length)
        lines, margins = running_lines(block_margins(case), case)
        margins = mirrored(margins, case)
        paper = list(self._paper(trim))
        margins = self._with_foot(margins, paper, case)
        settings = (*paper, *margins.values(), *lines, *gutter(margins, case), *self._others)
        return settings, self._frame(margins, case, paper)

    def _frame(self, margins: Margins, case: MarginCase, paper: Sequence[Setting]) -> Frame | None:
        """The block once everything is typed; None where there is none to be seen."""
        inside, outside = case.block.odd_inside(case.bound_at), case.block.odd_outside(case.bound_at)
        if inside is None or outside is None or self._meant_otherwise:
            return None
        width, height = (_then(each, side) for each, side in zip(paper, self._size, strict=True))
        return Frame(
            measure=width - _then(margins["inside"], inside.usual) - _then(margins["outside"], outside.usual),
            present=self._size[0] - inside.usual - outside.usual,
            depth=self._depth(height, margins["head"], margins["foot"]),
            drawn_in=self._seat.drawn_in,
        )

    def _with_foot(self, margins: Margins, paper: Sequence[Setting], case: MarginCase) -> Margins:
        """Where the depth of the block changes, its foot is typed as it is: nothing shows how much room the frame has
        below the last line, and the book would come out longer or shorter by a line a page."""
        grid, foot, edge, unit = self._book.grid, margins["foot"], case.edge("foot"), case.unit
        changes = foot.set is None and any(each.set is not None for each in (paper[1], margins["head"]))
        if not changes or self._book.flow is None or grid is None or edge is None or self._meant_otherwise:
            return margins
        now = grid.foot - self._seat.below
        value = rounded_down(now, unit)
        if edge.worst - (now - value) < (case.asked["foot"] or 0.0):
            value = rounded_up(now, unit)
        return (
            margins | {"foot": foot.model_copy(update={"set": value, "note": told("setup.notes.stays")})}
            if value > 0
            else margins
        )

    def _depth(self, height: float, head: Setting, foot: Setting) -> float | None:
        grid, seat = self._book.grid, self._seat
        if self._book.flow is None or grid is None or (height == self._size[1] and head.set is foot.set is None):
            return None
        margins = _then(head, head_of_frame(grid, seat)) + _then(foot, grid.foot - seat.below)
        return height - margins - seat.above - seat.below

    def _length(self, frame: Frame | None) -> _Length | None:
        """The length of the whole book in a frame: as long as now where the frame stays; None where none is told."""
        judged, measured = self._judgement.judged_as_pages, len(self._measurements.pages)
        if frame is None or (frame.measure == frame.present and frame.depth is None):
            return _Length(judged, judged)
        pages = pages_in(self._book, frame)
        if pages is None:
            return None
        expected = judged + round((pages - measured) * judged / measured)
        return _Length(expected, math.ceil(expected * (1 + SAFE)))

    def _takes(self, trim: Trim, length: _Length) -> bool:
        count = self._profile.interior.page_count_of(trim)
        return (count.least or 0) <= length.expected and length.most <= (count.most or length.most)

    def _off(self, trim: Trim) -> float:
        return max(abs(trim.width - self._present.width), abs(trim.height - self._present.height))

    def _paper(self, trim: Trim) -> Iterator[Setting]:
        """The trimmed size; where the file's is not taken, the one of the printer's that is."""
        open_edge = not _OPEN_EDGES.isdisjoint(each.key for each in self._judgement.findings)
        wrong = "trim-size" in self._found or (open_edge and self._profile.interior.trim_near(*self._size) is None)
        note = self._why_other() if trim is not self._present else told("setup.notes.this-size") if wrong else None
        changes = note is not None
        if note and trim.name:
            note = told("setup.notes.named", note=note.removesuffix("."), name=trim.name)
        sides = (("paper-width", self._size[0], trim.width), ("paper-height", self._size[1], trim.height))
        for name, measured, asked in sides:
            yield Setting(name=name, measured=measured, required=asked, set=asked if changes else None, note=note)
            note = None

    def _why_other(self) -> str:
        return told(f"setup.notes.{'other-size' if 'page-count' in self._found else 'longer-then'}")


def _then(setting: Setting, now: float) -> float:
    """A length once everything is typed."""
    return setting.set if setting.set is not None else now
