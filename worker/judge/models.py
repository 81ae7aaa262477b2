"""What judging yields: findings, what could not be tried, a verdict."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, PlainSerializer

from worker.measure.models import Box

Figure = Annotated[float, PlainSerializer(lambda value: round(value, 4), return_type=float)]


class Weight(StrEnum):
    """How much a finding matters, heaviest first."""

    REFUSAL = "refusal"
    SPOILAGE = "spoilage"
    POLISH = "polish"


class Verdict(StrEnum):
    PRESSWORTHY = "pressworthy"
    RESERVATIONS = "reservations"
    NOT_PRESSWORTHY = "not-pressworthy"


class Opinion(BaseModel):
    """Plain, unchanging data."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Measured(Opinion):
    """A figure read from the file. ``unit`` is ``pt``, ``ppi``, ``percent``, ``pages``, ``bytes`` or ``count``."""

    value: Figure
    unit: str


class Required(Opinion):
    """What the profile asks of that figure."""

    value: Figure
    unit: str
    relation: Literal["at-least", "at-most", "equal", "multiple-of"]


class Mark(Opinion):
    """A place on a page: where to look, and what to read beside it."""

    page: int
    box: Box
    text: str


class Finding(Opinion):
    """One thing to change, with every page that it touches. ``pages`` is empty for one about the whole file."""

    rule: str
    key: str
    weight: Weight
    title: str
    detail: str
    effect: str
    """What it does to the printed book."""
    remedy: str
    pages: tuple[int, ...]
    page_ranges: str
    count: int
    measured: Measured | None
    required: Required | None
    marks: tuple[Mark, ...]


class NotChecked(Opinion):
    rule: str
    why: str


class Judgement(Opinion):
    """``findings`` are ordered by weight, then by how many pages they touch."""

    verdict: Verdict
    summary: str
    judged_as_pages: int
    findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...]
