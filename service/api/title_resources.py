"""What the API takes and gives of titles, as types."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from pydantic import Field

from service.api.resources import (
    LONGEST_TITLE,
    MOST_LISTED,
    Given,
    PlainText,
    ProfileId,
    WholeNumber,
)
from worker.judge.models import Verdict
from worker.shown import Shown
from worker.store import Standing, State

__all__ = ["Pass", "Submission", "SubmissionList", "Title", "TitleChanges", "TitleGiven", "TitleList", "TitlePath"]

LONGEST_NOTE = 8000

Name = Annotated[PlainText, Field(min_length=1, max_length=LONGEST_TITLE)]
Isbn = Annotated[PlainText, Field(max_length=40, description="10 or 13 digits, hyphens or none; kept as 13 digits.")]
TrimName = Annotated[PlainText, Field(max_length=60, description="One of the printer's sizes, as `6 × 9 in`.")]
Note = Annotated[str, Field(max_length=LONGEST_NOTE, description="For the desk alone.")]
ExpectedPages = Annotated[WholeNumber, Field(ge=1, le=99_999)]


class TitlePath(Given):
    """The place of a title."""

    id: str = Field(description="The id of a title.")


class TitleGiven(Given):
    """A new title."""

    author: Name
    title: Name
    profile: ProfileId
    isbn: Isbn | None = None
    trim: TrimName | None = None
    expected_pages: ExpectedPages | None = None
    note: Note = ""


class TitleChanges(Given):
    """What is to be changed of a title; what is left out stays, and null takes away what may be missing.

    A title is passed by a pass, and not here.
    """

    author: Name | None = None
    title: Name | None = None
    profile: ProfileId | None = None
    isbn: Isbn | None = None
    trim: TrimName | None = None
    expected_pages: ExpectedPages | None = None
    note: Note | None = None
    standing: Literal["waiting-for-author", "to-be-looked-at", "withdrawn"] | None = None


class Pass(Given):
    """A pass for press: of the bytes of the last submission, and no others."""

    sha256: str = Field(pattern=r"^[0-9a-f]{64}$", description="Of the file that was looked at.")
    by: PlainText | None = Field(None, max_length=100, description="Who passes it; left out: the token's name.")


class TitleQuery(Given):
    """What a list is narrowed to."""

    author: PlainText | None = Field(None, max_length=LONGEST_TITLE, description="A part of it, accents apart.")
    title: PlainText | None = Field(None, max_length=LONGEST_TITLE, description="A part of it, accents apart.")
    isbn: Isbn | None = None
    verdict: Verdict | None = Field(None, description="Of the last submission.")
    standing: Standing | None = None
    after: str | None = Field(None, max_length=200, description="The cursor of a part further on; take it from `Link`.")
    limit: WholeNumber = Field(50, ge=1, le=MOST_LISTED, description="Titles in one part of the list.")


class SubmissionQuery(Given):
    """The name of a file that is the whole body."""

    name: PlainText | None = Field(None, max_length=1000, description="The name of the file.")


class PassGiven(Shown):
    """Who passed a file, and when."""

    by: str | None
    at: datetime


class SubmissionLinks(Shown):
    """Addresses on this service; null once the inspection is no longer kept."""

    title: str
    inspection: str | None


class Submission(Shown):
    """A file of a title, the ``number``-th. ``verdict`` outlives its inspection, whose ``state`` is then null."""

    id: str
    title: str
    number: int
    inspection: str
    sha256: str
    file_name: str
    bytes: int
    pages: int | None
    received_at: datetime
    by: Literal["desk", "author"]
    state: State | None
    verdict: Verdict | None
    passed: PassGiven | None
    links: SubmissionLinks


class SubmissionList(Shown):
    """Every file of a title, in the order in which they came."""

    submissions: list[Submission]


class TitleLinks(Shown):
    """Addresses on this service."""

    self_: str = Field(alias="self")
    submissions: str
    pass_: str = Field(alias="pass")


class Title(Shown):
    """A book that a press brings out, and where it stands. ``last`` is its last submission."""

    id: str
    author: str
    title: str
    isbn: str | None
    profile: str
    trim: str | None
    expected_pages: int | None
    note: str
    standing: Standing
    submissions: int
    last: Submission | None
    created_at: datetime
    touched_at: datetime
    links: TitleLinks


class TitleList(Shown):
    """A part of the caller's titles, the last touched first; ``next`` is the address of the part after it."""

    titles: list[Title]
    next: str | None
