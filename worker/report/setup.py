"""The numbers to set: what a person types where the book was set so that the printer's size and margins are kept."""

from __future__ import annotations

from collections.abc import Iterable

from worker.book import Book
from worker.judge.case import Case
from worker.judge.models import Judgement
from worker.judge.page import intended_trim
from worker.measure.models import Measurements
from worker.profiles import Profile
from worker.profiles.models import Trim
from worker.report.folio_start import folio_start
from worker.report.gutter import gutter, mirrored
from worker.report.margins import block_margins, case_of, running_lines
from worker.report.models import Setting
from worker.report.sheets import usual_size


def setup(measurements: Measurements, book: Book, judgement: Judgement, profile: Profile) -> tuple[Setting, ...]:
    """Paper, margins and gutter as measured, as asked, and as they are to be typed; none for a file without pages.

    A value is to be typed only where a finding of this judgement asks for it.
    """
    if not measurements.pages:
        return ()
    case = case_of(measurements, book, judgement, profile)
    lines, margins = running_lines(block_margins(case), case)
    margins = mirrored(margins, case)
    paper = _paper(measurements, judgement, profile)
    return (*paper, *margins.values(), *lines, *gutter(margins, case), *folio_start(book, judgement))


def _paper(measurements: Measurements, judgement: Judgement, profile: Profile) -> Iterable[Setting]:
    """The trimmed size; where the file's is not taken, the closest of the printer's that takes so many pages."""
    size = usual_size(measurements.pages)
    present = intended_trim(Case(measurements, profile, judgement.judged_as_pages))
    able = closest_trim(profile, (present.width, present.height), judgement.judged_as_pages)
    found = {finding.rule for finding in judgement.findings}
    open_edge = {"page-boxes/no-trim", "page-boxes/trim-beyond-media"} & {each.key for each in judgement.findings}
    wrong = "trim-size" in found or (open_edge and profile.interior.trim_near(*size) is None)
    too_long = "page-count" in found and able != present
    changes = wrong or too_long
    trim = able if changes else present
    note = None
    if changes:
        why = "takes a book of so many pages" if too_long else "this printer cuts"
        note = f"The closest size that {why}{f': {trim.name}' if trim.name else ''}."
    for name, measured, asked in (("paper-width", size[0], trim.width), ("paper-height", size[1], trim.height)):
        yield Setting(name=name, measured=measured, required=asked, set=asked if changes else None, note=note)
        note = None


def closest_trim(profile: Profile, size: tuple[float, float], pages: int) -> Trim:
    """The profile's trim closest to ``size`` (points) of those that take so many pages; of all where none does."""
    interior = profile.interior

    def takes(trim: Trim) -> bool:
        count = interior.page_count_of(trim)
        return (count.least or 0) <= pages <= (count.most or pages)

    able = [trim for trim in interior.trims if takes(trim)] or list(interior.trims)
    return min(able, key=lambda trim: max(abs(trim.width - size[0]), abs(trim.height - size[1])))
