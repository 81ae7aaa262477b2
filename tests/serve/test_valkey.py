"""The private broker: ours alone, carried over a power cut, and never in the way of a start."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from redis import Redis

from service.children import MOST_RESTARTS, GaveUp, Server
from service.valkey import APPEND_ONLY, NoBroker, answers, make_private, start_valkey
from worker.settings import Settings


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings.from_environment(tmp_path, {})


@pytest.fixture
def started(settings: Settings) -> Iterator[list[Server]]:
    """Brokers that the test has started, ended afterwards."""
    servers: list[Server] = []
    yield servers
    for server in servers:
        server.stop()


def test_it_listens_on_nothing_but_its_socket(settings: Settings, started: list[Server]) -> None:
    started.append(start_valkey(settings, os.environ))
    with Redis(unix_socket_path=str(settings.broker_socket)) as client:
        told = client.config_get("port", "appendonly", "maxmemory-policy")
    assert told == {"port": "0", "appendonly": "yes", "maxmemory-policy": "noeviction"}
    assert settings.broker_folder.stat().st_mode & 0o777 == 0o700
    assert settings.broker_socket.stat().st_mode & 0o077 == 0


def test_its_messages_outlive_a_power_cut(settings: Settings, started: list[Server]) -> None:
    first = start_valkey(settings, os.environ)
    started.append(first)
    with Redis(unix_socket_path=str(settings.broker_socket)) as client:
        client.rpush("inspections", "ins_x")
        client.waitaof(1, 0, 5000)
    assert first.process is not None
    first.process.kill()
    first.process.wait()
    assert settings.broker_socket.exists()  # it left its socket behind
    started.append(start_valkey(settings, os.environ))
    with Redis(unix_socket_path=str(settings.broker_socket)) as client:
        assert client.llen("inspections") == 1


def test_an_orphan_gives_way(settings: Settings, started: list[Server]) -> None:
    orphan = start_valkey(settings, os.environ)
    started.append(orphan)
    started.append(start_valkey(settings, os.environ))
    assert orphan.process is not None
    orphan.process.wait(10)
    assert started[1].runs
    assert answers(settings.broker_socket)


def test_what_cannot_be_read_is_moved_aside(settings: Settings, started: list[Server]) -> None:
    first = start_valkey(settings, os.environ)
    with Redis(unix_socket_path=str(settings.broker_socket)) as client:
        client.set("a", "b")
    first.stop()
    for part in (settings.broker_folder / APPEND_ONLY).iterdir():
        part.write_bytes(b"\0" * 500)
    started.append(start_valkey(settings, os.environ))
    assert answers(settings.broker_socket)
    assert list(settings.broker_folder.glob(f"{APPEND_ONLY}.unreadable-*"))


def test_a_long_path_is_no_hindrance(tmp_path: Path, started: list[Server]) -> None:
    settings = Settings.from_environment(tmp_path / ("a-long-name-" * 12), {})
    started.append(start_valkey(settings, os.environ))
    assert answers(settings.broker_socket)
    assert settings.broker_socket.parent.stat().st_mode & 0o777 == 0o700
    started.pop().stop()
    settings.broker_socket.parent.rmdir()


def test_a_folder_of_somebody_else_is_refused(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(NoBroker, match="not a folder of this user"):
        make_private(tmp_path / "link")


def test_a_server_that_does_not_stay_up_is_given_up() -> None:
    server = Server("clock", ["/bin/false"], {**os.environ})
    server.start()
    for _ in range(MOST_RESTARTS):
        _wait_for_end(server)
        server.revive()
    _wait_for_end(server)
    with pytest.raises(GaveUp, match="clock"):
        server.revive()


def _wait_for_end(server: Server) -> None:
    assert server.process is not None
    server.process.wait(10)
