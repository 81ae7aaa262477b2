"""Bytes by key, whatever keeps them; and the upload that is hashed as it arrives."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from contextlib import AbstractContextManager, suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import BinaryIO, Protocol, Self

from worker.store.errors import TooLarge


@dataclass(frozen=True)
class Kept:
    """What was kept: its SHA-256 in hexadecimal, and its size in bytes."""

    sha256: str
    bytes: int


@dataclass(frozen=True)
class Usage:
    """How many objects are kept, the bytes that they take, and those that are free; None where there is no telling."""

    objects: int
    bytes: int
    free: int | None


class Incoming:
    """An upload on its way: written piece by piece to a temporary file and hashed, then kept under its key.

    A context: whatever was not kept when it ends is gone. Works as the file that a form parser writes into.
    """

    def __init__(self, folder: Path, *, limit: int | None, keep: Callable[[Path, str], None]) -> None:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=folder, prefix="upload-")
        self._path = Path(name)
        self._file = os.fdopen(handle, "w+b")
        self._limit = limit
        self._keep = keep
        self._hash = hashlib.sha256()
        self.size = 0

    def write(self, data: bytes) -> int:
        """Add a piece. Raises :class:`TooLarge` as soon as the whole would pass the limit."""
        if self._limit is not None and self.size + len(data) > self._limit:
            raise TooLarge(self._limit)
        self._file.write(data)
        self._hash.update(data)
        self.size += len(data)
        return len(data)

    def head(self, size: int = 1024) -> bytes:
        """The first bytes that arrived, to tell a PDF by."""
        self._file.flush()
        return os.pread(self._file.fileno(), size, 0)

    @property
    def sha256(self) -> str:
        """The SHA-256 of what has arrived so far, in hexadecimal."""
        return self._hash.hexdigest()

    def keep(self, key: str) -> Kept:
        """Make it durable under ``key``: once this returns, a power cut does not lose it."""
        self._file.flush()
        os.fsync(self._file.fileno())
        self._file.close()
        self._keep(self._path, key)
        return Kept(self._hash.hexdigest(), self.size)

    def discard(self) -> None:
        """Drop what was not kept."""
        with suppress(OSError):  # on a full disk, closing tries once more to write what did not fit
            self._file.close()
        self._path.unlink(missing_ok=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.discard()


class Bytes(Protocol):
    """Where the objects are. Every key is checked; every write is whole and durable, or did not happen.

    ``Missing`` is raised where a key that is read, copied or lent is not there.
    """

    def incoming(self, *, limit: int | None = None) -> Incoming:
        """An upload of at most ``limit`` bytes."""

    def write(self, key: str, data: bytes) -> Kept:
        """Keep ``data``, in place of what was there."""

    def read(self, key: str) -> bytes:
        """The whole object."""

    def open(self, key: str) -> BinaryIO:
        """The object as a file to read; the caller closes it."""

    def size(self, key: str) -> int | None:
        """Its size in bytes; None where there is no such object."""

    def copy(self, source: str, target: str) -> None:
        """Keep the object under another key too."""

    def local(self, key: str) -> AbstractContextManager[Path]:
        """The object as a file on this machine, to be read only, for as long as the context lasts."""

    def delete_all(self, inspection_id: str) -> None:
        """Delete all objects of an inspection; none is no error."""

    def delete(self, key: str) -> None:
        """Delete one object; none is no error."""

    def delete_pictures(self, inspection_id: str) -> None:
        """Delete the pictures of its pages, its report with pictures, and its proof; none is no error."""

    def inspections(self, *, untouched_for: float) -> list[str]:
        """The ids of inspections that have objects, all of them older than so many seconds."""

    def usage(self) -> Usage:
        """How much is kept; it looks at every object."""

    def tidy(self, *, untouched_for: float) -> None:
        """Drop uploads that broke off more than so many seconds ago."""

    def check(self) -> None:
        """Raise :class:`StoreDown` unless it can be written to."""


def drop_old_files(folder: Path, *, before: float) -> None:
    """Delete the files of ``folder`` that were last written before this time (seconds since the epoch)."""
    if not folder.is_dir():
        return
    for path in folder.iterdir():
        try:
            if path.stat().st_mtime < before:
                path.unlink()
        except FileNotFoundError:
            continue
