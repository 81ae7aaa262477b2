"""``pressworthy serve``: the web pages, the API, the queue and a worker on one machine, from one command."""

from __future__ import annotations

import fcntl
import ipaddress
import logging
import os
import selectors
import signal
import socket
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from pathlib import Path
from types import FrameType
from typing import TextIO

from service.children import GaveUp, Server
from service.valkey import NoBroker, make_private, start_valkey
from worker import queue
from worker.logs import set_up_logs
from worker.run import READY_PIPE
from worker.settings import Settings, SettingsError
from worker.store import StoreDown, open_store

log = logging.getLogger(__name__)

READY_SECONDS = 60
"""How long the servers may take to come up."""

GLANCE_SECONDS = 0.5

ROOT = Path(__file__).resolve().parent.parent


class Refused(Exception):
    """The service does not start; the message says why, and what to do."""


def serve(host: str, port: int, data: Path | None = None) -> int:
    """Run until Ctrl-C or SIGTERM; the exit status. ``port`` 0 takes any that is free.

    Raises :class:`Refused` where it is unsafe or impossible to start.
    """
    try:
        settings = Settings.from_environment(data)
        set_up_logs(replace(settings, log_level=_log_level()), "serve")
        with ExitStack() as stack:
            _prepare_folder(settings.data)
            stack.enter_context(_alone_on(settings.data))
            _refuse_strangers(host, settings)
            listening = stack.enter_context(_listening_on(host, port))
            stopping = stack.enter_context(_asked_to_stop())
            return _Service(settings, host, listening, stopping).run(sys.stdout)
    except (SettingsError, NoBroker, GaveUp, StoreDown) as error:
        raise Refused(str(error)) from error


class _Service:
    """The servers of one run, in the order in which they start; they stop in the other order."""

    def __init__(self, settings: Settings, host: str, listening: socket.socket, stopping: threading.Event) -> None:
        self._settings = settings
        self._listening = listening
        self._stopping = stopping
        self._servers: list[Server] = []
        self._environment = _environment(settings, host)
        self._url = f"http://{_in_url(host)}:{listening.getsockname()[1]}/"

    def run(self, out: TextIO) -> int:
        """Start all, say where, watch until asked to stop, stop all."""
        if self._settings.metrics_port:
            self._tell_figures(self._settings)
        try:
            self._start()
            if not self._stopping.is_set():
                print(f"Pressworthy is ready: {self._url}", file=out, flush=True)
            self._watch()
        finally:
            for server in reversed(self._servers):
                server.stop()
        return 0

    def _tell_figures(self, settings: Settings) -> None:
        """Answer Prometheus for all the servers, which count in a folder that they share."""
        from worker.exporter import SHARED, folder_to_share, tell_all_figures  # noqa: PLC0415 - where it is wanted

        folder = folder_to_share(settings)
        self._environment |= {SHARED: str(folder)}
        queue.configure(settings)
        tell_all_figures(settings, open_store(settings), folder)

    def _start(self) -> None:
        """The broker first; then the worker and the web service side by side."""
        waits: list[tuple[Server, Callable[[], bool]]] = []
        if self._settings.given_broker_url:
            log.warning("The broker of PRESSWORTHY_BROKER_URL is used: start its workers with `pressworthy worker`.")
        else:
            self._servers.append(start_valkey(self._settings, self._environment))
            waits.append(self._start_worker())
        waits.append(self._start_web())
        for server, ready in waits:
            self._wait_for(server, ready)

    def _start_worker(self) -> tuple[Server, Callable[[], bool]]:
        """Start it with a pipe on which it will say that it takes work."""
        hears, says = os.pipe()
        environment = self._environment | {READY_PIPE: str(says)}
        worker = Server("worker", [sys.executable, "-P", "-m", "worker.run"], environment, (says,))
        self._servers.append(worker)
        worker.start()
        os.close(says)
        worker.handed_on, worker.environment = (), self._environment
        return worker, lambda: _readable(hears)

    def _start_web(self) -> tuple[Server, Callable[[], bool]]:
        self._listening.set_inheritable(True)
        number = self._listening.fileno()
        command = [sys.executable, "-P", "-m", "gunicorn", "--config", "python:service.gunicorn_settings"]
        web = Server("web service", [*command, "--bind", f"fd://{number}"], self._environment, (number,))
        self._servers.append(web)
        web.start()
        return web, lambda: _is_ready(self._url)

    def _wait_for(self, server: Server, ready: Callable[[], bool]) -> None:
        until = time.monotonic() + READY_SECONDS
        while not self._stopping.is_set() and not ready():
            if not server.runs:
                raise Refused(f"the {server.name} ended as it started; what it said stands above")
            if time.monotonic() > until:
                raise Refused(f"the {server.name} was not ready within {READY_SECONDS} seconds")
            self._stopping.wait(0.1)

    def _watch(self) -> None:
        while not self._stopping.wait(GLANCE_SECONDS):
            for server in self._servers:
                if not server.runs:
                    server.revive()


