"""``pressworthy serve`` as a person runs it: one command, one address, an orderly end, and nothing lost in between."""

from __future__ import annotations

import json
import os
import re
import selectors
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import pytest

from service.serve import Refused, is_loopback, serve
from service.valkey import start_valkey
from worker.settings import Settings
from worker.store import open_store

ROOT = Path(__file__).resolve().parents[2]
COMMAND = [sys.executable, "-c", "from service.cli import main; main()"]
EVERYWHERE = "0.0.0.0"
PATIENCE = 60
"""Seconds after which a test gives up waiting."""


class Running:
    """A service that runs in a process of its own."""

    def __init__(self, data: Path, **environment: str) -> None:
        told = {name: value for name, value in os.environ.items() if not name.startswith("PRESSWORTHY_")}
        self.data = data
        self.process = subprocess.Popen(
            [*COMMAND, "serve", "--port", "0", "--data", str(data)],
            cwd=ROOT,
            env=told | {"PRESSWORTHY_LEASE_SECONDS": "2"} | environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        self.url = self._address()

    def _address(self) -> str:
        assert self.process.stdout is not None
        with selectors.DefaultSelector() as selector:
            selector.register(self.process.stdout, selectors.EVENT_READ)
            assert selector.select(PATIENCE), "no address within a minute"
        line = self.process.stdout.readline()
        if not line:
            pytest.fail(self.process.communicate()[1])
        said = re.fullmatch(r"Pressworthy is ready: (http://127\.0\.0\.1:\d+/)\n", line)
        assert said, line
        return said[1]

    def get(self, path: str) -> Any:
        """A JSON answer."""
        with urllib.request.urlopen(self.url + path, timeout=10) as answer:
            return json.load(answer)

    def upload(self, book: bytes, profile: str = "common-paperback") -> str:
        """Send a book; its inspection's path."""
        request = urllib.request.Request(
            f"{self.url}v1/inspections?profile={profile}", data=book, headers={"Content-Type": "application/pdf"}
        )
        with urllib.request.urlopen(request, timeout=20) as answer:
            assert answer.status == 202
            return re.sub(r"^https?://[^/]+", "", answer.headers["Location"]).lstrip("/")

    def wait_done(self, path: str) -> dict[str, Any]:
        """What the service says of the inspection once it is done."""
        seen: dict[str, Any] = {}

        def done() -> bool:
            seen.update(self.get(path))
            assert seen["state"] not in ("failed", "cancelled"), seen
            return bool(seen["state"] == "done")

        _until(done)
        return seen

    def children(self) -> dict[str, int]:
        """The process ids of its servers by what they run."""
        known = {"valkey-server": "broker", "worker.run": "worker", "gunicorn": "web"}
        tasks = Path(f"/proc/{self.process.pid}/task")
        pids = [int(pid) for task in tasks.iterdir() for pid in (task / "children").read_text().split()]
        found = {}
        for pid in pids:
            with suppress(FileNotFoundError):  # it has just ended
                words = Path(f"/proc/{pid}/cmdline").read_text()
                found.update({name: pid for word, name in known.items() if word in words})
        return found

    def end(self, by: signal.Signals = signal.SIGINT) -> str:
        """End it; what it said on standard error."""
        self.process.send_signal(by)
        return self.process.communicate(timeout=PATIENCE)[1]


@contextmanager
def running(data: Path, **environment: str) -> Iterator[Running]:
    service = Running(data, **environment)
    try:
        yield service
    finally:
        if service.process.poll() is None:
            service.end(signal.SIGTERM)


def alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def gone(pids: list[int]) -> bool:
    """Whether all of them end soon."""
    give_up = time.monotonic() + PATIENCE
    while any(map(alive, pids)):
        if time.monotonic() > give_up:
            return False
        time.sleep(0.05)
    return True


needs_proc = pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="needs Linux's /proc")


@needs_proc
def test_one_command_serves_a_book_and_ends_in_order(tmp_path: Path, sample_pdfs: Path) -> None:
    data = tmp_path / "data"
    with running(data) as service:
        children = service.children()
        assert set(children) == {"broker", "worker", "web"}
        assert data.stat().st_mode & 0o777 == 0o700
        path = service.upload((sample_pdfs / "keeper-of-the-low-light.pdf").read_bytes())
        assert service.wait_done(path)["verdict"] == "pressworthy"
        complaints = service.end(signal.SIGINT)
        assert service.process.returncode == 0, complaints
        assert "Traceback" not in complaints
        assert gone(list(children.values()))
    with running(data) as again:
        assert again.get(path)["state"] == "done"


