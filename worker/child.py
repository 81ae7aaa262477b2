"""A child process behind the fence: started with nothing of ours, heard line by line, ended with all its own.

This knows processes and limits; what the child is asked to do is :mod:`worker.fence`'s business.
"""

from __future__ import annotations

import json
import logging
import os
import selectors
import signal
import site
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any, Literal

from worker.limits import Limits

log = logging.getLogger(__name__)

LARGEST_RESULT = 128 * 1024 * 1024
"""Bytes of any file that a child may write, unless it is asked for more."""

LONGEST_LINE = 64 * 1024
GLANCE_SECONDS = 0.2
"""How often the parent looks at the clock and for a cancellation."""

ENDING_SECONDS = 5
"""How long a child may take to end once it has closed its output."""

Stopped = Literal["seconds", "cancelled", "noise"]
"""Why the parent ended a child: its time was up, nobody wants it any more, or it said what no child of ours says."""

_TAIL = 2_000
_PASSED_ON = ("LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH", "TZ")
_ROOT = Path(__file__).resolve().parent.parent


OUT_OF_MEMORY_KILLS = Path("/proc/vmstat")
"""Where Linux counts, as ``oom_kill``, the processes that it killed for want of memory."""


@dataclass
class Ended:
    """How a child ended: its exit status (negative: the signal), why we ended it, and the last line that it said.

    ``processor_seconds`` is what it used; ``complaint`` the end of its standard error; ``killed_for_memory`` whether
    the system killed a process for want of memory meanwhile.
    """

    status: int
    stopped: Stopped | None = None
    last: dict[str, Any] = field(default_factory=dict)
    processor_seconds: float = 0.0
    complaint: str = ""
    killed_for_memory: bool = False


Heard = Callable[[dict[str, Any]], None]
Cancelled = Callable[[], bool]


def run(
    module: Sequence[str],
    *,
    folder: Path,
    limits: Limits,
    heard: Heard | None = None,
    cancelled: Cancelled | None = None,
    meanwhile: Callable[[], object] | None = None,
    largest: int = LARGEST_RESULT,
) -> Ended:
    """Run ``python -m MODULE ARGUMENTS…`` in ``folder`` under ``limits``, and wait for its end.

    No file that it writes has more than ``largest`` bytes.

    ``heard`` gets every JSON line; ``cancelled`` is asked a few times a second; ``meanwhile`` is called once, when the
    child is started. Whatever happens, also an exception of theirs, the child and all that it started are gone
    afterwards.
    """
    killed = _out_of_memory_kills()
    with tempfile.TemporaryFile() as complaints:
        process = _start(module, folder, limits, complaints, largest)
        listener = _Listener(process, heard or _nothing)
        try:
            deadline = time.monotonic() + limits.seconds
            if meanwhile is not None:
                meanwhile()
            stopped = _watch(listener, deadline, cancelled)
            if stopped is None:
                _let_end(process.pid)
        finally:
            used = _end_group(process)
            listener.close()
        killed_for_memory = _out_of_memory_kills() > killed
        ended = Ended(process.returncode, stopped, listener.last, used, _tail(complaints), killed_for_memory)
        if ended.status or ended.stopped:
            log.info("child %s ended: %s", module[0], ended)
        return ended


@contextmanager
def empty_folder() -> Iterator[Path]:
    """A folder of the child's own, gone afterwards with whatever it left there."""
    with tempfile.TemporaryDirectory(prefix="pressworthy-", ignore_cleanup_errors=True) as name:
        yield Path(name).resolve()


def environment(folder: Path, limits: Limits) -> dict[str, str]:
    """All that a child is told: no secret of ours is among it."""
    kept = {name: os.environ[name] for name in _PASSED_ON if name in os.environ}
    return kept | {
        "PATH": os.defpath,
        "LANG": "C.UTF-8",
        "HOME": str(folder),
        "TMPDIR": str(folder),
        "PYTHONPATH": str(_ROOT),
        "PYTHONUNBUFFERED": "1",
        "PYTHONUSERBASE": site.getuserbase(),
        "PYDANTIC_DISABLE_PLUGINS": "__all__",  # to look for them costs as much as a page or two
        "MALLOC_ARENA_MAX": "1",
        "OMP_NUM_THREADS": "1",
        "PRESSWORTHY_MAX_PAGES": str(limits.pages),
    }


