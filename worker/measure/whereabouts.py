"""Which page this process is reading, noted where it outlives the process: whatever ends it, its parent can tell.

Progress does not tell that: it is said a few times a second, and of a book that is read by two processes it counts the
pages of both.
"""

from __future__ import annotations

import mmap
from pathlib import Path

_SIZE = 8
_note: mmap.mmap | None = None


def note_in(path: Path) -> None:
    """From now on keep the note in this file."""
    global _note  # noqa: PLW0603 - a process is in one place
    with path.open("w+b") as file:
        file.truncate(_SIZE)
        _note = mmap.mmap(file.fileno(), _SIZE)


def at(page: int) -> None:
    """This page is being read; 0 where none is."""
    if _note is not None:
        _note[:] = page.to_bytes(_SIZE, "little")


def noted() -> int | None:
    """The page that this process is reading, where it keeps a note."""
    return int.from_bytes(_note[:], "little") or None if _note is not None else None


def note_no_more() -> None:
    """The note is another process's: for one that was forked."""
    global _note  # noqa: PLW0603
    _note = None


def last_noted(path: Path) -> int | None:
    """The page that a process which is gone was reading, None where it was at none. Raises ``FileNotFoundError``."""
    return int.from_bytes(path.read_bytes()[:_SIZE], "little") or None
