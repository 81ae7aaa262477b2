"""From measurements to a kept report: judge, compose, set as a page, store."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from datetime import datetime
from itertools import chain, islice

from worker.judge import judge
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
    measurements_key,
    new_inspection_id,
    report_key,
)

MOST_PICTURES = 24
"""Pages of a report that are drawn unasked."""

_one_book = threading.Lock()
"""A long book's measurements fill many megabytes: where several threads are asked, they take them up one by one."""


@dataclass(frozen=True)
class Case:
    """What is judged: the facts, when they were measured, the profile, and as a book of how many pages."""

    measurements: Measurements
    measured_at: datetime
    profile: Profile
    judged_as_pages: int | None = None


def keep_report(store: Store, inspection_id: str, case: Case) -> Report:
    """Judge, and keep the measurements and the report, as data and as a page, as the inspection's objects."""
    measurements, profile = case.measurements, case.profile
    report = _judged(case)
    store.bytes.write(measurements_key(inspection_id), measurements.model_dump_json().encode())
    store.bytes.write(report_key(inspection_id, "html"), render_html(report, measurements, profile).encode())
    store.bytes.write(report_key(inspection_id), report.model_dump_json().encode())
    return report


def kept_page(store: Store, row: Inspection) -> bytes:
    """The report of a finished inspection as an HTML page; set now, and kept, where nobody has read it yet.

    Raises :class:`Missing`.
    """
    key = report_key(row.id, "html")
    try:
        return store.bytes.read(key)
    except Missing:
        report = Report.model_validate_json(store.bytes.read(report_key(row.id)))
    profile = Profile.model_validate_json(row.profile_json)
    with _one_book:
        page = render_html(report, kept_measurements(store, row), profile).encode()
    store.bytes.write(key, page)
    if store.rows.get(row.id) is None:
        store.bytes.delete_all(row.id)
        raise Missing(key)
    return page


def kept_measurements(store: Store, row: Inspection) -> Measurements:
    """The measurements that a finished inspection owns. Raises :class:`Missing`."""
    return Measurements.model_validate_json(store.bytes.read(measurements_key(row.id)))


def measured_before(store: Store, row: Inspection, reader: str) -> tuple[Measurements, datetime] | None:
    """Measurements of the same bytes by this reader, whoever uploaded them, under this row's own file name."""
    earlier = store.rows.measured_before(row.sha256, reader)
    if earlier is None or earlier.measured_at is None:
        return None
    try:
        found = kept_measurements(store, earlier)
    except Missing:  # deleted in between
        return None
    return found.model_copy(update={"file": found.file.model_copy(update={"name": row.file_name})}), earlier.measured_at


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
    store: Store, row: Inspection, profile: Profile, *, judged_as_pages: int | None = None
) -> tuple[Inspection, Report]:
    """A new inspection of the same owner: the kept measurements of ``row``, which is done, judged by another profile.

    Nothing is measured, and the report's page is set when somebody reads it: the answer comes at once. The objects are
    its own, so that either inspection may be deleted. Raises :class:`Missing` where the measurements are gone.
    """
    new = NewInspection(
        id=new_inspection_id(),
        owner=row.owner,
        file_name=row.file_name,
        sha256=row.sha256,
        bytes=row.bytes,
        title=row.title,
        profile_id=profile.id,
        profile_json=profile.model_dump_json(),
        judged_as_pages=judged_as_pages,
    )
    report, end = _judged_from_kept(store, row, new, profile)
    try:
        store.bytes.copy(file_key(row.id), file_key(new.id))
        store.bytes.copy(measurements_key(row.id), measurements_key(new.id))
        store.bytes.write(report_key(new.id), report.model_dump_json().encode())
        return store.rows.create_done(new, end), report
    except BaseException:
        store.bytes.delete_all(new.id)
        raise


def _judged_from_kept(store: Store, row: Inspection, new: NewInspection, profile: Profile) -> tuple[Report, Finished]:
    with _one_book:
        measurements = kept_measurements(store, row)
        report = _judged(Case(measurements, row.measured_at or row.created_at, profile, new.judged_as_pages))
        return report, finished(report, measurements)


def _judged(case: Case) -> Report:
    judgement = judge(case.measurements, case.profile, judged_as_pages=case.judged_as_pages)
    return compose(case.measurements, judgement, case.profile, measured_at=case.measured_at)


def pages_to_draw(report: Report) -> list[int]:
    """The pages whose pictures a reader will want: those with marks first, then others with a finding, in order."""
    marked = (mark.page for finding in report.findings for mark in finding.marks)
    touched = (page for finding in report.findings for page in finding.pages)
    there = (page for page in chain(marked, touched) if 1 <= page <= report.pages)
    return sorted(islice(dict.fromkeys(there), MOST_PICTURES))
