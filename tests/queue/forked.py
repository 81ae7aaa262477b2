"""Worker processes that begin where the imports are done: a second and a half of processor time saved at each.

A process of the standard library's (``multiprocessing``, ``forkserver``) imports the worker once and is forked for
each. What starts a worker as a person does is tried elsewhere: ``tests/serve`` and ``tests/command``.
"""

from __future__ import annotations

import multiprocessing
import os
import runpy
import signal
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

_context = multiprocessing.get_context("forkserver")
_context.set_forkserver_preload(["worker.run", "tests.queue.worker"])


class Forked:
    """A Python module that runs as ``__main__``, in a session of its own; what it says goes to the end of ``log``."""

    def __init__(self, module: str, *, environment: Mapping[str, str], folder: Path, log: Path) -> None:
        given = (module, dict(environment), str(folder), str(log))
        self._process = _context.Process(target=_run, args=given, daemon=False)
        self._process.start()
        assert self._process.pid is not None
        self.pid = self._process.pid

    @property
    def returncode(self) -> int | None:
        """The exit status, negative for a signal; None while it runs."""
        return self._process.exitcode

    def poll(self) -> int | None:
        return self.returncode

    def wait(self, seconds: float | None = None) -> int:
        """Its exit status. Raises TimeoutError where it has none in time."""
        self._process.join(seconds)
        if self.returncode is None:
            raise TimeoutError(f"process {self.pid} still runs after {seconds} seconds")
        return self.returncode

    def send_signal(self, number: int) -> None:
        with suppress(ProcessLookupError):
            os.kill(self.pid, number)

    def kill(self) -> None:
        self.send_signal(signal.SIGKILL)


def _run(module: str, environment: dict[str, str], folder: str, log: str) -> None:
    os.setsid()
    os.environ.clear()
    os.environ.update(environment)
    os.chdir(folder)
    file = os.open(log, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
    for number in (1, 2):
        os.dup2(file, number)
    os.close(file)
    runpy.run_module(module, run_name="__main__", alter_sys=True)
