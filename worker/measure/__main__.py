"""The child behind the fence: ``python -m worker.measure FILE OUT --name NAME``.

Says ``{"done": n, "total": n}`` a line at a time on standard output and leaves the measurements in OUT. A limit that
the reader knows of ends it with status 3 and a last line that names it; a fault of ours with status 1.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from pathlib import Path

from worker.measure import measure
from worker.measure.limits import LimitReached
from worker.measure.sharing import cores

CROSSED_LIMIT, FAULT = 3, 1
_EVERY_SECONDS = 0.2


def main() -> int:
    """Measure one file; the exit status tells how it went."""
    parser = argparse.ArgumentParser(prog="worker.measure")
    parser.add_argument("file", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--name")
    arguments = parser.parse_args()
    try:
        measurements = measure(arguments.file, name=arguments.name, progress=_Said(), share=cores() > 1)
        _write(arguments.out, measurements.model_dump_json(by_alias=True))
    except LimitReached as crossed:
        _say({"limit": crossed.limit, "page": crossed.page, "message": str(crossed)})
        return CROSSED_LIMIT
    except MemoryError:
        _say({"limit": "memory", "page": None, "message": "the file needs more memory than is allowed"})
        return CROSSED_LIMIT
    except Exception as error:
        _say({"fault": f"{type(error).__name__}: {error}"[:500]})
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


def _write(out: Path, text: str) -> None:
    part = out.with_name(out.name + ".part")
    part.write_text(text, encoding="utf-8")
    os.replace(part, out)


if __name__ == "__main__":
    sys.exit(main())
