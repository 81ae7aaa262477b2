"""A workshop to break things in: a real Valkey, real Celery workers, a real store, and files that misbehave on cue."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from redis import Redis

from service.children import Server
from service.valkey import start_valkey
from tests.queue.forked import Forked
from worker import queue
from worker.profiles import builtin_profiles
from worker.settings import Settings
from worker.store import Inspection, NewInspection, Store, file_key, new_inspection_id, open_store

ROOT = Path(__file__).resolve().parents[2]
LEASE_SECONDS = 2
PATIENCE = 40
"""Seconds after which a test gives up waiting; far more than anything here takes."""


@dataclass
class Workshop:
    """One data folder, its broker and its workers."""

    settings: Settings
    environment: dict[str, str]
    store: Store
    kept_in: Mapping[str, str] = field(default_factory=dict)
    """What of its environment says where things are kept."""
    broker: Server | None = None
    workers: list[Forked] = field(default_factory=list)

    @classmethod
    def at(cls, data: Path, kept_in: Mapping[str, str] | None = None) -> Workshop:
        given = dict(kept_in or {}) | {
            "PRESSWORTHY_DATA": str(data),
            "PRESSWORTHY_LEASE_SECONDS": str(LEASE_SECONDS),
            "PRESSWORTHY_WORKERS": "1",
        }
        settings = Settings.from_environment(None, given)
        queue.configure(settings)
        return cls(settings, {**os.environ, **given, "PYTHONPATH": _path()}, open_store(settings), kept_in or {})

    # Servers.

    def start_broker(self) -> None:
        self.broker = start_valkey(self.settings, self.environment)

    def kill_broker(self) -> None:
        assert self.broker is not None
        assert self.broker.process is not None
        self.broker.process.kill()
        self.broker.process.wait()

    def start_worker(self, module: str = "tests.queue.worker") -> Forked:
        log = self.settings.data / "worker.log"
        worker = Forked(module, environment=self.environment, folder=ROOT, log=log)
        self.workers.append(worker)
        return worker

    def flush_broker(self) -> None:
        """Every message is lost."""
        with Redis(unix_socket_path=str(self.settings.broker_socket)) as client:
            client.flushall()

    def close(self) -> None:
        for worker in self.workers:
            if worker.poll() is None:
                worker.send_signal(signal.SIGTERM)
        for worker in self.workers:
            worker.wait(PATIENCE)
        if self.broker is not None:
            self.broker.stop()
        self.store.close()

    # Inspections.

    def upload(
        self, behaviour: str = "works", *, ring: bool = True, content: bytes | None = None, **known: str
    ) -> Inspection:
        """Keep a file whose reader will behave so, make its row, and ring."""
        inspection_id, profile = new_inspection_id(), builtin_profiles()["common-paperback"]
        kept = self.store.bytes.write(file_key(inspection_id), content or f"%PDF-1.7 {behaviour}\n".encode())
        facts = NewInspection(
            id=inspection_id,
            owner="local",
            file_name="second-harbour.pdf",
            sha256=kept.sha256,
            bytes=kept.bytes,
            profile_id=profile.id,
            profile_json=profile.model_dump_json(),
        )
        row = self.store.rows.create(replace(facts, **known))  # type: ignore[arg-type]
        if ring:
            queue.ring(row.id)
        return row

    def row(self, row: Inspection) -> Inspection:
        """The row as it is now."""
        found = self.store.rows.get(row.id)
        assert found is not None
        return found

    def wait(self, row: Inspection, *, state: str) -> Inspection:
        """The row once it is in that state; another final state fails at once."""

        def there() -> bool:
            seen = self.row(row)
            assert seen.state == state or not seen.finished, (seen.state, seen.failure, self.log())
            return seen.state == state

        self.until(there)
        return self.row(row)

    def until(self, condition: Callable[[], bool]) -> None:
        """Wait for the condition."""
        give_up = time.monotonic() + PATIENCE
        while not condition():
            assert time.monotonic() < give_up, self.log()
            time.sleep(0.05)

    def in_the_middle(self, row: Inspection) -> None:
        """Wait until its file is being read."""
        self.until(lambda: self.row(row).state == "measuring" and self.row(row).progress_done > 0)

    def log(self) -> str:
        """What the workers said."""
        path = self.settings.data / "worker.log"
        return path.read_text()[-4000:] if path.exists() else ""


def _path() -> str:
    return os.pathsep.join(filter(None, (str(ROOT), os.environ.get("PYTHONPATH"))))