@needs_proc
def test_a_service_killed_outright_leaves_no_server_and_loses_nothing(tmp_path: Path, sample_pdfs: Path) -> None:
    """kill -9 right after the 202: the servers end with it, and the next start sees the book through."""
    with running(tmp_path) as service:
        children = service.children()
        path = service.upload((sample_pdfs / "tide-tables.pdf").read_bytes(), "ropewalk-offset")
        service.end(signal.SIGKILL)
        assert gone(list(children.values()))
    with running(tmp_path) as again:
        again.wait_done(path)


@needs_proc
def test_a_server_that_dies_is_started_again(tmp_path: Path, sample_pdfs: Path) -> None:
    with running(tmp_path) as service:
        before = service.children()
        for pid in before.values():
            os.kill(pid, signal.SIGKILL)
        _until(
            lambda: (
                set(service.children()) == set(before) and not set(service.children().values()) & set(before.values())
            )
        )
        _until(lambda: _answers(f"{service.url}v1/ready"))
        service.wait_done(service.upload((sample_pdfs / "letters-from-the-pump.pdf").read_bytes()))
        complaints = service.end()
        assert all(f"the {name} ended (status -9)" in complaints for name in ("broker", "worker", "web service"))


@needs_proc
def test_a_given_broker_is_used_and_its_workers_are_others(tmp_path: Path, sample_pdfs: Path) -> None:
    """The service starts neither a broker nor a worker; ``pressworthy worker`` on the same broker does the work."""
    elsewhere = Settings.from_environment(tmp_path / "elsewhere", {})
    broker = start_valkey(elsewhere, os.environ)
    told = {"PRESSWORTHY_BROKER_URL": elsewhere.broker_url, "PRESSWORTHY_DATA": str(tmp_path / "data")}
    worker = None
    try:
        with running(tmp_path / "data", **told) as service:
            assert set(service.children()) == {"web"}
            path = service.upload((sample_pdfs / "letters-from-the-pump.pdf").read_bytes())
            assert service.get(path)["state"] == "queued"
            worker = subprocess.Popen([*COMMAND, "worker", "--concurrency", "1"], cwd=ROOT, env={**os.environ, **told})
            service.wait_done(path)
            assert "pressworthy worker" in service.end()
    finally:
        if worker is not None:
            worker.terminate()
            worker.wait(PATIENCE)
        broker.stop()


def test_a_second_service_on_the_same_folder_is_refused(tmp_path: Path) -> None:
    with running(tmp_path) as service:
        second = subprocess.run(
            [*COMMAND, "serve", "--port", "0", "--data", str(tmp_path)],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
        )
        assert second.returncode == 2
        assert f"process {service.process.pid}" in second.stderr
        assert "--data" in second.stderr
        assert len(second.stderr.strip().splitlines()) == 1
        assert service.get("v1/health")


def test_strangers_are_refused_while_there_is_no_token(tmp_path: Path) -> None:
    with pytest.raises(Refused, match="pressworthy token make NAME"):
        serve(EVERYWHERE, 0, tmp_path)
    store = open_store(Settings.from_environment(tmp_path))
    store.tokens.make("the mill")
    store.tokens.revoke("the mill")
    store.close()
    with pytest.raises(Refused, match="no access token"):
        serve("::", 0, tmp_path)


def test_a_port_in_use_is_said_to_be(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken, pytest.raises(Refused, match="--port"):
        serve("127.0.0.1", taken.getsockname()[1], tmp_path)


def test_a_folder_that_cannot_be_used_is_said_so(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(Refused, match="--data"):
        serve("127.0.0.1", 0, tmp_path / "file")


def test_a_wrong_setting_is_refused_by_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PRESSWORTHY_MAX_PAGES", "many")
    with pytest.raises(Refused, match="PRESSWORTHY_MAX_PAGES"):
        serve("127.0.0.1", 0, tmp_path)


@pytest.mark.parametrize(
    ("host", "ours"),
    [
        ("127.0.0.1", True),
        ("127.8.8.8", True),  # the whole block: RFC 6890, table 4
        ("::1", True),
        ("localhost", True),
        (EVERYWHERE, False),
        ("::", False),
        ("192.0.2.7", False),
        ("localhost.example", False),
        ("", False),
    ],
)
def test_what_only_this_machine_reaches(host: str, ours: bool) -> None:
    assert is_loopback(host) is ours


def _until(condition: Callable[[], bool]) -> None:
    give_up = time.monotonic() + PATIENCE
    while not condition():
        assert time.monotonic() < give_up
        time.sleep(0.1)


def _answers(url: str) -> bool:
    try:
        with urllib.request.urlopen(url, timeout=5) as answer:
            return bool(answer.status == 200)
    except OSError:
        return False
