"""From measurements and a judgement to the report as data. Pure: same input, same output, no file access."""

from __future__ import annotations

from datetime import datetime

from worker import version
from worker.book import Book
from worker.judge.models import Judgement
from worker.measure.models import Measurements
from worker.profiles import Profile
from worker.report.models import JudgedBy, Report
from worker.report.outlook import with_numbers
from worker.report.setup import setup


def compose(
    measurements: Measurements,
    book: Book,
    judgement: Judgement,
    profile: Profile,
    *,
    measured_at: datetime,
    traces: tuple[str, ...] = (),
) -> Report:
    """The report on one file for one printer.

    ``traces`` are those of :func:`worker.book.traces.traces`; without them pages cannot be followed into another file.
    """
    settled = setup(measurements, book, judgement, profile)
    return Report(
        verdict=judgement.verdict,
        summary=judgement.summary,
        profile=JudgedBy(id=profile.id, name=profile.name, revision=profile.revision),
        file=measurements.file,
        pages=measurements.document.pages,
        judged_as_pages=judgement.judged_as_pages,
        findings=tuple(with_numbers(judgement.findings, settled.settings, profile.unit)),
        setup=settled.settings,
        after_setup=settled.after,
        book=book if book.pages else None,
        not_checked=judgement.not_checked,
        traces=traces,
        measured_at=measured_at,
        pressworthy_version=version(),
    )
