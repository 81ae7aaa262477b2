"""The steps of one inspection with no queue and no store: read behind the fence, judge, compose."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from worker.fence import read_fenced
from worker.limits import Limits

if TYPE_CHECKING:
    from worker.profiles import Profile
    from worker.reading import Reading
    from worker.report.models import Report


@dataclass(frozen=True)
class Inspected:
    """What came of it."""

    reading: Reading
    profile: Profile
    report: Report


def inspect(
    path: Path,
    load_profile: Callable[[], Profile],
    *,
    name: str,
    judged_as_pages: int | None = None,
    limits: Limits | None = None,
    on_progress: Callable[[int, int], None] | None = None,
) -> Inspected:
    """Inspect one file. The profile is loaded while the file is being read, and so is all that judging needs.

    Raises :class:`worker.fence.FenceError` where a limit is crossed or the reader fails, and what loading raises.
    """
    profiles: list[Profile] = []

    def meanwhile() -> None:
        import worker.reading  # noqa: PLC0415
        import worker.report.compose  # noqa: F401, PLC0415

        profiles.append(load_profile())

    reading = read_fenced(path, name=name, limits=limits or Limits(), on_progress=on_progress, meanwhile=meanwhile)
    return _judged(reading, profiles[0], judged_as_pages)


def _judged(reading: Reading, profile: Profile, judged_as_pages: int | None) -> Inspected:
    from worker.judge import judge  # noqa: PLC0415
    from worker.report.compose import compose  # noqa: PLC0415

    judgement = judge(reading.facts, profile, book=reading.book, judged_as_pages=judged_as_pages)
    report = compose(
        reading.facts, reading.book, judgement, profile, measured_at=datetime.now(UTC), traces=reading.traces
    )
    return Inspected(reading, profile, report)
