"""What is kept for how long, and that it is gone from where it was: looked for with the file system's own eyes, and, in
the database, as bytes of its files (which SQLite's own documentation of ``secure_delete`` and of the WAL speaks of)."""

from __future__ import annotations

import logging
import sqlite3
import threading
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

import pytest

from tests.store.conftest import a_store, new
from worker.store import (
    Finished,
    Inspection,
    NewArrival,
    Store,
    file_key,
    picture_key,
    proof_key,
    report_key,
    undrawn_key,
)
from worker.store.folder import FolderBytes
from worker.store.models import now
from worker.store.rows import DaysKept
from worker.sweep import delete_expired

DONE = Finished("pressworthy", "test", datetime(2026, 11, 25, tzinfo=UTC), 12)
LONG, OVER = timedelta(days=30), timedelta(seconds=-1)


def _keep(store: Store, *, report: timedelta = LONG, file: timedelta = LONG, pictures: timedelta = LONG) -> None:
    store.rows._kept = DaysKept(report, file, pictures)


def _done(store: Store) -> Inspection:
    row = store.rows.create_done(new(), DONE)
    keys = (file_key(row.id), report_key(row.id), picture_key(row.id, 1), undrawn_key(row.id, 2), proof_key(row.id))
    for key in keys:
        store.bytes.write(key, b"of the second harbour")
    return row


def _names(store: Store, row: Inspection) -> set[str]:
    """What is kept of it, as its place says."""
    if isinstance(store.bytes, FolderBytes):
        place = Path(vars(store.bytes)["_root"]) / "inspections" / row.id
        return {str(path.relative_to(place)) for path in place.rglob("*") if path.is_file()}
    keys = (file_key(row.id), report_key(row.id), picture_key(row.id, 1), undrawn_key(row.id, 2), proof_key(row.id))
    return {key.split("/", 2)[2] for key in keys if store.bytes.size(key) is not None}


def _current(store: Store, row: Inspection) -> Inspection:
    found = store.rows.get(row.id)
    assert found is not None
    return found


def test_a_file_goes_on_its_own_day(store: Store) -> None:
    _keep(store, file=OVER)
    row = _done(store)
    assert not row.has_file  # before any sweep
    assert delete_expired(store) == 1
    assert _names(store, row) == {"report.json", "pages/1.png", "pages/2.undrawn.json", "proof.pdf"}
    current = _current(store, row)
    assert current.file_deleted_at is not None
    assert (current.has_file, current.has_pictures) == (False, True)
    assert delete_expired(store) == 0


def test_pictures_and_the_proof_go_on_theirs(store: Store) -> None:
    _keep(store, pictures=OVER)
    row = _done(store)
    assert delete_expired(store) == 1
    assert _names(store, row) == {"report.json", "file.pdf"}
    current = _current(store, row)
    assert (current.has_file, current.has_pictures) == (True, False)
    assert delete_expired(store) == 0


def test_with_the_report_everything_goes(store: Store, tmp_path: Path) -> None:
    _keep(store, report=OVER)
    row = _done(store)
    assert (row.file_until, row.pictures_until) == (row.expires_at, row.expires_at)  # neither outlasts it
    delete_expired(store)
    assert store.rows.get(row.id) is None
    assert not (tmp_path / "files" / "inspections" / row.id).exists()


def test_what_is_not_due_stays(store: Store) -> None:
    row = _done(store)
    assert delete_expired(store) == 0
    assert len(_names(store, row)) == 5


