"""Rows and bytes together."""

from __future__ import annotations

from pathlib import Path

from tests.store.conftest import a_store, new
from worker.settings import Settings
from worker.store import Store, file_key, new_inspection_id, open_store
from worker.store import store as store_module


def test_deleting_takes_row_and_bytes(store: Store) -> None:
    row = store.rows.create(new())
    store.bytes.write(file_key(row.id), b"x")
    assert store.delete(row.id)
    assert store.rows.get(row.id) is None
    assert store.bytes.size(file_key(row.id)) is None
    assert not store.delete(row.id)


def test_objects_whose_row_was_never_made_are_dropped(store: Store) -> None:
    row, orphan = store.rows.create(new()), new_inspection_id()
    for inspection_id in (row.id, orphan):
        store.bytes.write(file_key(inspection_id), b"x")
    store.delete_broken_off()
    assert store.bytes.size(file_key(orphan)) == 1  # young: its row may yet come
    store_module.BROKEN_OFF, before = -5, store_module.BROKEN_OFF
    try:
        store.delete_broken_off()
    finally:
        store_module.BROKEN_OFF = before
    assert store.bytes.size(file_key(orphan)) is None
    assert store.bytes.size(file_key(row.id)) == 1


def test_a_store_opens_by_its_settings_alone(tmp_path: Path) -> None:
    settings = Settings.from_environment(tmp_path / "data", {})
    opened = open_store(settings)
    opened.check()
    row = opened.rows.create(new())
    opened.close()
    again = open_store(settings)
    assert again.rows.get(row.id) is not None
    again.close()


def test_rows_outlive_the_process_that_made_them(database_url: str, tmp_path: Path) -> None:
    first = a_store(database_url, tmp_path / "files")
    row = first.rows.create(new())
    first.close()
    second = a_store(database_url, tmp_path / "files")
    assert second.rows.get(row.id) is not None
    second.close()
