"""The steps of one inspection with no queue and no store: measure behind the fence, read the book, judge, compose."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from worker.fence import read_fenced
from worker.judge import judge
from worker.judge.models import Judgement
from worker.limits import Limits
from worker.profiles import Profile
from worker.reading import Reading
from worker.report.compose import compose
from worker.report.models import Report


@dataclass(frozen=True)
class Inspected:
    """What came of each step."""

    reading: Reading
    judgement: Judgement
    report: Report


def inspect(
    path: Path,
    profile: Profile,
    *,
    name: str,
    judged_as_pages: int | None = None,
    limits: Limits | None = None,
    on_progress: Callable[[int, int], None] | None = None,
) -> Inspected:
    """Inspect one file. Raises :class:`worker.fence.FenceError` where a limit is crossed or the reader fails."""
    reading = read_fenced(path, name=name, limits=limits or Limits(), on_progress=on_progress)
    judgement = judge(reading.facts, profile, judged_as_pages=judged_as_pages)
    report = compose(reading.facts, reading.book, judgement, profile, measured_at=datetime.now(UTC))
    return Inspected(reading, judgement, report)