def test_after_a_long_stop_one_sweep_is_enough(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    _keep(store, file=OVER)
    monkeypatch.setattr(store.rows, "file_expired", partial(store.rows.file_expired, most=10))
    rows = [_done(store) for _ in range(23)]  # more than two batches
    assert delete_expired(store) == len(rows)
    assert {name for row in rows for name in _names(store, row)} == {
        "pages/1.png",
        "pages/2.undrawn.json",
        "proof.pdf",
        "report.json",
    }


def test_one_that_waits_beyond_its_files_day_ends_and_says_why(store: Store) -> None:
    _keep(store, file=OVER)
    row = store.rows.create(new())
    store.bytes.write(file_key(row.id), b"%PDF-")
    delete_expired(store)
    current = _current(store, row)
    assert current.state == "failed"
    assert current.failure is not None
    assert current.failure["code"] == "file-gone"
    assert _names(store, row) == set()


def test_one_that_a_worker_has_in_hand_keeps_its_file(store: Store) -> None:
    _keep(store, file=OVER, report=OVER)
    row = store.rows.create(new())
    store.bytes.write(file_key(row.id), b"%PDF-")
    assert store.rows.claim(row.id) is not None
    delete_expired(store)
    assert _names(store, row) == {"file.pdf"}


def test_a_sweep_that_breaks_off_is_taken_up_by_the_next(
    store: Store, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    _keep(store, file=OVER)
    rows = [_done(store) for _ in range(3)]
    noted = store.rows.note_deleted
    with monkeypatch.context() as broken, caplog.at_level(logging.CRITICAL):

        def fails_for_one(inspection_id: str, **parts: bool) -> None:
            if inspection_id == min(row.id for row in rows):
                raise OSError
            noted(inspection_id, **parts)

        broken.setattr(store.rows, "note_deleted", fails_for_one)
        assert delete_expired(store) == 2
    assert {name for row in rows for name in _names(store, row)} == {
        "pages/1.png",
        "pages/2.undrawn.json",
        "proof.pdf",
        "report.json",
    }
    assert delete_expired(store) == 1
    assert all(not _current(store, row).has_file for row in rows)


def test_a_sweep_stops_when_the_worker_is_asked_to(store: Store) -> None:
    _keep(store, file=OVER)
    _done(store)
    stopping = threading.Event()
    stopping.set()
    assert delete_expired(store, stopping) == 0


def test_two_workers_may_sweep_side_by_side(store: Store, database_url: str, tmp_path: Path) -> None:
    _keep(store, file=OVER)
    rows = [_done(store) for _ in range(40)]
    other = a_store(database_url, tmp_path / "files")
    sweeps = [threading.Thread(target=delete_expired, args=(each,)) for each in (store, other)]
    for sweep in sweeps:
        sweep.start()
    for sweep in sweeps:
        sweep.join()
    other.close()
    assert all(_current(store, row).file_deleted_at for row in rows)


def test_rows_of_before_keep_everything_as_long_as_the_report(store: Store) -> None:
    row = _done(store)
    row.file_expires_at = row.pictures_expire_at = None
    assert (row.file_until, row.pictures_until) == (row.expires_at, row.expires_at)
    assert row.has_file
    assert row.expires_at > now()


SECRET_TITLE = "The Unpublished Harbour " * 40


def test_what_a_deleted_file_was_called_is_in_none_of_the_databases_files(tmp_path: Path) -> None:
    """SQLite alone: with ``secure_delete`` it writes zeros over what is deleted, and an emptied WAL holds no more."""
    place = tmp_path / "rows.sqlite3"
    store = a_store(f"sqlite:///{place}", tmp_path / "files")
    rows = [store.rows.create(new(title=SECRET_TITLE, file_name=SECRET_TITLE)) for _ in range(60)]
    delivery = store.arrivals.note("local", [NewArrival(SECRET_TITLE, inspection_id=row.id) for row in rows])
    needle = b"The Unpublished Harbour"
    assert any(needle in path.read_bytes() for path in tmp_path.glob("rows.sqlite3*"))
    for row in rows:
        store.delete(row.id)
    assert [each.file_name for each in store.arrivals.of_delivery(delivery, "local")] == [""] * 60
    delete_expired(store)
    for path in tmp_path.glob("rows.sqlite3*"):
        assert needle not in path.read_bytes(), path.name
    assert sqlite3.connect(place).execute("PRAGMA integrity_check").fetchone() == ("ok",)
    store.close()


def test_a_reader_at_work_only_puts_the_emptying_off(tmp_path: Path) -> None:
    store = a_store(f"sqlite:///{tmp_path / 'rows.sqlite3'}", tmp_path / "files")
    row = store.rows.create(new(title=SECRET_TITLE))
    reader = sqlite3.connect(tmp_path / "rows.sqlite3")
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM inspections").fetchone()
    store.delete(row.id)
    delete_expired(store)
    reader.close()
    delete_expired(store)
    for path in tmp_path.glob("rows.sqlite3*"):
        assert b"The Unpublished Harbour" not in path.read_bytes(), path.name
    store.close()
