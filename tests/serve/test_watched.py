"""A service that is watched: its log lines, its figures, how it stands. One real run, looked at from all sides.

That the figures are well formed is said by ``prometheus_client``'s own parser of the text format
(https://prometheus.io/docs/instrumenting/exposition_formats/); how they are named, by Prometheus' own practice
(https://prometheus.io/docs/practices/naming/).
"""

from __future__ import annotations

import json
import re
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.cookiejar import CookieJar
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from prometheus_client import Metric
from prometheus_client.parser import text_string_to_metric_families

from tests.serve.test_serve import COMMAND, ROOT, Running
from worker.settings import Settings
from worker.store import open_store

PATIENCE = 60
UNKNOWN_TOKEN = "pw_" + "nobodyHasEverMadeThisOne" * 2
QUERY_SECRET = "sharedOnlyWithTheAuthor0123456789abcdefXYZ"
REQUEST = "ternIsland-7"
FORBIDDEN_LABELS = {"id", "name", "file", "file_name", "owner", "token", "title", "path", "request_id", "sha256"}


@dataclass
class Watched:
    """What one run left: its log, its figures and standing while it ran, and the secrets that were used."""

    id: str = ""
    made_ids: list[str] = field(default_factory=list)
    log: str = ""
    figures: str = ""
    page: str = ""
    standing: dict[str, Any] = field(default_factory=dict)
    secrets: list[str] = field(default_factory=list)

    @property
    def lines(self) -> list[dict[str, Any]]:
        return [json.loads(line) for line in self.log.splitlines()]

    @property
    def families(self) -> dict[str, Metric]:
        return {family.name: family for family in text_string_to_metric_families(self.figures)}

    def value(self, sample: str, **labels: str) -> float | None:
        """The value of the one sample of this name and these labels."""
        found = [
            each.value
            for family in self.families.values()
            for each in family.samples
            if each.name == sample and labels.items() <= each.labels.items()
        ]
        return sum(found) if found else None


@pytest.fixture(scope="module")
def watched(tmp_path_factory: pytest.TempPathFactory, sample_pdfs: Path) -> Watched:
    """A service that asks for tokens inspects a book, refuses a stranger, meets a faulty address, and ends."""
    data, port, seen = tmp_path_factory.mktemp("watched"), _free_port(), Watched()
    store = open_store(Settings.from_environment(data, {}))
    _, secret = store.tokens.make("desk")
    store.close()
    seen.secrets = [secret, UNKNOWN_TOKEN, QUERY_SECRET]
    service = Running(
        data,
        PRESSWORTHY_ASKS_FOR_TOKEN="yes",
        PRESSWORTHY_LOG_FORMAT="json",
        PRESSWORTHY_LOG_LEVEL="INFO",
        PRESSWORTHY_METRICS_PORT=str(port),
    )
    try:
        book = (sample_pdfs / "tide-tables.pdf").read_bytes()
        sent = _ask(service, "v1/inspections?profile=common-paperback", secret, REQUEST, book)
        assert sent["status"] == 202, sent
        assert sent["request"] == REQUEST
        seen.id = sent["body"]["id"]
        until = time.monotonic() + PATIENCE
        while (told := _ask(service, f"v1/inspections/{seen.id}", secret)["body"])["state"] != "done":
            assert told["state"] not in ("failed", "cancelled"), told
            assert time.monotonic() < until
            time.sleep(0.2)
        refused = _ask(service, "v1/inspections", UNKNOWN_TOKEN, f"odd id; {UNKNOWN_TOKEN}")
        assert refused["status"] == 401
        seen.made_ids.append(refused["request"])
        seen.made_ids.append(_ask(service, f"v1/inspections?title={QUERY_SECRET}", secret, secret)["request"])
        _ask(service, f"no/such/{QUERY_SECRET}?key={QUERY_SECRET}", secret)
        _send_garbage(service, f"GET /v1/health?key={QUERY_SECRET} HTTQ/1.1\r\n\r\n")
        _sign_in(service, secret)
        seen.figures = _read(f"http://127.0.0.1:{port}/metrics")
        told_by = [*COMMAND, "standing", "--format", "json", "--data", str(data)]
        seen.standing = json.loads(subprocess.run(told_by, cwd=ROOT, capture_output=True, check=True).stdout)
    finally:
        seen.log = service.end()
    return seen


def _ask(service: Running, path: str, token: str, request: str = "", body: bytes | None = None) -> dict[str, Any]:
    """Ask as a program does; the status, the answer's request id and its body."""
    headers = {"Authorization": f"Bearer {token}"} | ({"X-Request-Id": request} if request else {})
    headers |= {"Content-Type": "application/pdf"} if body else {}
    asked = urllib.request.Request(f"{service.url}{path}", data=body, headers=headers)
    try:
        with urllib.request.urlopen(asked, timeout=20) as answer:
            return {"status": answer.status, "request": answer.headers["X-Request-Id"], "body": json.load(answer)}
    except urllib.error.HTTPError as answer:
        return {"status": answer.code, "request": answer.headers["X-Request-Id"], "body": json.load(answer)}


def _sign_in(service: Running, secret: str) -> None:
    """Sign in as a browser does, and look at a page."""
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
    with browser.open(f"{service.url}sign-in", timeout=20) as page:
        text = page.read().decode()
    fields = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', text))
    with browser.open(f"{service.url}sign-in", urlencode(fields | {"token": secret}).encode(), timeout=20) as page:
        assert "Sign out" in page.read().decode()


