"""A data folder made from a backup. The archive is taken for hostile: only names and kinds of the store's own come out.

Nothing stands at its place in the folder before the whole archive is read, held against its own table of contents, and
its database found sound and brought up to date.
"""

from __future__ import annotations

import errno
import fcntl
import hashlib
import json
import os
import shutil
import sqlite3
import tarfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import IO

from alembic.util import CommandError
from sqlalchemy.exc import SQLAlchemyError

from worker.backup import (
    CONTENTS,
    DATABASE,
    FILES,
    PRIVATE,
    SCHEMA,
    SESSION_KEY,
    BackupRefused,
    Contents,
    database_file,
    no_room,
)
from worker.data_folder import OF_THE_DISK
from worker.settings import SQLITE, Settings
from worker.store.database import Database
from worker.store.errors import BadKey, in_one_line
from worker.store.keys import checked
from worker.store.models import Base

__all__ = ["restore"]

PIECE = 1024 * 1024
LONGEST_CONTENTS = 256 * 1024 * 1024
LOCK = "serve.lock"
"""The file that ``pressworthy serve`` holds locked as long as it uses the folder."""

NO_BACKUP = "is no backup of this service, or not a whole one"


def restore(settings: Settings, file: Path) -> Contents:
    """Fill the empty data folder with what ``file`` holds, all of it or nothing. Raises :class:`BackupRefused`."""
    target = database_file(settings)
    if target.exists():
        raise BackupRefused(f"there is a database already at {target}; choose an empty folder with --data")
    try:
        with file.open("rb") as archive, _empty_folder(settings.data) as work:
            contents = _unpack(archive, file, work)
            _bring_up_to_date(work / DATABASE, file)
            try:
                _put_in_place(work, settings, target)
            except BaseException:
                shutil.rmtree(settings.files, ignore_errors=True)
                (settings.data / SESSION_KEY).unlink(missing_ok=True)
                raise
    except OSError as error:
        at = error.filename or settings.data
        raise BackupRefused(f"{at}: {error.strerror or error}; nothing was restored") from error
    return contents


@contextmanager
def _empty_folder(data: Path) -> Iterator[Path]:
    """A folder to unpack into, within the data folder, which is locked and has nothing else in it."""
    data.mkdir(mode=0o700, parents=True, exist_ok=True)
    lock = data / LOCK
    with lock.open("a+") as held:
        try:
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise BackupRefused(
                f"a service uses {data}; stop it, and choose an empty folder with --data for what is restored"
            ) from None
        try:
            work = data / "restoring"
            if [path for path in data.iterdir() if path.name not in (LOCK, OF_THE_DISK, work.name)]:
                raise BackupRefused(f"{data} is not empty, and nothing is written over; choose another with --data")
            shutil.rmtree(work, ignore_errors=True)  # a restoration that was killed has left it
            work.mkdir(mode=0o700)
            try:
                yield work
            finally:
                shutil.rmtree(work)
        finally:
            lock.unlink()


def _unpack(archive: IO[bytes], file: Path, work: Path) -> Contents:
    """Write every member below ``work``, and hold them against the table of contents that stands at the end."""
    contents, told = Contents(), None
    try:
        with tarfile.open(fileobj=archive, mode="r:") as members:
            for member in members:
                if told is not None:
                    raise _no_backup(file, f"something stands after {CONTENTS}")
                source = _checked(members, member, contents, file)
                if member.name == CONTENTS:
                    told = json.loads(source.read(LONGEST_CONTENTS))
                else:
                    contents.hashes[member.name] = _write(source, work / member.name)
                    contents.bytes += member.size
    except (tarfile.TarError, ValueError, RecursionError) as error:
        raise _no_backup(file, str(error)) from error
    if not isinstance(told, dict) or told.get("schema") != SCHEMA:
        raise _no_backup(file, f"it does not end with {CONTENTS}")
    if told.get("sha256") != contents.hashes:
        raise _no_backup(file, "what it holds is not what it says that it holds")
    if DATABASE not in contents.hashes:
        raise _no_backup(file, "there is no database in it")
    return contents


def _checked(members: tarfile.TarFile, member: tarfile.TarInfo, contents: Contents, file: Path) -> IO[bytes]:
    """The bytes of a member, if it is a plain file with one of our names and the first of that name."""
    if not member.isreg() or member.issparse() or not _is_ours(member.name) or member.name in contents.hashes:
        raise _no_backup(file, f"it has a member {member.name[:80]!r} that no backup has")
    source = members.extractfile(member)
    if source is None:
        raise _no_backup(file, f"its member {member.name[:80]!r} cannot be read")
    return source


def _is_ours(name: str) -> bool:
    if name in (DATABASE, SESSION_KEY, CONTENTS):
        return True
    try:
        return name.startswith(FILES) and bool(checked(name.removeprefix(FILES)))
    except BadKey:
        return False


def _write(source: IO[bytes], path: Path) -> str:
    """Write it to disk; its SHA-256."""
    _make_private(path.parent)
    hashing = hashlib.sha256()
    with open(path, "xb", opener=lambda name, flags: os.open(name, flags, PRIVATE)) as file:
        while piece := source.read(PIECE):
            hashing.update(piece)
            file.write(piece)
        file.flush()
        os.fsync(file.fileno())
    return hashing.hexdigest()


def _make_private(folder: Path) -> None:
    """Make ``folder`` and those above it, each its owner's alone (``mkdir`` gives its mode to the last one only)."""
    if not folder.is_dir():
        _make_private(folder.parent)
        folder.mkdir(mode=0o700)


def _bring_up_to_date(path: Path, file: Path) -> None:
    """Run the migrations that the database has not seen. One that is damaged, or holds what ours never do, is refused.

    Triggers and views would run with the first question that is asked of it (https://sqlite.org/security.html).
    """
    try:
        with closing(sqlite3.connect(path)) as connection:
            connection.execute("PRAGMA trusted_schema = OFF")
            kinds = {kind for (kind,) in connection.execute("SELECT DISTINCT type FROM sqlite_schema")}
            sound = [words for (words,) in connection.execute("PRAGMA quick_check")]
        if not kinds <= {"table", "index"} or sound != ["ok"]:
            raise _no_backup(file, "its database is damaged, or holds what this service never makes")
        database = Database(f"{SQLITE}{path}")
        database.migrate()
        database.close()
        with closing(sqlite3.connect(path)) as connection:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
        if not tables >= set(Base.metadata.tables):
            raise _no_backup(file, "its database lacks tables")
    except CommandError as error:
        raise BackupRefused(f"{file} was made by a later version; install that one, and restore with it") from error
    except (sqlite3.Error, SQLAlchemyError) as error:
        if no_room(error):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path)) from error
        raise _no_backup(file, f"its database cannot be read: {in_one_line(error)}") from error


def _put_in_place(work: Path, settings: Settings, target: Path) -> None:
    """Move everything to where it belongs; the database last: without it there is nothing."""
    if (work / FILES).exists():
        (work / FILES).rename(settings.files)
    if (work / SESSION_KEY).exists():
        (work / SESSION_KEY).rename(settings.data / SESSION_KEY)
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    shutil.move(work / DATABASE, target)
    for folder in {settings.data, target.parent}:
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _no_backup(file: Path, why: str) -> BackupRefused:
    return BackupRefused(f"{file} {NO_BACKUP}: {why}; nothing was restored")
