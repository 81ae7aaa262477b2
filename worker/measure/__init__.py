"""PDF in, facts out. One door: ``measure``.

The PDF libraries are imported behind the door, so that a process that only handles facts never loads them.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from worker.measure.models import Measurements
from worker.measure.version import READER_VERSION

__all__ = ["READER_VERSION", "Measurements", "measure"]

Progress = Callable[[int, int], None]


def measure(
    path: Path, *, name: str | None = None, progress: Progress | None = None, share: bool = False
) -> Measurements:
    """Measure the file at ``path``; ``progress(done, total)`` is called as pages are read. With ``share`` a long
    book is read by two processes side by side: only for one that has no threads, as the fenced child.

    A file that cannot be opened is an answer too (``document.unreadable``). Raises ``OSError`` where there is no
    such file and ``limits.LimitReached`` where the file asks for more work than is allowed.
    """
    from worker.measure.reader import read  # noqa: PLC0415 - the PDF libraries load only when one is read

    return read(path, name=name or path.name, progress=progress, share=share)
