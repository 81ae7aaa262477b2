"""A backup of a data folder, made while the service runs, and its way back.

A backup is one tar archive: the objects of every inspection, the database as it was at one moment, the key that signs
cookies and secrets, and at its end a table of contents with a hash of each. It opens everything, so it is its owner's
alone to read.

Every row in it has its objects, without anything being stopped:

* an object is durable before a row speaks of it, and is never changed in place. So the rows are copied first, at one
  moment (SQLite's own online backup), and then the objects: whatever a copied row speaks of is there;
* except what is deleted meanwhile. A deletion takes the row first and then the objects. So once the objects are copied
  the live rows are looked at again, and those that have gone leave the copy too.

What the private broker keeps is left out: the rows know what is to be done, and a sweep rings for them.
"""

from __future__ import annotations

import fcntl
import hashlib
import io
import json
import os
import shutil
import sqlite3
import tarfile
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import IO

from alembic.util import CommandError
from sqlalchemy import make_url
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from worker import version
from worker.settings import SQLITE, Settings
from worker.store.database import Database
from worker.store.errors import BadKey, in_one_line
from worker.store.keys import checked, prefix_of
from worker.store.rows import Rows

__all__ = ["BackupRefused", "Contents", "back_up", "database_file", "no_room", "one_file"]

SCHEMA = "pressworthy.backup/1"
DATABASE = "pressworthy.sqlite3"
SESSION_KEY = "session.key"
CONTENTS = "contents.json"
UNFINISHED = "unfinished.tar"
FILES = "files/"

PRIVATE = 0o600
ONE_FILE = "PRAGMA journal_mode = DELETE"
"""Folds a database of SQLite into one file."""

ELSEWHERE = (
    "this service keeps its {what}, and a backup of the data folder would not hold it: "
    "back PostgreSQL up with pg_dump first, and the bucket afterwards with its own tools"
)


class BackupRefused(Exception):
    """No backup is made, or none is restored; the message says why, and what to do."""


@dataclass
class Contents:
    """What an archive holds: the SHA-256 of each member by its name, and how many bytes they have together."""

    hashes: dict[str, str] = field(default_factory=dict)
    bytes: int = 0

    @property
    def inspections(self) -> int:
        """How many inspections have objects in it."""
        return len({name.split("/")[2] for name in self.hashes if name.startswith(FILES)})


def back_up(settings: Settings, file: Path) -> Contents:
    """Write a backup of the data folder to ``file``, whole or not at all. Raises :class:`BackupRefused`."""
    source = database_file(settings)
    if not source.is_file():
        raise BackupRefused(f"nothing is kept in {settings.data}; name the data folder with --data")
    if file.exists():
        raise BackupRefused(f"{file} is there already, and nothing is written over it; name another file")
    try:
        with _beside(file) as work:
            contents = _write(settings, source, work)
            _keep(work / UNFINISHED, file)
    except OSError as error:
        raise BackupRefused(f"{file} cannot be written: {error.strerror or error}; choose another place") from error
    except (sqlite3.Error, SQLAlchemyError, CommandError) as error:
        if no_room(error):
            raise BackupRefused(f"{file} cannot be written: there is no room; choose another place") from error
        raise BackupRefused(f"{source} cannot be read as a database of this service: {in_one_line(error)}") from error
    return contents


def one_file(settings: Settings) -> bool:
    """Whether all that is kept is in files of this machine: a database of SQLite, and no bucket."""
    return settings.store_url is None and settings.database_url.startswith(SQLITE)


def database_file(settings: Settings) -> Path:
    """The file of the database. Raises :class:`BackupRefused` where what is kept is elsewhere."""
    if not one_file(settings):
        places = [] if settings.database_url.startswith(SQLITE) else ["rows in PostgreSQL"]
        places += ["files in a bucket"] if settings.store_url else []
        raise BackupRefused(ELSEWHERE.format(what=" and its ".join(places)))
    return Path(make_url(settings.database_url).database or "")


