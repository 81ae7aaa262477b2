"""How an inspection ends, through a real queue: cancelled, at a limit, by a fault of ours, with a report."""

from __future__ import annotations

import json
import threading
from pathlib import Path

import pytest

from tests.queue.workshop import Workshop
from worker.attempt import Bench, inspect_once
from worker.limits import Limits
from worker.measure.version import READER_VERSION
from worker.profiles import builtin_profiles
from worker.report.models import Report
from worker.reporting import judge_again, pages_to_draw
from worker.store import Store, file_key, measurements_key, picture_key, report_key

PNG = b"\x89PNG\r\n\x1a\n"
"""The signature of a PNG file (ISO/IEC 15948, 5.2)."""


def test_cancelling_a_running_one_frees_its_worker(open_workshop: Workshop) -> None:
    row = open_workshop.upload("sleeps")
    after = open_workshop.upload("works")
    open_workshop.in_the_middle(row)
    assert open_workshop.store.rows.position(after) == 1
    cancelled = open_workshop.store.rows.cancel(row.id)
    assert cancelled is not None
    assert cancelled.state == "cancelled"
    open_workshop.wait(after, state="done")
    assert open_workshop.row(row).state == "cancelled"
    assert open_workshop.store.bytes.size(report_key(row.id)) is None


def test_a_limit_is_a_failure_that_names_it_and_the_page(open_workshop: Workshop) -> None:
    failure = open_workshop.wait(open_workshop.upload("names-a-limit"), state="failed").failure
    assert failure is not None
    assert (failure["code"], failure["page"], failure["attempt"]) == ("limit", 212, 1)
    assert failure["message"] == "page 212 inflates past 1 GB"
    assert "larger limit" in failure["help"]


def test_a_fault_of_the_reader_is_told_at_once(open_workshop: Workshop) -> None:
    failure = open_workshop.wait(open_workshop.upload("breaks"), state="failed").failure
    assert failure is not None
    assert (failure["code"], failure["attempt"]) == ("reader", 1)
    assert "Traceback" not in json.dumps(failure)


def test_trouble_that_does_not_pass_ends_after_three_attempts(open_workshop: Workshop) -> None:
    row = open_workshop.upload("works", profile_json="{}")
    failure = open_workshop.wait(row, state="failed").failure
    assert failure is not None
    assert (failure["code"], failure["attempt"]) == ("fault", 3)
    assert "own" in failure["help"]


def test_a_file_that_has_gone_is_said_to_have(open_workshop: Workshop) -> None:
    row = open_workshop.upload("works", ring=False)
    open_workshop.store.bytes.delete_all(row.id)
    failure = open_workshop.wait(row, state="failed").failure
    assert failure is not None
    assert failure["code"] == "file-gone"


@pytest.mark.sqlite_folder
def test_what_was_measured_is_not_measured_again_when_judging_breaks_off(workshop: Workshop, sample_pdfs: Path) -> None:
    """The file is taken away in between: a second measuring would end as a file that has gone."""
    book = (sample_pdfs / "keeper-of-the-low-light.pdf").read_bytes()
    row = workshop.upload(content=book, ring=False, profile_json="{}")
    bench = Bench(workshop.store, Limits(), threading.Event())
    inspect_once(bench, row.id)
    first = workshop.row(row)
    assert (first.state, first.attempts) == ("queued", 1)
    with workshop.store.bytes.local(file_key(row.id)) as path:
        path.unlink()
    inspect_once(bench, row.id)
    second = workshop.row(row)
    assert (second.state, second.attempts) == ("queued", 2)
    assert second.measured_at == first.measured_at is not None


def test_a_real_book(workshop: Workshop, sample_pdfs: Path) -> None:
    """Measured, judged, drawn; the same bytes again are not measured again; another profile needs no queue."""
    book = (sample_pdfs / "second-harbour.pdf").read_bytes()  # its faults stand in the README beside it
    workshop.start_broker()
    workshop.start_worker("worker.run")
    first = workshop.wait(workshop.upload(content=book, file_name="first.pdf"), state="done")
    report = Report.model_validate_json(workshop.store.bytes.read(report_key(first.id)))
    assert first.verdict == report.verdict.value == "not-pressworthy"
    assert first.reader == READER_VERSION
    assert workshop.store.bytes.read(report_key(first.id, "html")).lower().startswith(b"<!doctype html>")
    pages = pages_to_draw(report)
    assert {11, 18} <= set(pages)
    soonest = pages[:4]
    workshop.until(lambda: all(workshop.store.bytes.size(picture_key(first.id, page)) for page in soonest))
    assert all(workshop.store.bytes.read(picture_key(first.id, page)).startswith(PNG) for page in soonest)

    second = workshop.wait(workshop.upload(content=book, file_name="second.pdf", owner="tok_other"), state="done")
    assert second.measured_at == first.measured_at
    assert _name_in(workshop.store, second.id) == "second.pdf"  # the other's name stays the other's
    assert _name_in(workshop.store, first.id) == "first.pdf"

    profile = builtin_profiles()["longmole-thick"]
    again, judged = judge_again(workshop.store, first, profile)
    assert (again.state, again.profile_id, judged.profile.id) == ("done", profile.id, profile.id)
    assert again.measured_at == first.measured_at
    assert workshop.store.delete(first.id)
    for left in (second, again):
        assert workshop.store.bytes.read(file_key(left.id)) == book


def _name_in(store: Store, inspection_id: str) -> str:
    return str(json.loads(store.bytes.read(measurements_key(inspection_id)))["file"]["name"])
