"""A backup that is made while the service works, and its way back.

What a whole database is, SQLite says itself (``PRAGMA integrity_check``, https://sqlite.org/pragma.html); what an
archive holds is asked of Python's own ``tarfile``.
"""

from __future__ import annotations

import os
import resource
import signal
import sqlite3
import stat
import tarfile
import threading
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from unittest.mock import patch

import pytest

from tests.store.conftest import new
from worker.backup import BackupRefused, back_up
from worker.restore import restore
from worker.settings import Settings
from worker.store import Finished, Store, file_key, measurements_key, open_store, report_key
from worker.store.database import Database

FINISHED = Finished("pressworthy", "test", datetime(2026, 11, 25, tzinfo=UTC), 12)


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings.from_environment(tmp_path / "kept", {})


def _inspect(store: Store) -> str:
    """What intake and a worker do, in their order: objects first, and then the row that speaks of them."""
    asked = new()
    store.bytes.write(file_key(asked.id), b"%PDF-1.7 " + os.urandom(5_000))
    row = store.rows.claim(store.rows.create(asked).id)
    assert row is not None
    store.bytes.write(measurements_key(row.id), b"{}")
    store.bytes.write(report_key(row.id), b"{}")
    assert store.rows.finish(row, FINISHED)
    return row.id


def _states(settings: Settings) -> dict[str, str]:
    with closing(sqlite3.connect(settings.data / "pressworthy.sqlite3")) as rows:
        assert rows.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        return dict(rows.execute("SELECT id, state FROM inspections"))


def test_every_row_of_a_backup_has_its_objects_while_others_come_and_go(settings: Settings, tmp_path: Path) -> None:
    store, ended = open_store(settings), threading.Event()
    first = [_inspect(store) for _ in range(60)]

    def come() -> None:
        while not ended.is_set():
            _inspect(store)

    def go() -> None:
        for inspection_id in first:
            assert store.delete(inspection_id)
        ended.set()

    at_work = [threading.Thread(target=work) for work in (come, come, go)]
    for thread in at_work:
        thread.start()
    made: list[Path] = []
    while not ended.is_set():
        made.append(tmp_path / f"backup-{len(made)}.tar")
        back_up(settings, made[-1])
    for thread in at_work:
        thread.join()
    store.close()
    sizes = set()
    for file in made:
        back = replace(settings, data=tmp_path / f"{file.stem}-back")
        back = Settings.from_environment(back.data, {})
        restore(back, file)
        states, files = _states(back), open_store(back).bytes
        sizes.add(len(states.keys() & set(first)))
        for inspection_id, state in states.items():
            assert files.size(file_key(inspection_id)) == 5_009
            if state == "done":
                assert files.size(report_key(inspection_id)) == 2
                assert files.size(measurements_key(inspection_id)) == 2
    assert len(sizes) > 1, "nothing was deleted while the backups were made"


def test_what_comes_back_is_the_same_service(settings: Settings, tmp_path: Path) -> None:
    store = open_store(settings)
    done = _inspect(store)
    _, secret = store.tokens.make("desk")
    (settings.data / "session.key").write_text("k" * 64)
    (settings.data / "valkey").mkdir()
    (settings.data / "valkey" / "appended").write_bytes(b"a message")
    content = store.bytes.read(file_key(done))
    back_up(settings, tmp_path / "backup.tar")
    store.close()
    assert stat.S_IMODE((tmp_path / "backup.tar").stat().st_mode) == 0o600
    assert sorted(path.name for path in tmp_path.iterdir()) == ["backup.tar", "kept"], "something was left lying"

    back = Settings.from_environment(tmp_path / "back", {})
    restore(back, tmp_path / "backup.tar")
    assert sorted(path.name for path in back.data.iterdir()) == ["files", "pressworthy.sqlite3", "session.key"]
    assert [path for path in back.data.rglob("*") if path.stat().st_mode & 0o077] == []
    assert (back.data / "session.key").read_text() == "k" * 64
    opened = open_store(back)
    assert opened.bytes.read(file_key(done)) == content
    assert opened.tokens.find(secret) is not None
    row = opened.rows.get(done)
    assert row is not None
    assert (row.state, row.verdict) == ("done", "pressworthy")
    opened.close()


def test_the_archive_is_a_plain_tar_and_lists_what_it_holds(settings: Settings, tmp_path: Path) -> None:
    store = open_store(settings)
    done = _inspect(store)
    store.close()
    contents = back_up(settings, tmp_path / "backup.tar")
    with tarfile.open(tmp_path / "backup.tar") as archive:
        names = archive.getnames()
    objects = [f"files/{key}" for key in (file_key(done), measurements_key(done), report_key(done))]
    assert names == [*objects, "pressworthy.sqlite3", "contents.json"]
    assert (contents.inspections, set(contents.hashes)) == (1, set(names[:-1]))


