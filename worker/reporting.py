"""From what is known of a file to a kept report: judge, compose, set as a page, store."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from itertools import chain, islice

from worker.compare import Earlier, NoReport, compared, earlier_report
from worker.judge import judge
from worker.keeping import ONE_BOOK, Known, kept_book, kept_facts, kept_measurements, kept_traces, share_known
from worker.logs import request_id
from worker.measure.models import Measurements
from worker.profiles import Profile
from worker.report.compose import compose
from worker.report.html import render_html
from worker.report.models import Report
from worker.store import (
    Finished,
    Inspection,
    Missing,
    NewInspection,
    Store,
    file_key,
    new_inspection_id,
    pictured_key,
    report_key,
)
from worker.store.models import now

log = logging.getLogger(__name__)

MOST_PICTURES = 24
"""Pages of a report that are drawn unasked."""


def keep_report(
    store: Store,
    inspection_id: str,
    known: Known,
    profile: Profile,
    *,
    judged_as_pages: int | None = None,
    earlier: Earlier | None = None,
) -> Report:
    """Judge what is known by this profile, and keep the report as data; :func:`kept_page` sets it.

    With an ``earlier`` report it says what has changed since.
    """
    report = _judged(known, profile, judged_as_pages)
    if earlier is not None:
        report = compared(report, earlier)
    store.bytes.write(report_key(inspection_id), report.model_dump_json().encode())
    return report


def earlier_of(store: Store, row: Inspection) -> Earlier | None:
    """The report that this inspection is to be compared with; None where none is, or where it has been deleted.

    It was the owner's when it was asked for, and is looked for among the owner's again.
    """
    return _earlier(store, row)


def _earlier(store: Store, row: Inspection | NewInspection) -> Earlier | None:
    if row.against is None or store.rows.get(row.against, row.owner) is None:
        return None
    try:
        return earlier_report(store.bytes.read(report_key(row.against)))
    except (Missing, NoReport) as error:
        log.info("%s: not compared with %s: %s", row.id, row.against, error)
        return None


def kept_page(store: Store, row: Inspection) -> bytes:
    """The report of a finished inspection as an HTML page, as it is now: with pictures once they are made.

    Before that, and once their day has come, it is without; set now, and kept, where nobody has read it yet. Nothing
    is waited for. Raises :class:`Missing`.
    """
    key = report_key(row.id, "html")
    for there in (pictured_key(row.id), key) if row.has_pictures else (key,):
        with suppress(Missing):
            return store.bytes.read(there)
    page = set_page(store, row)
    store.bytes.write(key, page)
    if store.rows.get(row.id) is None:
        store.bytes.delete_all(row.id)
        raise Missing(key)
    return page


def set_page(store: Store, row: Inspection, pictures: Mapping[int, bytes] | None = None) -> bytes:
    """The report of a finished inspection as an HTML page, with these pictures (WebP by page)."""
    report = Report.model_validate_json(store.bytes.read(report_key(row.id)))
    profile = Profile.model_validate_json(row.profile_json)
    with ONE_BOOK:
        return render_html(report, kept_measurements(store, row), profile, pictures=pictures).encode()


def finished(report: Report, measurements: Measurements) -> Finished:
    """What the row keeps of a report."""
    return Finished(
        verdict=report.verdict.value,
        reader=measurements.reader,
        measured_at=report.measured_at,
        pages=measurements.document.pages,
        title=measurements.document.title,
    )


def judge_again(
    store: Store,
    row: Inspection,
    profile: Profile,
    *,
    judged_as_pages: int | None = None,
    title: str | None = None,
    against: str | None = None,
) -> tuple[Inspection, Report]:
    """A new inspection of the same owner: the kept measurements of ``row``, which is done, judged by another profile.

    Nothing is measured, and the report's page is set when somebody reads it: the answer comes at once. The objects are
    its own, so that either inspection may be deleted. ``title`` goes before the row's, and ``against`` is the id of the
    owner's inspection to compare with. The file's day stays the same, and
    where it has come the new inspection has none. Raises :class:`Missing` where the measurements are gone, and
    :class:`OverQuota`.
    """
    new = NewInspection(
        id=new_inspection_id(),
        owner=row.owner,
        file_name=row.file_name,
        sha256=row.sha256,
        bytes=row.bytes,
        title=title or row.title,
        profile_id=profile.id,
        profile_json=profile.model_dump_json(),
        judged_as_pages=judged_as_pages,
        against=against,
        request_id=request_id(),
        file_expires_at=row.file_until,
    )
    known = Known(
        kept_facts(store, row), row.measured_at or row.created_at, kept_book(store, row), kept_traces(store, row)
    )
    try:
        new = replace(new, file_deleted_at=None if _file_copied(store, row, new.id) else row.file_deleted_at or now())
        share_known(store, row, new.id)
        earlier = _earlier(store, new)
        report = keep_report(store, new.id, known, profile, judged_as_pages=judged_as_pages, earlier=earlier)
        return store.rows.create_done(new, finished(report, known.facts)), report
    except BaseException:
        store.bytes.delete_all(new.id)
        raise


def _file_copied(store: Store, row: Inspection, target_id: str) -> bool:
    """Give another inspection the same file; False where it is there no more."""
    if not row.has_file:
        return False
    try:
        store.bytes.copy(file_key(row.id), file_key(target_id))
    except Missing:  # its day has just come
        return False
    return True


def _judged(known: Known, profile: Profile, judged_as_pages: int | None) -> Report:
    judgement = judge(known.facts, profile, book=known.book, judged_as_pages=judged_as_pages)
    return compose(known.facts, known.book, judgement, profile, measured_at=known.measured_at, traces=known.traces)


def pages_to_draw(report: Report) -> list[int]:
    """The pages whose pictures a reader will want: those with marks first, then others with a finding, in order."""
    marked = (mark.page for finding in report.findings for mark in finding.marks)
    touched = (page for finding in report.findings for page in finding.pages)
    there = (page for page in chain(marked, touched) if 1 <= page <= report.pages)
    return sorted(islice(dict.fromkeys(there), MOST_PICTURES))