def no_room(error: Exception) -> bool:
    """Whether SQLite could not write for want of room (https://sqlite.org/rescode.html)."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    codes = (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR_WRITE)
    return isinstance(cause, sqlite3.Error) and getattr(cause, "sqlite_errorcode", None) in codes


def _write(settings: Settings, source: Path, work: Path) -> Contents:
    """Write the archive in the folder ``work``, under :data:`UNFINISHED`; on disk at the end."""
    copied = work / DATABASE
    _copy_database(source, copied)
    contents = Contents()
    with (
        open(work / UNFINISHED, "xb", opener=lambda name, flags: os.open(name, flags, PRIVATE)) as out,
        tarfile.open(fileobj=out, mode="w", format=tarfile.PAX_FORMAT) as archive,
    ):
        for inspection_id in _inspections(copied):
            for name, path in _objects(settings.files, inspection_id):
                _add(archive, contents, name, path)
        _forget_deleted(copied, alive=set(_inspections(source)))
        _add(archive, contents, DATABASE, copied)
        _add(archive, contents, SESSION_KEY, settings.data / SESSION_KEY)
        told = {"schema": SCHEMA, "version": version(), "made_at": int(time.time()), "sha256": contents.hashes}
        _add_bytes(archive, CONTENTS, json.dumps(told, indent=1).encode())
        archive.close()
        out.flush()
        os.fsync(out.fileno())
    return contents


def _copy_database(source: Path, target: Path) -> None:
    """The whole database as it is at one moment (https://sqlite.org/backup.html); its writers wait for nothing."""
    with closing(_read_only(source)) as live, closing(sqlite3.connect(target)) as copy:
        live.backup(copy)
        copy.execute(ONE_FILE)
    target.chmod(PRIVATE)


def _read_only(database: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{database.absolute().as_uri()}?mode=ro", uri=True, timeout=15)


def _inspections(database: Path) -> list[str]:
    with closing(_read_only(database)) as rows:
        return [inspection_id for (inspection_id,) in rows.execute("SELECT id FROM inspections ORDER BY created_at")]


def _objects(files: Path, inspection_id: str) -> Iterator[tuple[str, Path]]:
    """The objects of an inspection by their names in the archive. One that goes meanwhile is passed over."""
    folder = files / prefix_of(inspection_id)
    found = (Path(at, name) for at, _, names in os.walk(folder) for name in names)  # a folder may go meanwhile
    for path in sorted(found):
        key = path.relative_to(files).as_posix()
        with suppress(BadKey):  # it is being written, under a name of its own
            yield FILES + checked(key), path


def _forget_deleted(copied: Path, *, alive: set[str]) -> None:
    """Take away the copied rows whose inspections have been deleted since, as the service itself does."""
    gone = [inspection_id for inspection_id in _inspections(copied) if inspection_id not in alive]
    if not gone:
        return
    database = Database(f"{SQLITE}{copied}")
    database.migrate()  # the service that runs may be an older one
    rows = Rows(database, kept=timedelta(0), lease=timedelta(0))
    for inspection_id in gone:
        rows.delete(inspection_id)
    database.close()
    with closing(sqlite3.connect(copied)) as connection:
        connection.execute(ONE_FILE)


def _add(archive: tarfile.TarFile, contents: Contents, name: str, path: Path) -> None:
    """Put a file into the archive under ``name``; none is no error. It is open, so it is whole whatever happens."""
    try:
        file = path.open("rb")
    except FileNotFoundError:
        return
    with file:
        state = os.fstat(file.fileno())
        member = _member(name, state.st_size)
        member.mtime = int(state.st_mtime)
        hashing = _Hashing(file)
        archive.addfile(member, hashing)
    contents.hashes[name] = hashing.sha256.hexdigest()
    contents.bytes += member.size


def _add_bytes(archive: tarfile.TarFile, name: str, data: bytes) -> None:
    archive.addfile(_member(name, len(data)), io.BytesIO(data))


def _member(name: str, size: int) -> tarfile.TarInfo:
    member = tarfile.TarInfo(name)
    member.size, member.mode = size, PRIVATE
    return member


class _Hashing(io.RawIOBase):
    """A file that is hashed as it is read."""

    def __init__(self, file: IO[bytes]) -> None:
        super().__init__()
        self._file = file
        self.sha256 = hashlib.sha256()

    def readable(self) -> bool:
        return True

    def read(self, size: int = -1, /) -> bytes:
        data = self._file.read(size)
        self.sha256.update(data)
        return data


@contextmanager
def _beside(file: Path) -> Iterator[Path]:
    """A private folder beside the file to work in, gone at the end; so is that of a backup to it that was killed."""
    parent, prefix = file.absolute().parent, f".{file.name}-unfinished-"
    for left in parent.iterdir():
        if left.name.startswith(prefix):
            _drop_unless_held(left)
    with tempfile.TemporaryDirectory(dir=parent, prefix=prefix) as work, _opened(Path(work)) as handle:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield Path(work)


def _drop_unless_held(left: Path) -> None:
    with suppress(BlockingIOError, FileNotFoundError), _opened(left) as handle:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        shutil.rmtree(left)


def _keep(unfinished: Path, file: Path) -> None:
    """Give it its name; never over another file that has come meanwhile."""
    try:
        os.link(unfinished, file)
    except FileExistsError:
        raise BackupRefused(f"{file} has just been made by somebody else; name another file") from None
    except OSError:  # a disk that knows no second names
        unfinished.rename(file)
    with _opened(file.absolute().parent) as handle:
        os.fsync(handle)


@contextmanager
def _opened(folder: Path) -> Iterator[int]:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        yield handle
    finally:
        os.close(handle)
