"""``docker-compose.yml`` is kept true without an engine: its very commands are run here, and inspect a book together.

Only what a container would give them is replaced: the broker's host name, the port and the data folder.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import Any

import httpx
import pytest
import yaml
from redis import Redis
from redis.exceptions import RedisError

from service.valkey import valkey_program

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 60
"""Seconds after which a test gives up waiting."""


@pytest.fixture(scope="module")
def services() -> dict[str, Any]:
    found: dict[str, Any] = yaml.safe_load((ROOT / "docker-compose.yml").read_text())["services"]
    return found


def test_nothing_runs_as_root_and_what_is_kept_has_a_volume(services: dict[str, Any]) -> None:
    for name in ("web", "worker"):
        assert int(services[name]["user"]) > 0
        assert "kept:/data" in services[name]["volumes"]
        assert services[name]["environment"]["PRESSWORTHY_DATA"] == "/data"
        assert services[name]["depends_on"] == {"broker": {"condition": "service_healthy"}}
    assert "container_name" not in services["worker"], "several workers could not be started"


def test_its_commands_inspect_a_book_together(services: dict[str, Any], tmp_path: Path, sample_pdfs: Path) -> None:
    broker_port, web_port = _free_port(), _free_port()
    kept = {
        **os.environ,
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "PRESSWORTHY_DATA": str(tmp_path / "kept"),
        "PRESSWORTHY_BROKER_URL": services["web"]["environment"]["PRESSWORTHY_BROKER_URL"]
        .replace("broker:6379", f"127.0.0.1:{broker_port}"),
    }  # fmt: skip
    with ExitStack() as stack:
        _, *broker_options = services["broker"]["command"]
        local = ["--bind", "127.0.0.1", "--port", str(broker_port), "--dir", str(tmp_path)]
        stack.enter_context(_running([valkey_program(), *broker_options, *local], kept))
        _until(lambda: bool(Redis(port=broker_port).ping()))
        token = subprocess.run(["pressworthy", "token", "make", "desk"], env=kept, capture_output=True, check=True)
        port = services["web"]["command"][-1]
        web = [word.replace(port, str(web_port)) for word in services["web"]["command"]]
        stack.enter_context(_running(web, kept))
        stack.enter_context(_running(services["worker"]["command"], kept))
        healthy = [word.replace(port, str(web_port)) for word in services["web"]["healthcheck"]["test"][1:]]
        _until(lambda: subprocess.run(healthy, env=kept, capture_output=True, check=False).returncode == 0)
        bearer = {"Authorization": f"Bearer {token.stdout.decode().strip()}"}
        with httpx.Client(base_url=f"http://127.0.0.1:{web_port}", headers=bearer, timeout=PATIENCE) as client:
            assert client.get("/v1/inspections", headers={"Authorization": ""}).status_code == 401
            files = {"file": ("book.pdf", (sample_pdfs / "second-harbour.pdf").read_bytes(), "application/pdf")}
            sent = client.post("/v1/inspections", files=files, data={"profile": "common-paperback"})
            assert sent.status_code == 202
            _until(lambda: client.get(sent.headers["Location"]).json()["state"] == "done")
            assert client.get(sent.headers["Location"]).json()["verdict"] == "not-pressworthy"


@contextmanager
def _running(command: list[str], environment: dict[str, str]) -> Iterator[None]:
    with subprocess.Popen(
        command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
    ) as process:
        try:
            yield
        finally:
            process.terminate()
            process.wait(PATIENCE)


def _until(condition: Callable[[], bool]) -> None:
    give_up = time.monotonic() + PATIENCE
    while True:
        with suppress(RedisError, httpx.TransportError):
            if condition():
                return
        assert time.monotonic() < give_up
        time.sleep(0.2)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
