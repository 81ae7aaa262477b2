"""``pressworthy check`` on a file, as a person would run it: in a process of its own, under the service's limits."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

_COMMAND = [sys.executable, "-c", "from service.cli import main; main()", "check"]
_PATIENCE = 90
"""Seconds after which no answer has come: the limit of 60 s, and time to start and to say so."""


@dataclass(frozen=True)
class Answer:
    """What the command said: its exit status, the report (None where there is none), and standard error."""

    status: int
    report: dict[str, Any] | None
    said: str

    @property
    def rules(self) -> set[str]:
        return {finding["rule"] for finding in self.report["findings"]} if self.report else set()


def check(path: Path, *, seconds: int | None = None) -> Answer:
    """Run the check; ``seconds`` lowers the limit on time."""
    environment = dict(os.environ)
    if seconds:
        environment["PRESSWORTHY_MAX_SECONDS"] = str(seconds)
    command = [*_COMMAND, str(path), "--profile", "common-paperback", "--format", "json"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=_PATIENCE, check=False, env=environment)
    report = json.loads(done.stdout) if done.stdout.strip() else None
    return Answer(done.returncode, report, done.stderr)


def assert_answered(answer: Answer) -> None:
    """A report with exit 0 or 1, or exit 2 with one line that says what crossed which limit; never a traceback."""
    assert "Traceback" not in answer.said
    if answer.status == 2:
        assert answer.report is None
        assert len(answer.said.strip().splitlines()) == 1, answer.said
    else:
        assert answer.status in (0, 1), answer.said
        assert answer.report is not None
        assert answer.report["schema"] == "pressworthy.report/1"
        assert answer.report["verdict"] in ("pressworthy", "reservations", "not-pressworthy")
        assert (answer.status == 1) == (answer.report["verdict"] == "not-pressworthy")
