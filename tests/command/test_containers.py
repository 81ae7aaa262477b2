"""``docker-compose.yml`` is kept true without an engine: its very commands are run here, and inspect a book together.

Only what a container would give them is replaced: the hosts' names, the ports and the data folder; in the profile
``shared`` the database is a real PostgreSQL, and the bucket a server of moto's that speaks S3.
"""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest
import yaml
from prometheus_client.parser import text_string_to_metric_families
from redis import Redis
from redis.exceptions import RedisError
from sqlalchemy import make_url

from service.valkey import valkey_program
from tests.needs import needs_module, needs_postgres
from tests.store.postgres import fresh_database
from worker.settings import Settings
from worker.store import open_store

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 60
"""Seconds after which a test gives up waiting."""

SHARED = "shared"


def _services(given: Mapping[str, str]) -> dict[str, Any]:
    """The services as an engine reads them, with these variables given (the Compose specification, interpolation)."""
    return dict(yaml.safe_load(_filled_in((ROOT / "docker-compose.yml").read_text(), given))["services"])


def _filled_in(text: str, given: Mapping[str, str]) -> str:
    return re.sub(r"\$\{(\w+)(?::-([^}]*))?\}", lambda found: given.get(found[1]) or found[2] or "", text)


def _shared_env() -> dict[str, str]:
    """What the lines of a shared.env give that stand at the head of the file, each with those above it filled in."""
    given: dict[str, str] = {}
    for name, value in re.findall(r"^#   ([A-Z_]+)=(.*)$", (ROOT / "docker-compose.yml").read_text(), re.MULTILINE):
        given[name] = _filled_in(value, given)
    assert given["WORKERS"]
    return given


@pytest.fixture(scope="module")
def services() -> dict[str, Any]:
    return _services({})


def test_nothing_runs_as_root_and_what_is_kept_has_a_volume(services: dict[str, Any]) -> None:
    for name in ("web", "worker"):
        assert int(services[name]["user"]) > 0
        assert "kept:/data" in services[name]["volumes"]
        assert services[name]["environment"]["PRESSWORTHY_DATA"] == "/data"
        assert services[name]["depends_on"]["broker"] == {"condition": "service_healthy"}
    assert "container_name" not in services["worker"], "several workers could not be started"


def test_one_host_needs_nothing_of_the_profile(services: dict[str, Any]) -> None:
    of_profile = {name for name, service in services.items() if service.get("profiles") == [SHARED]}
    assert of_profile == {"database", "bucket", "new-bucket"}
    for name in services.keys() - of_profile:
        needed = {on for on, how in services[name].get("depends_on", {}).items() if how.get("required", True)}
        assert not needed & of_profile
    settings = Settings.from_environment(None, services["worker"]["environment"])
    assert settings.database_url == "sqlite:////data/pressworthy.sqlite3"
    assert settings.store_url is None
    assert int(services["worker"]["deploy"]["replicas"]) == 1


def test_the_profile_means_the_database_and_the_bucket_that_it_starts() -> None:
    services = _services(_shared_env())
    settings = Settings.from_environment(None, services["web"]["environment"])
    assert services["worker"]["environment"] == services["web"]["environment"]
    assert int(services["worker"]["deploy"]["replicas"]) > 1
    url, database = make_url(settings.database_url), services["database"]["environment"]
    told = [database["POSTGRES_USER"], database["POSTGRES_PASSWORD"], "database", database["POSTGRES_DB"]]
    assert [url.username, url.password, url.host, url.database] == told
    bucket, known = services["bucket"], services["web"]["environment"]
    assert bucket["environment"]["ROOT_ACCESS_KEY"] == known["AWS_ACCESS_KEY_ID"] != ""
    assert bucket["environment"]["ROOT_SECRET_KEY"] == known["AWS_SECRET_ACCESS_KEY"] != ""
    assert settings.store_url is not None
    made = services["new-bucket"]["command"][-1].removeprefix(f"{bucket['command'][-1]}/")
    assert settings.store_url.startswith(f"s3://{made}/")
    assert services["new-bucket"]["volumes"] == bucket["volumes"]


def test_nothing_but_the_web_service_can_be_reached_from_outside() -> None:
    services = _services(_shared_env())
    assert [name for name, service in services.items() if "ports" in service] == ["web"]
    assert services["web"]["ports"] == ["8321:8321"], "figures are for those within"


def test_its_commands_inspect_a_book_together(services: dict[str, Any], tmp_path: Path, sample_pdfs: Path) -> None:
    with _started(services, tmp_path, {}) as run:
        run.inspects((sample_pdfs / "second-harbour.pdf").read_bytes())
        assert (tmp_path / "kept" / "pressworthy.sqlite3").is_file()


