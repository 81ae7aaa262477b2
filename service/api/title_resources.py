"""What the API takes and gives of titles, as types."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from service.api.resources import (
    LONGEST_TITLE,
    MOST_LISTED,
    MOST_PAGES,
    Given,
    PlainText,
    ProfileId,
    WholeNumber,
    whole_number,
)
from worker.callbacks.address import LONGEST_URL
from worker.judge.models import Verdict
from worker.shown import Shown
from worker.store import Standing, State

__all__ = [
    "AuthorLink",
    "AuthorLinkList",
    "AuthorLinkPath",
    "Letter",
    "LetterQuery",
    "LinkOrder",
    "NewAuthorLink",
    "Pass",
    "PassGiven",
    "Submission",
    "SubmissionLinks",
    "SubmissionList",
    "SubmissionPath",
    "SubmissionQuery",
    "Title",
    "TitleChanges",
    "TitleGiven",
    "TitleLinks",
    "TitleList",
    "TitlePath",
    "TitleQuery",
]

LONGEST_NOTE = 8000

Name = Annotated[PlainText, Field(min_length=1, max_length=LONGEST_TITLE)]
Isbn = Annotated[PlainText, Field(max_length=40, description="10 or 13 digits, hyphens or none; kept as 13 digits.")]
TrimName = Annotated[PlainText, Field(max_length=60, description="One of the printer's sizes, as `6 × 9 in`.")]
Note = Annotated[str, Field(max_length=LONGEST_NOTE, description="For the desk alone.")]
ExpectedPages = Annotated[int, Field(ge=1, le=MOST_PAGES), BeforeValidator(whole_number)]


class TitlePath(Given):
    """The place of a title."""

    id: str = Field(description="The id of a title.")


class SubmissionPath(TitlePath):
    """The place of a file of a title."""

    number: int = Field(description="The file's number within its title, from 1.")


class AuthorLinkPath(TitlePath):
    """The place of an author's link."""

    link: str = Field(description="The id of an author's link of this title.")


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
    standing: Standing | None = Field(None, description="Where it stands.")
    after: str | None = Field(None, max_length=200, description="The cursor of a part further on; take it from `Link`.")
    limit: WholeNumber = Field(50, ge=1, le=MOST_LISTED, description="Titles in one part of the list.")


class SubmissionQuery(Given):
    """What is said with a file, in the query or in the form."""

    name: PlainText | None = Field(None, max_length=1000, description="The name of the file.")
    callback_url: PlainText | None = Field(
        None, max_length=LONGEST_URL, description="An https address that is called once the inspection has ended."
    )


class PassGiven(Shown):
    """Who passed a file, and when."""

    by: str | None
    at: datetime


class LinkOrder(Given):
    """For how long an author's link holds."""

    days: WholeNumber | None = Field(
        None,
        description="Days that the link holds; null or left out: the most, `author_link_days` of GET /v1/limits.",
        json_schema_extra={"minimum": 1},
    )


class LetterQuery(Given):
    """Who writes."""

    signed: PlainText | None = Field(None, max_length=100, description="Who signs; left out: the token's member.")


class SubmissionLinks(Shown):
    """Addresses on this service. ``inspection`` is null once that is no longer kept, ``letter`` without a report."""

    self_: str = Field(alias="self")
    title: str
    inspection: str | None
    letter: str | None


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


class Letter(Shown):
    """The letter about the ``number``-th file of a title: ``text``, its lines ended by line feeds."""

    title: str
    number: int
    inspection: str
    text: str


class AuthorLink(Shown):
    """A link by which an author sends files of one title. It holds until ``expires_at``, or until it is withdrawn."""

    id: str
    created_at: datetime
    expires_at: datetime
    withdrawn_at: datetime | None


class NewAuthorLink(AuthorLink):
    """The same, with the link itself: it is shown this once."""

    link: str


class AuthorLinkList(Shown):
    """Every link that there ever was to a title, newest first."""

    links: list[AuthorLink]


class TitleLinks(Shown):
    """Addresses on this service. ``links`` are the author's."""

    self_: str = Field(alias="self")
    submissions: str
    pass_: str = Field(alias="pass")
    links: str


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