def is_loopback(host: str) -> bool:
    """Whether only this machine reaches a service that listens there."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _environment(settings: Settings, host: str) -> dict[str, str]:
    """What the servers are told beside what we were told."""
    told = {"PRESSWORTHY_DATA": str(settings.data), "PRESSWORTHY_BROKER_URL": settings.broker_url}
    told |= {"PRESSWORTHY_DATABASE_URL": settings.database_url, "PYTHONPATH": _search_path()}
    told["PRESSWORTHY_LOG_LEVEL"] = _log_level()
    wished = os.environ.get("PRESSWORTHY_ASKS_FOR_TOKEN") or "no"  # "yes" behind a proxy that lets others in
    told["PRESSWORTHY_ASKS_FOR_TOKEN"] = wished if is_loopback(host) else "yes"
    return dict(os.environ) | told


def _log_level() -> str:
    """Who has the service run in a terminal reads of trouble alone, unless told otherwise."""
    return os.environ.get("PRESSWORTHY_LOG_LEVEL") or "WARNING"


def _search_path() -> str:
    """Our packages first: no file of the folder that the service happens to be started in takes their place."""
    return os.pathsep.join(filter(None, (str(ROOT), os.environ.get("PYTHONPATH"))))


def _prepare_folder(data: Path) -> None:
    try:
        make_private(data)
    except OSError as error:
        raise Refused(f"the data folder {data} cannot be used: {error.strerror}; choose another with --data") from error


@contextmanager
def _alone_on(data: Path) -> Iterator[None]:
    """One service on one data folder: the lock ends with the process that holds it, however it ends."""
    with (data / "serve.lock").open("a+") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            file.seek(0)
            holder = file.read().strip() or "unknown"
            raise Refused(
                f"another `pressworthy serve` (process {holder}) uses {data}; stop it, or choose another with --data"
            ) from None
        file.truncate(0)
        file.write(str(os.getpid()))
        file.flush()
        yield


def _refuse_strangers(host: str, settings: Settings) -> None:
    store = open_store(settings)
    try:
        if not is_loopback(host) and not store.tokens.any_active():
            raise Refused(
                f"{host} can be reached from other machines, and there is no access token yet: "
                "make one with `pressworthy token make NAME`, or leave --host out to serve this machine alone"
            )
    finally:
        store.close()


@contextmanager
def _listening_on(host: str, port: int) -> Iterator[socket.socket]:
    """The socket that the web service answers on; ours, so that it outlives a web process that dies."""
    try:
        family = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][0]
        listening = socket.create_server((host, port), family=family, backlog=128)
    except OSError as error:
        raise Refused(
            f"{host}, port {port}, cannot be listened on ({error.strerror}); choose another with --port"
        ) from error
    with listening:
        yield listening


@contextmanager
def _asked_to_stop() -> Iterator[threading.Event]:
    """Set by Ctrl-C and by SIGTERM."""
    stopping = threading.Event()

    def ask(_signal: int, _frame: FrameType | None) -> None:
        stopping.set()

    before = {number: signal.signal(number, ask) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield stopping
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _readable(pipe: int) -> bool:
    """Whether the worker has said that it is ready."""
    with selectors.DefaultSelector() as selector:
        selector.register(pipe, selectors.EVENT_READ)
        return bool(selector.select(0)) and os.read(pipe, 16) != b""


def _is_ready(url: str) -> bool:
    try:
        with urllib.request.urlopen(f"{url}v1/ready", timeout=5) as answer:  # noqa: S310 - our own address
            return bool(answer.status == 200)
    except (urllib.error.URLError, OSError):
        return False


def _in_url(host: str) -> str:
    """The host as it stands in a URL; a service that listens everywhere is reached here too."""
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return host
    if address.is_unspecified:
        return "127.0.0.1" if address.version == 4 else "[::1]"
    return str(address) if address.version == 4 else f"[{address}]"