@needs_postgres
@needs_module("moto")
@needs_module("flask_cors")
def test_the_profiles_commands_inspect_a_book_together(
    postgres: str, s3_url: str, tmp_path: Path, sample_pdfs: Path
) -> None:
    services = _services(_shared_env())
    assert services["web"]["environment"]["PRESSWORTHY_STORE_URL"] == f"{s3_url}/kept"
    with fresh_database(postgres) as url:
        elsewhere = {"PRESSWORTHY_DATABASE_URL": url} | {
            name: value for name, value in os.environ.items() if name.startswith("AWS_")
        }
        with _started(services, tmp_path, elsewhere) as run:
            made = run.inspects((sample_pdfs / "second-harbour.pdf").read_bytes())
            assert run.workers() == int(services["worker"]["deploy"]["replicas"])
        assert not list(tmp_path.rglob("*.sqlite3"))
        assert not list(tmp_path.rglob("file.pdf"))
        store = open_store(Settings.from_environment(tmp_path / "seen", run.environment))
        assert store.rows.get(made) is not None
        store.close()


@dataclass(frozen=True)
class Run:
    """What runs: the web service and its figures by their ports, the token of a member, the environment of all."""

    web_port: int
    figures_port: int
    token: str
    environment: Mapping[str, str]

    def inspects(self, book: bytes) -> str:
        """Send a book, wait for its verdict; the id of its inspection."""
        bearer = {"Authorization": f"Bearer {self.token}"}
        with httpx.Client(base_url=f"http://127.0.0.1:{self.web_port}", headers=bearer, timeout=PATIENCE) as client:
            assert client.get("/v1/inspections", headers={"Authorization": ""}).status_code == 401
            files = {"file": ("book.pdf", book, "application/pdf")}
            sent = client.post("/v1/inspections", files=files, data={"profile": "common-paperback"})
            assert sent.status_code == 202
            _until(lambda: client.get(sent.headers["Location"]).json()["state"] == "done")
            assert client.get(sent.headers["Location"]).json()["verdict"] == "not-pressworthy"
            return str(sent.json()["id"])

    def workers(self) -> float:
        """How many workers are alive, as Prometheus is told."""
        text = httpx.get(f"http://127.0.0.1:{self.figures_port}/metrics", timeout=PATIENCE).text
        found = {family.name: family.samples for family in text_string_to_metric_families(text)}
        return float(found["pressworthy_workers"][0].value)


@contextmanager
def _started(services: dict[str, Any], folder: Path, elsewhere: Mapping[str, str]) -> Iterator[Run]:
    """Everything that the file starts. Each service has a network of its own there, and so a port of its own here."""
    broker_port, web_port, figures_port = _free_port(), _free_port(), _free_port()
    given = services["web"]["environment"]
    kept = {name: value for name, value in given.items() if value} | dict(elsewhere)
    (folder / "kept").mkdir()  # the volume
    kept |= {
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
        "PRESSWORTHY_DATA": str(folder / "kept"),
        "PRESSWORTHY_BROKER_URL": given["PRESSWORTHY_BROKER_URL"].replace("broker:6379", f"127.0.0.1:{broker_port}"),
        "PRESSWORTHY_METRICS_HOST": "127.0.0.1",
    }
    with ExitStack() as stack:
        _, *broker_options = services["broker"]["command"]
        local = ["--bind", "127.0.0.1", "--port", str(broker_port), "--dir", str(folder)]
        stack.enter_context(_running([valkey_program(), *broker_options, *local], kept))
        _until(lambda: bool(Redis(port=broker_port).ping()))
        token = subprocess.run(["pressworthy", "token", "make", "desk"], env=kept, capture_output=True, check=True)
        port = services["web"]["command"][-1]
        web = [word.replace(port, str(web_port)) for word in services["web"]["command"]]
        stack.enter_context(_running(web, kept | {"PRESSWORTHY_METRICS_PORT": str(figures_port)}))
        for _ in range(int(services["worker"]["deploy"]["replicas"])):
            own = {"PRESSWORTHY_METRICS_PORT": str(_free_port())}
            stack.enter_context(_running(services["worker"]["command"], kept | own))
        healthy = [word.replace(port, str(web_port)) for word in services["web"]["healthcheck"]["test"][1:]]
        _until(lambda: subprocess.run(healthy, env=kept, capture_output=True, check=False).returncode == 0)
        run = Run(web_port, figures_port, token.stdout.decode().strip(), kept)
        _until(lambda: run.workers() == int(services["worker"]["deploy"]["replicas"]))
        yield run


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
