"""The report as data (contract: ``pressworthy.report/1``)."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from worker.book import Book
from worker.judge.models import Figure, Finding, NotChecked, Verdict
from worker.measure.models import File


class Printed(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class JudgedBy(Printed):
    id: str
    name: str
    revision: str


class Setting(Printed):
    """A number that a person types where the book was set; ``set`` is None where nothing need change."""

    name: str
    measured: Figure | None
    required: Figure | None
    set: Figure | None
    unit: str | None = "pt"
    note: str | None = None


class AfterSetup(Printed):
    """What the book becomes once every setting is typed."""

    pages: int | None
    trim: tuple[Figure, Figure] | None
    fits: bool


class Report(Printed):
    schema_: Literal["pressworthy.report/1"] = Field(default="pressworthy.report/1", alias="schema")
    verdict: Verdict
    summary: str
    profile: JudgedBy
    file: File
    pages: int
    judged_as_pages: int
    findings: tuple[Finding, ...]
    setup: tuple[Setting, ...]
    after_setup: AfterSetup | None
    book: Book | None = None
    """How the book is built; None for a file without pages, or where that was not read."""
    not_checked: tuple[NotChecked, ...]
    measured_at: datetime
    pressworthy_version: str

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True, serialize_by_alias=True)
