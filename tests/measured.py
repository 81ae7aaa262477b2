"""What real books measure, worked out once in a run of the tests, in however many processes the tests run.

The longest of them take half a minute, and a dozen modules look at one thing or another of what was measured.
"""

from __future__ import annotations

import fcntl
import hashlib
import os
import pickle
import shutil
import tempfile
from pathlib import Path

from worker.measure import measure
from worker.measure.models import Measurements

_RUN = os.getppid() if "PYTEST_XDIST_WORKER" in os.environ else os.getpid()
"""The process that began the run: pytest-xdist starts the others itself."""
_FOLDER = Path(tempfile.gettempdir()) / f"pressworthy-measured-{os.getuid()}-{_RUN}"


def facts_of(path: Path) -> Measurements:
    """As :func:`worker.measure.measure` has it; that long books are shared by processes changes nothing of it."""
    name = hashlib.sha256(os.fsencode(path)).hexdigest()
    _FOLDER.mkdir(mode=0o700, exist_ok=True)
    kept = _FOLDER / f"{name}.pickle"
    with (_FOLDER / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not kept.exists():
            made = measure(path, share=True)
            kept.write_bytes(pickle.dumps(made, pickle.HIGHEST_PROTOCOL))
            return made
    found: Measurements = pickle.loads(kept.read_bytes())  # noqa: S301 - written above, in a folder of our own
    return found


def forget_measured() -> None:
    """Drop what this run has kept, at its end."""
    shutil.rmtree(_FOLDER, ignore_errors=True)
