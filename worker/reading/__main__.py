"""The child behind the fence: ``python -m worker.reading FILE FOLDER``.

Says ``{"done": n, "total": n}`` a line at a time on standard output and leaves the reading in FOLDER, and beside it the
page that it is at. A limit that the reader knows of ends it with status 3 and a last line that names it; a fault of
ours with status 1.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from pathlib import Path

from worker.measure import measure, whereabouts
from worker.measure.limits import LimitReached
from worker.measure.sharing import cores
from worker.reading import PAGE, leave, reading_of

CROSSED_LIMIT, FAULT = 3, 1
_EVERY_SECONDS = 0.2


def main() -> int:
    """Measure one file; the exit status tells how it went."""
    parser = argparse.ArgumentParser(prog="worker.reading")
    parser.add_argument("file", type=Path)
    parser.add_argument("folder", type=Path)
    arguments = parser.parse_args()
    whereabouts.note_in(arguments.folder / PAGE)
    try:
        measurements = measure(arguments.file, progress=_Said(), share=cores() > 1)
        leave(reading_of(measurements), arguments.folder)
    except LimitReached as crossed:
        _say({"limit": crossed.limit, "page": crossed.page, "message": str(crossed)})
        return CROSSED_LIMIT
    except MemoryError:
        _say({"limit": "memory", "page": None, "message": "the file needs more memory than is allowed"})
        return CROSSED_LIMIT
    except Exception as error:
        page = whereabouts.noted()
        where = f" on page {page}" if page else ""
        _say({"fault": f"the reader broke off{where} ({type(error).__name__}: {error})"[:500]})
        raise
    return 0


class _Said:
    """Tells how far the reading is, a few times a second."""

    def __init__(self) -> None:
        self._last = 0.0

    def __call__(self, done: int, total: int) -> None:
        now = time.monotonic()
        if done == total or now - self._last >= _EVERY_SECONDS:
            self._last = now
            _say({"done": done, "total": total})


def _say(line: dict[str, object]) -> None:
    print(json.dumps(line), flush=True)


if __name__ == "__main__":
    status = main()
    sys.stdout.flush()
    os._exit(status)  # at once: taking down what was read of a long book piece by piece would take a while
