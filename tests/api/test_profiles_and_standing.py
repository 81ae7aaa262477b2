"""Profiles as data and as TOML (read by Python's tomllib); alive, ready, within which limits."""

from __future__ import annotations

import threading
import tomllib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from service.api import standing
from tests.api.conftest import MOST_BYTES
from worker.profiles import builtin_profiles, parse_profile_json, parse_profile_toml
from worker.settings import Settings
from worker.store.folder import FolderBytes

TOML = {"Accept": "application/toml"}


def test_every_profile_is_listed_with_the_way_to_it(client: FlaskClient) -> None:
    listed = client.get("/v1/profiles").get_json()["profiles"]
    assert [it["id"] for it in listed] == list(builtin_profiles())
    for it in listed:
        assert client.get(it["link"]).get_json()["name"] == it["name"]


@pytest.mark.parametrize("profile_id", sorted(builtin_profiles()))
def test_a_profile_comes_as_json_and_as_toml(client: FlaskClient, profile_id: str) -> None:
    as_json = client.get(f"/v1/profiles/{profile_id}")
    as_toml = client.get(f"/v1/profiles/{profile_id}", headers=TOML)
    assert (as_json.mimetype, as_toml.mimetype) == ("application/json", "application/toml")
    assert tomllib.loads(as_toml.text)["id"] == profile_id
    wanted = builtin_profiles()[profile_id]
    assert parse_profile_toml(as_toml.text) == parse_profile_json(as_json.text) == wanted


def test_health_asks_nobody(client: FlaskClient) -> None:
    assert client.get("/v1/health").get_json()["alive"] is True


@pytest.mark.sqlite_folder
def test_readiness_names_what_is_away(client: FlaskClient, settings: Settings, tmp_path: Path) -> None:
    answer = client.get("/v1/ready")
    assert answer.status_code == 503
    assert answer.get_json() == {"ready": False, "broker": "does not answer", "database": "answers", "store": "answers"}
    (settings.files / "arriving").rmdir()
    assert client.get("/v1/ready").get_json()["store"] == "does not answer"
    (tmp_path / "pressworthy.sqlite3").unlink()
    (tmp_path / "pressworthy.sqlite3").mkdir()
    client.application.extensions["store"].close()
    assert client.get("/v1/ready").get_json()["database"] == "does not answer"


def test_a_part_that_never_answers_is_not_waited_for(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    ends = threading.Event()
    monkeypatch.setattr(standing, "PATIENCE_SECONDS", 0.3)
    monkeypatch.setattr(standing, "_askers", ThreadPoolExecutor(3))
    monkeypatch.setattr(FolderBytes, "check", lambda _: ends.wait(60))
    for _ in range(3):
        assert client.get("/v1/ready").get_json()["store"] == "does not answer"
    ends.set()


def test_every_limit_is_said(client: FlaskClient) -> None:
    said = client.get("/v1/limits").get_json()
    assert said == {
        "bytes": MOST_BYTES,
        "pages": 5000,
        "seconds": 60,
        "memory": 1_500_000_000,
        "days_kept": 30,
        "days_kept_files": 30,
        "days_kept_pictures": 30,
        "share_days": 14,
        "most_share_days": 90,
        "member_files_at_once": 200,
        "member_files_a_day": 2_000,
        "member_bytes": 100_000_000_000,
        "rate": 8000,
        "requests": 1200,
        "profiles": 100,
        "profile_bytes": 32_000,
        "grace": 30,
        "uploads": 16,
        "idempotency_hours": 24,
        "callback_seconds": 15,
        # The example schedule of the Standard Webhooks specification, "Deliverability and reliability".
        "callback_waits": [5, 5 * 60, 30 * 60, 2 * 3600, 5 * 3600, 10 * 3600, 14 * 3600, 20 * 3600, 24 * 3600],
        "files": 20,
        "author_bytes": MOST_BYTES,
        "author_files_a_day": 6,
        "author_link_days": 90,
        "wait": 30,
    }
