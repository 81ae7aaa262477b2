"""The servers that run as children of ``pressworthy serve``: started, watched, started again, stopped."""

from __future__ import annotations

import logging
import os
import signal
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field

log = logging.getLogger(__name__)

STOPPING_SECONDS = 10
"""How long a server may take to end by itself."""

MOST_RESTARTS = 5
WITHIN_SECONDS = 60
"""A server that dies oftener than so many times within so long is not started again."""


class GaveUp(Exception):
    """A server does not stay up; the message says which."""


@dataclass
class Server:
    """One server: its name for people, how it is started, and what runs."""

    name: str
    command: Sequence[str]
    environment: Mapping[str, str]
    handed_on: tuple[int, ...] = ()
    """File descriptors that it inherits."""
    process: subprocess.Popen[bytes] | None = None
    died_at: list[float] = field(default_factory=list)

    def start(self) -> None:
        """Start it in a session of its own, so that Ctrl-C reaches us alone and we end it in order."""
        self.process = subprocess.Popen(
            [sys.executable, "-P", "-m", "service.launch", str(os.getpid()), *self.command],
            env=dict(self.environment),
            pass_fds=self.handed_on,
            stdin=subprocess.DEVNULL,
            start_new_session=True,
        )

    @property
    def runs(self) -> bool:
        """Whether it is up."""
        return self.process is not None and self.process.poll() is None

    def revive(self) -> None:
        """Start it again. Raises :class:`GaveUp` where it died too often."""
        now = time.monotonic()
        self.died_at = [died for died in self.died_at if now - died < WITHIN_SECONDS] + [now]
        if len(self.died_at) > MOST_RESTARTS:
            raise GaveUp(f"the {self.name} died {len(self.died_at)} times within {WITHIN_SECONDS} seconds")
        status = self.process.returncode if self.process else None
        log.warning("the %s ended (status %s); it is started again", self.name, status)
        self.start()

    def stop(self) -> None:
        """Ask it to end, wait, and end it and all that it started if it does not."""
        if self.process is None:
            return
        with suppress(ProcessLookupError):
            self.process.terminate()
        try:
            self.process.wait(STOPPING_SECONDS)
        except subprocess.TimeoutExpired:
            log.warning("the %s does not end; it is ended", self.name)
            with suppress(ProcessLookupError):
                os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