def _send_garbage(service: Running, text: str) -> None:
    host, port = re.findall(r"//([\d.]+):(\d+)/", service.url)[0]
    with socket.create_connection((host, int(port)), timeout=20) as connection:
        connection.sendall(text.encode())
        connection.recv(1000)


def _read(url: str) -> str:
    with urllib.request.urlopen(url, timeout=20) as answer:
        return str(answer.read().decode())


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


# Log lines.


def test_every_line_is_an_object_that_says_when_who_and_what(watched: Watched) -> None:
    for line in watched.lines:
        assert {"at", "level", "part", "logger", "message"} <= line.keys()
        assert line["part"] in ("serve", "web", "worker")
    assert {line["part"] for line in watched.lines} >= {"web", "worker"}


def test_no_secret_is_in_any_line(watched: Watched) -> None:
    for secret in watched.secrets:
        assert secret not in watched.log
        assert secret.removeprefix("pw_") not in watched.log
    assert "Authorization" not in watched.log


def test_a_request_is_one_line_with_its_route_and_not_its_address(watched: Watched) -> None:
    answered = [line for line in watched.lines if line["logger"] == "pressworthy.requests"]
    (sent,) = [line for line in answered if line["method"] == "POST" and line["route"] == "/v1/inspections"]
    assert (sent["status"], sent["request_id"]) == (202, REQUEST)
    assert sent["owner"].startswith("mem_")
    assert 0 < sent["seconds"] < PATIENCE
    assert {line["route"] for line in answered} >= {"/v1/inspections/<id>", "none"}
    assert [line["owner"] for line in answered if line["status"] == 401] == [None]


def test_the_worker_names_the_request_that_brought_the_inspection(watched: Watched) -> None:
    of_it = [line for line in watched.lines if line["part"] == "worker" and watched.id in line["message"]]
    assert len(of_it) >= 2
    assert {line["request_id"] for line in of_it} == {REQUEST}


def test_an_id_that_is_not_sane_is_not_taken(watched: Watched) -> None:
    for made in watched.made_ids:
        assert re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", made)
    assert len(set(watched.made_ids)) == len(watched.made_ids)


# Figures.


def test_the_figures_are_well_formed_and_well_named(watched: Watched) -> None:
    ours = {name: family for name, family in watched.families.items() if name.startswith("pressworthy_")}
    assert len(ours) >= 14
    for name, family in ours.items():
        assert family.documentation, name
        assert re.fullmatch(r"[a-z][a-z0-9_]*", name)
        assert "milli" not in name
        if family.type == "counter":
            assert all(each.name.endswith(("_total", "_created")) for each in family.samples), name
        if family.type == "histogram":
            assert name.endswith("_seconds"), f"{name}: a base unit is missing"


def test_no_figure_tells_of_a_person_or_a_file(watched: Watched) -> None:
    for family in watched.families.values():
        for sample in family.samples:
            assert not sample.labels.keys() & FORBIDDEN_LABELS
    for secret in [*watched.secrets, watched.id, REQUEST, "tide-tables", "tok_"]:
        assert secret not in watched.figures


def test_what_every_process_counts_is_told(watched: Watched) -> None:
    requests = "pressworthy_http_requests_total"
    assert watched.value(requests, method="POST", route="/v1/inspections", status="2xx") == 1
    assert watched.value(requests, route="/v1/inspections", status="4xx") == 1
    assert watched.value(requests, route="none", status="4xx") == 1
    assert watched.value("pressworthy_inspections_total") == 1
    assert watched.value("pressworthy_measuring_seconds_count") == 1
    assert (watched.value("pressworthy_measuring_seconds_sum") or 0) > 0


def test_how_it_stands_is_looked_up(watched: Watched) -> None:
    assert watched.value("pressworthy_store_up") == 1
    assert watched.value("pressworthy_broker_up") == 1
    assert watched.value("pressworthy_workers") == 1
    assert watched.value("pressworthy_worker_places") == 2
    assert watched.value("pressworthy_queue_waiting") == 0
    assert watched.value("pressworthy_kept_inspections") == 1
    assert (watched.value("pressworthy_kept_bytes") or 0) > 10_000
    assert (watched.value("pressworthy_disk_free_bytes") or 0) > 0


def test_the_command_tells_the_same(watched: Watched) -> None:
    told = watched.standing
    assert told["schema"] == "pressworthy.standing/1"
    assert told["queue"] == {"waiting": 0, "oldest_seconds": None, "running": 0, "messages": 0}
    (worker,) = told["workers"]
    assert (worker["host"], worker["places"]) == (socket.gethostname(), 2)
    assert told["kept"]["inspections"] == 1
    assert sum(told["last_day"]["verdicts"].values()) == 1
    assert told["last_day"]["failures"] == told["last_week"]["failures"] == {}


# Set up wrongly.


@pytest.fixture
def taken_port() -> Iterator[int]:
    with socket.create_server(("127.0.0.1", 0)) as listening:
        yield listening.getsockname()[1]


def test_a_port_for_figures_that_is_taken_is_said(tmp_path: Path, taken_port: int) -> None:
    told = {"PRESSWORTHY_DATA": str(tmp_path), "PRESSWORTHY_METRICS_PORT": str(taken_port), "PATH": "/usr/bin:/bin"}
    command = [sys.executable, "-c", "from service.cli import main; main()", "serve", "--port", "0"]
    ended = subprocess.run(command, cwd=ROOT, env=told, capture_output=True, text=True, check=False, timeout=PATIENCE)
    assert ended.returncode == 2
    assert ended.stderr.startswith("pressworthy: PRESSWORTHY_METRICS_PORT: 127.0.0.1, port")
    assert len(ended.stderr.splitlines()) == 1
