"""Bytes in a folder: a temporary name, fsync, rename, fsync of the folder; never a path that is not ours."""

from __future__ import annotations

import contextlib
import os
import shutil
import stat
import time
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from worker.store.errors import Missing, StoreDown
from worker.store.keys import checked, pictured_key, pictures_prefix, prefix_of, proof_key, unproved_key
from worker.store.objects import Incoming, Kept, Usage, drop_old_files


class FolderBytes:
    """Objects as files below ``root``; see :class:`worker.store.objects.Bytes`."""

    def __init__(self, root: Path) -> None:
        self._root = root
        self._arriving = root / "arriving"
        self._arriving.mkdir(mode=0o700, parents=True, exist_ok=True)

    def incoming(self, *, limit: int | None = None) -> Incoming:
        return Incoming(self._arriving, limit=limit, keep=self._put)

    def write(self, key: str, data: bytes) -> Kept:
        with self.incoming() as whole:
            whole.write(data)
            return whole.keep(key)

    def read(self, key: str) -> bytes:
        with self.open(key) as file:
            return file.read()

    def open(self, key: str) -> BinaryIO:
        try:
            return self._path(key).open("rb")
        except FileNotFoundError:
            raise Missing(key) from None

    def size(self, key: str) -> int | None:
        try:
            return self._path(key).stat().st_size
        except FileNotFoundError:
            return None

    def copy(self, source: str, target: str) -> None:
        temporary = self._arriving / f"copy-{os.urandom(8).hex()}"
        try:
            _link_or_copy(self._path(source), temporary)
            self._put(temporary, target)
        except FileNotFoundError:
            raise Missing(source) from None
        finally:
            temporary.unlink(missing_ok=True)

    @contextlib.contextmanager
    def local(self, key: str) -> Iterator[Path]:
        path = self._path(key)
        if not path.is_file():
            raise Missing(key)
        yield path

    def delete_all(self, inspection_id: str) -> None:
        folder = self._root / prefix_of(inspection_id)
        with contextlib.suppress(FileNotFoundError):
            shutil.rmtree(folder)

    def delete(self, key: str) -> None:
        self._path(key).unlink(missing_ok=True)

    def delete_pictures(self, inspection_id: str) -> None:
        with contextlib.suppress(FileNotFoundError):
            shutil.rmtree(self._root / pictures_prefix(inspection_id))
        for key in (pictured_key(inspection_id), proof_key(inspection_id), unproved_key(inspection_id)):
            self.delete(key)

    def inspections(self, *, untouched_for: float) -> list[str]:
        folder = self._root / "inspections"
        if not folder.is_dir():
            return []
        before = time.time() - untouched_for
        return [entry.name for entry in folder.iterdir() if _last_change(entry) < before]

    def usage(self) -> Usage:
        objects, sizes = 0, dict[tuple[int, int], int]()  # one file may have two names: see ``copy``
        for path in (self._root / "inspections").rglob("*"):
            with contextlib.suppress(FileNotFoundError):
                state = path.stat()
                if stat.S_ISREG(state.st_mode):
                    objects += 1
                    sizes[state.st_dev, state.st_ino] = state.st_size
        return Usage(objects, sum(sizes.values()), shutil.disk_usage(self._root).free)

    def tidy(self, *, untouched_for: float) -> None:
        drop_old_files(self._arriving, before=time.time() - untouched_for)

    def check(self) -> None:
        probe = self._arriving / f"probe-{os.urandom(8).hex()}"
        try:
            probe.write_bytes(b"")
            probe.unlink()
        except OSError as error:
            raise StoreDown(f"the folder of the files cannot be written to: {error.strerror}") from error

    def _path(self, key: str) -> Path:
        return self._root / checked(key)

    def _put(self, temporary: Path, key: str) -> None:
        path = self._path(key)
        _make_folders(path.parent, self._root)
        temporary.replace(path)
        _sync_folder(path.parent)


def _link_or_copy(source: Path, target: Path) -> None:
    """A second name for the same bytes (no object is ever changed in place), or a copy where links do not work."""
    try:
        os.link(source, target)
    except FileNotFoundError:
        raise
    except OSError:
        with source.open("rb") as original, target.open("xb") as copy:
            shutil.copyfileobj(original, copy)
            copy.flush()
            os.fsync(copy.fileno())


def _make_folders(folder: Path, root: Path) -> None:
    """Make ``folder`` and those above it up to ``root``, each entry on disk before the next is made in it."""
    if folder == root or folder.is_dir():
        return
    _make_folders(folder.parent, root)
    folder.mkdir(mode=0o700, exist_ok=True)
    _sync_folder(folder.parent)


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _last_change(folder: Path) -> float:
    """When a folder or anything directly in it was last written; now, if it is just going."""
    try:
        return max(path.stat().st_mtime for path in (folder, *folder.iterdir()))
    except (FileNotFoundError, NotADirectoryError):
        return time.time()
