"""Examples of how the service stands, for the API's description. The limits are those of a service that sets none."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from service.api.examples import as_example
from service.api.limits import limits_of
from service.api.resources import Account, Health, Quota, Readiness
from worker import version
from worker.settings import Settings

__all__ = ["ALIVE", "AWAY", "LIMITS", "QUOTA", "READY"]

ALIVE = {"alive": as_example("Alive", Health(version=version()))}
READY = {
    "ready": as_example("All answer", Readiness(ready=True, broker="answers", database="answers", store="answers"))
}
AWAY = {
    "away": as_example(
        "The queue is away", Readiness(ready=False, broker="does not answer", database="answers", store="answers")
    )
}
LIMITS = {"usual": as_example("Where nothing is set", limits_of(Settings.from_environment(Path(), {})))}
QUOTA = {
    "quota": as_example(
        "A member of some weeks",
        Quota(
            files_at_once=Account(used=2, most=200),
            files_a_day=Account(used=31, most=2_000),
            bytes_kept=Account(used=4_812_300_117, most=100_000_000_000),
            day_ends_at=datetime(2026, 11, 26, tzinfo=UTC),
        ),
    )
}
