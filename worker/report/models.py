"""The report as data (contract: ``pressworthy.report/1``)."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from worker.book import Book
from worker.judge.models import Figure, Finding, Measured, NotChecked, Verdict, Weight
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


class Against(Printed):
    """The earlier report, in short."""

    name: str
    sha256: str
    measured_at: datetime
    verdict: Verdict
    pages: int


class ComparedFinding(Printed):
    """A finding that one of the two reports has; ``pages`` are of the file it was found in."""

    rule: str
    key: str
    weight: Weight
    title: str
    pages: tuple[int, ...]
    page_ranges: str


class StayingFinding(ComparedFinding):
    """A finding that both reports have. Its other members are those of the later report.

    ``pages_mended`` are pages of the earlier file; ``pages_new`` and ``pages_staying`` are of the later one. All three
    are empty where the pages could not be followed.
    """

    pages_mended: tuple[int, ...]
    pages_new: tuple[int, ...]
    pages_staying: tuple[int, ...]
    measured_before: Measured | None
    measured: Measured | None


class Comparison(Printed):
    """This report against the one on an earlier file of the same book. Findings are the same where their ``key`` is.

    ``same_file``: both reports are on the same bytes. ``followed``: the pages were followed from one file into the
    other; ``pages_map`` says where they went, each ``[old_first, old_last, new_first]`` a run of old pages that went
    one by one to new ones, most of whose words they have. Old pages in no run are gone. ``untold`` are findings of the
    earlier report whose rule could not be tried this time. ``note``: why the two may differ for another reason than
    the file.
    """

    against: Against
    same_file: bool
    summary: str
    note: str | None
    mended: tuple[ComparedFinding, ...]
    new: tuple[ComparedFinding, ...]
    staying: tuple[StayingFinding, ...]
    untold: tuple[ComparedFinding, ...]
    followed: bool
    pages_map: tuple[tuple[int, int, int], ...]


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
    comparison: Comparison | None = None
    """What has changed since an earlier file; None unless it was asked for, and where the earlier report is gone."""
    traces: tuple[str, ...] = ()
    """For each page a few hashes of its words, four signs each, by which it is found again in another file of the same
    book; an empty text for a page without words."""
    measured_at: datetime
    pressworthy_version: str

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True, serialize_by_alias=True)