def _start(
    module: Sequence[str], folder: Path, limits: Limits, complaints: IO[bytes], largest: int
) -> subprocess.Popen[bytes]:
    own = {
        "seconds": limits.seconds,
        "memory": limits.memory,
        "open_files": limits.open_files,
        "file_size": largest,
        "parent": os.getpid(),
    }
    return subprocess.Popen(
        [sys.executable, "-P", "-m", "worker.confine", json.dumps(own), *module],
        cwd=folder,
        env=environment(folder, limits),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=complaints,
        start_new_session=True,
    )


class _Noise(Exception):
    """The child says what no child of ours says."""


class _Listener:
    """The child's standard output, as JSON lines."""

    def __init__(self, process: subprocess.Popen[bytes], heard: Heard) -> None:
        assert process.stdout is not None  # noqa: S101 - it is a pipe
        self._pipe = process.stdout
        self._heard = heard
        self._rest = b""
        self.last: dict[str, Any] = {}
        os.set_blocking(self._pipe.fileno(), False)
        self._selector = selectors.DefaultSelector()
        self._selector.register(self._pipe, selectors.EVENT_READ)

    def listen(self, seconds: float) -> bool:
        """Hear what comes within ``seconds``; False once the pipe is closed. Raises :class:`_Noise`."""
        if not self._selector.select(seconds):
            return True
        data = os.read(self._pipe.fileno(), LONGEST_LINE)
        *lines, self._rest = (self._rest + data).split(b"\n")
        for line in lines:
            self._take(line)
        if len(self._rest) > LONGEST_LINE:
            raise _Noise
        return bool(data)

    def close(self) -> None:
        self._selector.close()
        self._pipe.close()

    def _take(self, line: bytes) -> None:
        try:
            said = json.loads(line)
        except ValueError:
            raise _Noise from None
        if not isinstance(said, dict):
            raise _Noise
        self.last = said
        self._heard(said)


def _watch(listener: _Listener, deadline: float, cancelled: Cancelled | None) -> Stopped | None:
    """Listen until the child closes its output; the reason where it has to be ended before."""
    while (left := deadline - time.monotonic()) > 0:
        if cancelled is not None and cancelled():
            return "cancelled"
        try:
            if not listener.listen(min(left, GLANCE_SECONDS)):
                return None
        except _Noise:
            return "noise"
    return "seconds"


def _let_end(pid: int) -> None:
    """Wait a little for a child that has closed its output; it stays to be collected, so that its id is not reused."""
    until = time.monotonic() + ENDING_SECONDS
    while time.monotonic() < until:
        if os.waitid(os.P_PID, pid, os.WEXITED | os.WNOWAIT | os.WNOHANG) is not None:
            return
        time.sleep(0.005)


def _end_group(process: subprocess.Popen[bytes]) -> float:
    """End the child and whatever it started, and collect it; the processor seconds that it used."""
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(process.pid, signal.SIGKILL)
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    return usage.ru_utime + usage.ru_stime


def _out_of_memory_kills() -> int:
    """How many processes the system has killed for want of memory; 0 where it does not say."""
    try:
        counts = OUT_OF_MEMORY_KILLS.read_text()
    except OSError:
        return 0
    return next((int(line.split()[1]) for line in counts.splitlines() if line.startswith("oom_kill ")), 0)


def _tail(complaints: IO[bytes]) -> str:
    size = complaints.seek(0, os.SEEK_END)
    complaints.seek(max(0, size - _TAIL))
    return complaints.read().decode("utf-8", "replace")


def _nothing(_: dict[str, Any]) -> None:
    pass
