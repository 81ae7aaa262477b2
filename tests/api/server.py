"""A real gunicorn with the service's own settings, and a sender that writes a body piece by piece on a bare socket."""

from __future__ import annotations

import http.client
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
STARTING_SECONDS = 40


@dataclass(frozen=True)
class Web:
    """The web service: where it listens, and its first process."""

    port: int
    process: subprocess.Popen[bytes]

    def peaks(self) -> list[int]:
        """The most memory that each of its processes ever held (VmHWM), in bytes."""
        return [_status(pid, "VmHWM") * 1024 for pid in (self.process.pid, *_children(self.process.pid))]

    def descriptors(self) -> int:
        """How many files and connections its processes have open."""
        return sum(len(os.listdir(f"/proc/{pid}/fd")) for pid in (self.process.pid, *_children(self.process.pid)))

    def send(
        self, target: str, pieces: Iterable[bytes], headers: Mapping[str, str], *, method: str = "POST"
    ) -> http.client.HTTPResponse:
        """Send a body as it comes; chunked where ``headers`` give no length. The answer is read only afterwards."""
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)) as connection:
            chunked = "Content-Length" not in headers
            connection.request(method, target, iter(pieces), dict(headers), encode_chunked=chunked)
            answer = connection.getresponse()
            answer.body = answer.read()  # type: ignore[attr-defined]
            return answer


@contextmanager
def serving(data: Path, **environment: str) -> Iterator[Web]:
    """The web service on a data folder; it asks for no token unless told to."""
    with socket.create_server(("127.0.0.1", 0)) as listening:
        number, port = listening.fileno(), listening.getsockname()[1]
        listening.set_inheritable(True)
        process = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "gunicorn",
                "--config",
                "python:service.gunicorn_settings",
                "--bind",
                f"fd://{number}",
            ],
            env=dict(os.environ)
            | {"PRESSWORTHY_DATA": str(data), "PRESSWORTHY_ASKS_FOR_TOKEN": "no", "PYTHONPATH": str(ROOT)}
            | environment,
            pass_fds=(number,),
            cwd=ROOT,
        )
    try:
        _wait_for(port, process)
        yield Web(port, process)
    finally:
        process.terminate()
        process.wait(30)


def _wait_for(port: int, process: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + STARTING_SECONDS
    while time.monotonic() < until:
        assert process.poll() is None, "the web service ended as it started"
        try:
            with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=5)) as connection:
                connection.request("GET", "/v1/health")
                if connection.getresponse().status == 200:
                    return
        except OSError:
            time.sleep(0.1)
    raise AssertionError("the web service did not come up")


def _children(pid: int) -> list[int]:
    return [int(child) for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def _status(pid: int, name: str) -> int:
    lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith(f"{name}:"))
