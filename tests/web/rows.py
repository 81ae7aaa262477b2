"""Rows in every state, with objects small enough to read."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

from worker.judge.models import Finding, Weight
from worker.measure.models import File
from worker.profiles import builtin_profiles
from worker.report.models import JudgedBy, Report
from worker.store import (
    LOCAL,
    Beside,
    Finished,
    Inspection,
    NewInspection,
    Store,
    asked_for,
    file_key,
    measurements_key,
    new_inspection_id,
    report_key,
)

WHEN = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
REPORT_HTML = "<!DOCTYPE html><title>Report</title><p>The report of a book."


def new(store: Store, title: str | None = "The Long Mole", *, owner: str = LOCAL, **given: str) -> NewInspection:
    """What is known at intake, its file being kept."""
    profile = builtin_profiles()[given.get("profile", "ternhaven-mono")]
    inspection_id = new_inspection_id()
    kept = store.bytes.write(file_key(inspection_id), b"%PDF-1.4")
    return NewInspection(
        id=inspection_id,
        owner=owner,
        file_name=given.get("file_name", "long-mole.pdf"),
        sha256=kept.sha256,
        bytes=kept.bytes,
        profile_id=profile.id,
        profile_json=profile.model_dump_json(),
        title=title,
    )


def queued(store: Store, title: str | None = "The Long Mole", *, owner: str = LOCAL, **given: str) -> Inspection:
    """One that waits."""
    return store.rows.create(new(store, title, owner=owner, **given))


def called(store: Store, *, owner: str = LOCAL) -> Inspection:
    """One that was stopped, and whose call went wrong once."""
    asked = new(store, owner=owner)
    call = asked_for(asked.id, owner=owner, signer=owner, key_mark="0" * 16, url="https://hooks.tern-island.example/")
    row = store.rows.create(asked, Beside(call=call))
    store.rows.cancel(row.id)
    tried = store.callbacks.claim(lambda _: "{}", most=9)
    assert tried is not None
    store.callbacks.settle(tried, waits=(60,), status=500, problem="it answered with 500", taken=False, unwanted=False)
    return row


def measuring(store: Store, done: int, total: int, *, owner: str = LOCAL) -> Inspection:
    """One that a worker has in hand."""
    row = store.rows.claim(queued(store, owner=owner).id)
    assert row is not None
    assert store.rows.renew(row, done=done, total=total)
    return row


def done(
    store: Store,
    title: str | None = "The Long Mole",
    *,
    verdict: str = "not-pressworthy",
    flagged: Sequence[int] = (3, 4),
    owner: str = LOCAL,
    **given: str,
) -> Inspection:
    """One with a report of one finding on the pages ``flagged``."""
    asked = new(store, title, owner=owner, **given)
    store.bytes.write(report_key(asked.id), _report(asked, verdict, flagged).model_dump_json().encode())
    store.bytes.write(report_key(asked.id, "html"), REPORT_HTML.encode())
    store.bytes.write(measurements_key(asked.id), b'{"schema": "pressworthy.measurements/1"}')
    return store.rows.create_done(asked, Finished(verdict, "test", WHEN, 12))


def _report(asked: NewInspection, verdict: str, flagged: Sequence[int]) -> Report:
    return Report(
        verdict=verdict,
        summary="One finding.",
        profile=JudgedBy(id=asked.profile_id, name="Ternhaven Digital", revision="2026-11"),
        file=File(name=asked.file_name, sha256=asked.sha256, bytes=asked.bytes),
        pages=12,
        judged_as_pages=12,
        findings=(_finding(flagged),) if flagged else (),
        setup=(),
        after_setup=None,
        not_checked=(),
        measured_at=WHEN,
        pressworthy_version="0",
    )


def _finding(flagged: Sequence[int]) -> Finding:
    return Finding(
        rule="inside-margin",
        key="inside-margin",
        weight=Weight.REFUSAL,
        title="Text too near the spine",
        detail="",
        effect="",
        remedy="",
        pages=tuple(flagged),
        page_ranges="",
        count=len(flagged),
        measured=None,
        required=None,
        marks=(),
    )