def test_nothing_is_written_over(settings: Settings, tmp_path: Path) -> None:
    store = open_store(settings)
    _inspect(store)
    file = tmp_path / "backup.tar"
    file.write_text("a letter")
    with pytest.raises(BackupRefused, match="name another file"):
        back_up(settings, file)
    assert file.read_text() == "a letter"
    file.unlink()
    back_up(settings, file)
    with pytest.raises(BackupRefused, match="choose an empty folder"):
        restore(settings, file)
    other = Settings.from_environment(tmp_path / "other", {})
    other.data.mkdir()
    (other.data / "letter.txt").write_text("a letter")
    with pytest.raises(BackupRefused, match="not empty"):
        restore(other, file)
    assert [path.name for path in other.data.iterdir()] == ["letter.txt"]
    store.close()


def test_a_folder_that_is_not_there_or_cannot_be_written_is_said(settings: Settings, tmp_path: Path) -> None:
    with pytest.raises(BackupRefused, match="nothing is kept"):
        back_up(settings, tmp_path / "backup.tar")
    open_store(settings).close()
    with pytest.raises(BackupRefused, match="choose another place"):
        back_up(settings, tmp_path / "nowhere" / "backup.tar")
    with pytest.raises(BackupRefused, match="No such file"):
        restore(Settings.from_environment(tmp_path / "back", {}), tmp_path / "none.tar")
    (settings.data / "pressworthy.sqlite3").write_bytes(b"letters " * 4096)
    with pytest.raises(BackupRefused, match="cannot be read as a database"):
        back_up(settings, tmp_path / "backup.tar")
    assert not list(tmp_path.glob("*.tar")) + list(tmp_path.glob(".*"))


@contextmanager
def _files_no_larger_than(size: int) -> Iterator[None]:
    """A disk without room, as far as a process can tell: what is written beyond ``size`` is an error (setrlimit(2))."""
    usual = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, usual[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, usual)


@pytest.mark.parametrize("room", [65_536, 1_000_000], ids=["not for the rows", "not for the files"])
def test_without_room_there_is_no_backup_and_nothing_is_left(settings: Settings, tmp_path: Path, room: int) -> None:
    store = open_store(settings)
    asked = new()
    store.bytes.write(file_key(asked.id), os.urandom(2_000_000))
    store.rows.create(asked)
    store.close()
    file = tmp_path / "backup.tar"
    with _files_no_larger_than(room), pytest.raises(BackupRefused, match="choose another place") as refused:
        back_up(settings, file)
    assert len(str(refused.value).splitlines()) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["kept"]
    back_up(settings, file)
    back = Settings.from_environment(tmp_path / "back", {})
    with _files_no_larger_than(room), pytest.raises(BackupRefused, match="nothing was restored"):
        restore(back, file)
    assert list(back.data.iterdir()) == []
    assert restore(back, file).inspections == 1


def test_a_backup_and_a_restoration_that_were_killed_are_in_nobodys_way(settings: Settings, tmp_path: Path) -> None:
    store = open_store(settings)
    _inspect(store)
    store.close()
    file, back = tmp_path / "backup.tar", Settings.from_environment(tmp_path / "back", {})

    def ended_at(place: str, work: Callable[[], object]) -> int:
        child = os.fork()
        if child == 0:
            with patch(place, lambda *_: os.kill(os.getpid(), signal.SIGKILL)):
                work()
            os._exit(0)
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])

    assert ended_at("worker.backup._keep", lambda: back_up(settings, file)) == -signal.SIGKILL
    assert not file.exists()
    back_up(settings, file)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["backup.tar", "kept"]
    assert ended_at("worker.restore._put_in_place", lambda: restore(back, file)) == -signal.SIGKILL
    assert not (back.data / "pressworthy.sqlite3").exists()
    assert restore(back, file).inspections == 1
    assert not (back.data / "restoring").exists()


@pytest.mark.parametrize(
    ("environment", "where"),
    [
        ({"PRESSWORTHY_DATABASE_URL": "postgresql://host/books"}, "rows in PostgreSQL,"),
        ({"PRESSWORTHY_STORE_URL": "s3://books/kept"}, "files in a bucket,"),
        (
            {"PRESSWORTHY_DATABASE_URL": "postgresql://host/books", "PRESSWORTHY_STORE_URL": "s3://books/kept"},
            "rows in PostgreSQL and its files in a bucket,",
        ),
    ],
)
def test_what_is_kept_elsewhere_is_backed_up_there(environment: dict[str, str], where: str, tmp_path: Path) -> None:
    elsewhere = Settings.from_environment(tmp_path, environment)
    for act in (back_up, restore):
        with pytest.raises(BackupRefused, match="pg_dump") as refused:
            act(elsewhere, tmp_path / "backup.tar")
        assert where in str(refused.value)


def test_the_backup_of_an_older_version_is_brought_up_to_date(settings: Settings, tmp_path: Path) -> None:
    from tests.store.test_migrations import OLD_INSPECTION, a_row_in, upgraded_to

    settings.data.mkdir()
    with upgraded_to("0001", settings.database_url) as connection:
        a_row_in(connection)
    contents = back_up(settings, tmp_path / "backup.tar")
    assert contents.inspections == 0, "its file was never there"
    back = Settings.from_environment(tmp_path / "back", {})
    restore(back, tmp_path / "backup.tar")
    with Database(back.database_url).read() as session:
        from worker.store import Inspection

        assert session.get(Inspection, OLD_INSPECTION) is not None
