"""One file examined in a forked process with the service's limits: whatever happens there, it is known to which."""

from __future__ import annotations

import faulthandler
import gc
import json
import os
import resource
import select
import signal
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO, Any

from tests.fuzz.oracle import Answer, Broken
from worker.confine import limit_self
from worker.limits import Limits

LIMITS = Limits()
_CLOCK = LIMITS.seconds * 3
"""Seconds by the wall: the processor may be busy with others, and a process that sleeps for ever is a finding too."""
_FILE_SIZE = 128 * 1024 * 1024
_OUT_OF_MEMORY = ("std::bad_alloc", "Cannot allocate memory", "out of memory")


@dataclass(frozen=True)
class Ended:
    """An answer, or the law that was broken; the processor's seconds and the most bytes that it took."""

    answer: Answer | None
    law: str = ""
    detail: str = ""
    seconds: float = 0.0
    memory: int = 0


def examined(examine: Callable[[], Answer]) -> Ended:
    """Call ``examine`` in a process of its own."""
    read_end, write_end = os.pipe()
    with tempfile.TemporaryFile() as complaints:
        pid = os.fork()
        if not pid:
            os.close(read_end)
            _be_the_child(examine, write_end, complaints)
        os.close(write_end)
        said = _heard(read_end, pid)
        _, status, used = os.wait4(pid, 0)
        complaints.seek(0)
        complaint = complaints.read().decode("utf-8", "replace")
    seconds, memory = used.ru_utime + used.ru_stime, used.ru_maxrss * 1024
    answer, law, detail = _meaning(said, os.waitstatus_to_exitcode(status), complaint)
    return Ended(answer, law, detail, seconds, memory)


def _be_the_child(examine: Callable[[], Answer], write_end: int, complaints: IO[bytes]) -> None:
    """Examine, say how it went, and end without what Python does at its end."""
    try:
        os.dup2(complaints.fileno(), 2)
        faulthandler.enable()
        gc.disable()
        memory, files = _already_taken()
        limit_self(LIMITS.seconds, memory + LIMITS.memory, files + LIMITS.open_files, _FILE_SIZE)
        os.write(write_end, json.dumps(_said(examine)).encode())
    finally:
        os._exit(0)


def _already_taken() -> tuple[int, int]:
    """The address space and the files that this process was forked with, which are the tests' own; 0 if unknown."""
    own = Path("/proc/self")
    if not own.exists():
        return 0, 0
    pages = int((own / "statm").read_text().split()[0])
    return pages * resource.getpagesize(), max(map(int, os.listdir(own / "fd")))


def _said(examine: Callable[[], Answer]) -> dict[str, Any]:
    try:
        return asdict(examine())
    except Broken as broken:
        return {"law": broken.law, "detail": broken.detail}
    except MemoryError:
        return asdict(Answer("limit", "memory"))
    except BaseException as error:
        return {"law": f"escaped: {type(error).__name__}", "detail": str(error)[:500]}


def _heard(read_end: int, pid: int) -> bytes:
    """All that it says, or nothing where it was at it for too long and was ended."""
    said, until = b"", time.monotonic() + _CLOCK
    with os.fdopen(read_end, "rb", buffering=0) as pipe:
        while select.select([pipe], [], [], max(0.0, until - time.monotonic()))[0]:
            piece = pipe.read(65_536)
            if not piece:
                return said
            said += piece
    with suppress(ProcessLookupError):
        os.kill(pid, signal.SIGKILL)
    return b""


def _meaning(said: bytes, status: int, complaint: str) -> tuple[Answer | None, str, str]:
    if said:
        told = json.loads(said)
        return (None, told["law"], told["detail"]) if "law" in told else (Answer(**told), "", "")
    if -status == signal.SIGXCPU:
        return Answer("limit", "seconds"), "", ""
    if any(words in complaint for words in _OUT_OF_MEMORY):
        return Answer("limit", "memory"), "", ""
    ended = signal.Signals(-status).name if status < 0 else f"status {status}"
    return None, "hang" if -status == signal.SIGKILL else f"crash: {ended}", complaint[-1500:]


def own_memory() -> int:
    """The most bytes that this process, from which the others are forked, has taken: what theirs starts from."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def written_in(folder: Path, data: bytes) -> Path:
    """The file to examine, always by the same name."""
    path = folder / "fuzzed.pdf"
    path.write_bytes(data)
    return path
