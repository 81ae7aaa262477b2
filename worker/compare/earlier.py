"""An earlier report as it comes from a stranger's hands: as much of it as a comparison needs, or one clear refusal."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, FiniteFloat, StringConstraints, ValidationError

from worker.judge.models import Verdict, Weight
from worker.limits import show_bytes

LARGEST = 32_000_000
"""Bytes of an earlier report. One of 800 pages with a hundred findings has about one million."""

MOST_PAGES = 1_000_000
SCHEMA = "pressworthy.report/1"
_AS_WRITTEN = "give the report that `pressworthy check --format json` wrote, or report.json of an inspection"

Short = Annotated[str, StringConstraints(max_length=1000)]
PageNumber = Annotated[int, Field(ge=1, le=MOST_PAGES)]
PageCount = Annotated[int, Field(ge=0, le=MOST_PAGES)]


class NoReport(ValueError):
    """What was given is no report that can be compared with; the message says why, and what to give."""


class _Read(BaseModel):
    """Members that a comparison does without, and those that later versions add, are passed over."""

    model_config = ConfigDict(frozen=True, extra="ignore")


class Figures(_Read):
    value: FiniteFloat
    unit: Short


class EarlierFinding(_Read):
    rule: Short
    key: Short
    weight: Weight
    title: Short
    pages: tuple[PageNumber, ...]
    measured: Figures | None


class Printer(_Read):
    id: Short
    name: Short
    revision: Short


class ReportedFile(_Read):
    name: Short
    sha256: Short


class Untried(_Read):
    rule: Short


class Earlier(_Read):
    """A report as far as it is compared; ``traces`` are empty in one that was made before there were any."""

    schema_: Literal["pressworthy.report/1"] = Field(alias="schema")
    verdict: Verdict
    profile: Printer
    file: ReportedFile
    pages: PageCount
    judged_as_pages: PageCount
    findings: tuple[EarlierFinding, ...]
    not_checked: tuple[Untried, ...]
    traces: tuple[Short, ...] = ()
    measured_at: datetime
    pressworthy_version: Short


class _Kind(_Read):
    schema_: Short | None = Field(None, alias="schema")


def earlier_report(data: bytes) -> Earlier:
    """Take up an earlier report, given as JSON. Raises :class:`NoReport`."""
    if len(data) > LARGEST:
        raise NoReport(f"it is larger than {show_bytes(LARGEST)}, and no report is; {_AS_WRITTEN}")
    try:
        return Earlier.model_validate_json(data)
    except ValidationError as error:
        raise NoReport(_why(data, error)) from None


def _why(data: bytes, error: ValidationError) -> str:
    try:
        kind = _Kind.model_validate_json(data).schema_
    except ValidationError:
        return f"it is not JSON that holds a report; {_AS_WRITTEN}"
    if kind is None:
        return f"it is JSON, but does not say that it is a report; {_AS_WRITTEN}"
    if kind != SCHEMA:
        return f"it is {kind!r}, and only {SCHEMA!r} can be compared with; {_AS_WRITTEN}"
    place = ".".join(map(str, error.errors(include_input=False, include_url=False)[0]["loc"]))
    return f"the report is not whole ({place} is missing or wrong); {_AS_WRITTEN}"
