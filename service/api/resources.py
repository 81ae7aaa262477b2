"""What the API takes and gives, as types: its OpenAPI description is made from these."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from worker.callbacks.address import LONGEST_URL
from worker.judge.models import Verdict
from worker.report.models import Report
from worker.shown import Inspection as Inspection  # noqa: PLC0414 - one of the types that the API gives
from worker.shown import Shown
from worker.store import DeliveryState, Shared, State

MOST_PAGES = 99_999
LONGEST_TITLE = 300
MOST_LISTED = 200


def whole_number(given: object) -> object:
    """A number, or a text of plain digits; pydantic alone would take `true` and the texts `1_0` and `5.0` for one.

    The number 5.0 is whole (JSON Schema 2020-12, section 4.2.3).
    """
    if isinstance(given, float) and given.is_integer():
        return int(given)
    if type(given) is int or (isinstance(given, str) and given.isascii() and given.isdigit() and len(given) < 10):
        return int(given)
    raise ValueError("It has to be a whole number.")


WholeNumber = Annotated[int, BeforeValidator(whole_number)]
"""A number whose bounds, if any, stand before the validator: only so are they in the description too."""

PlainText = Annotated[str, Field(pattern=r"^[^\x00-\x1f\x7f]*$")]
"""Text on one line."""

Pages = Annotated[
    int,
    Field(ge=1, le=MOST_PAGES, description="Judge as if the finished book had so many pages."),
    BeforeValidator(whole_number),
]
Title = Annotated[PlainText, Field(max_length=LONGEST_TITLE, description="To find it by in the list.")]
ProfileId = Annotated[PlainText, Field(max_length=100, description="The id of a printer profile.")]


class Given(BaseModel):
    """What a caller sends; anything that is not named here is refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class UploadQuery(Given):
    """The fields of an upload whose body is the PDF itself. A form may bring them here too."""

    profile: ProfileId | None = None
    pages: Pages | None = None
    title: Title | None = None
    name: PlainText | None = Field(None, max_length=1000, description="The name of the file.")
    against: PlainText | None = Field(
        None, max_length=100, description="An inspection of yours that is done, of an earlier file, to compare with."
    )
    callback_url: PlainText | None = Field(
        None, max_length=LONGEST_URL, description="An https address that is called once the inspection has ended."
    )


class UploadFields(UploadQuery):
    """The fields of an upload, whether they came in the form or in the query."""

    profile: ProfileId


class ListQuery(Given):
    """What a list is narrowed to."""

    state: State | None = Field(None, description="How the inspection stands.")
    verdict: Verdict | None = Field(None, description="What its report comes to.")
    profile: ProfileId | None = None
    title: Title | None = Field(None, description="A part of the title or file name, in any letter case.")
    after: str | None = Field(None, max_length=200, description="The cursor of a part further on; take it from `Link`.")
    limit: WholeNumber = Field(50, ge=1, le=MOST_LISTED, description="Inspections in one part of the list.")


class MeasurementsQuery(Given):
    """``lines=1`` asks for the printed lines of each page too."""

    lines: bool = Field(False, description="Each page's lines of text, in reading order, too.")


class JudgementOrder(Given):
    """By which profile kept measurements are to be judged again."""

    profile: ProfileId
    pages: Pages | None = None


class ShareOrder(Given):
    """For how long an inspection is shared."""

    days: WholeNumber | None = Field(
        None,
        description="Days that the link holds; null or left out: as many as usual. GET /v1/limits says the most.",
        json_schema_extra={"minimum": 1},
    )


class PreferHeader(BaseModel):
    """How long the caller would rather wait than ask again."""

    prefer: str | None = Field(
        None,
        alias="Prefer",
        description="`wait=N` (RFC 7240): answer once the inspection has ended, or after N seconds.",
    )


class UploadHeaders(PreferHeader):
    """What an upload's headers may ask for."""

    idempotency_key: str | None = Field(
        None,
        alias="Idempotency-Key",
        description="A text of yours, in quotes (draft-ietf-httpapi-idempotency-key-header): the same upload sent "
        "again with the same key is the same inspection.",
    )


class SharedQuery(Given):
    """With whom an own profile is shared."""

    shared: Shared | None = Field(
        None,
        description="`circle`: every member of your circle can judge by it; `private`: you alone. "
        "Left out, it stays as it is; a new one is private.",
    )


class PutHeader(BaseModel):
    """On what a profile may be put or deleted (RFC 9110, section 13.1)."""

    if_match: str | None = Field(
        None, alias="If-Match", description="The `ETag` of what is to be replaced; `*`: whatever is there."
    )
    if_none_match: str | None = Field(None, alias="If-None-Match", description="`*`: only where there is none yet.")


class RangeHeader(BaseModel):
    """Which part of a file is wanted (RFC 9110, section 14.2)."""

    range_: str | None = Field(None, alias="Range", description="`bytes=1000000-`: from that byte on.")


class ChangeHeader(BaseModel):
    """On what something may be changed or deleted (RFC 9110, section 13.1.1)."""

    if_match: str | None = Field(
        None, alias="If-Match", description="The `ETag` of what you have: 412 where it holds no longer."
    )


class InspectionPath(BaseModel):
    """The place of an inspection."""

    id: str = Field(description="The id of an inspection.")


class PicturePath(InspectionPath):
    """The place of a page's picture."""

    page: int = Field(description="The page of the file, from 1.")


class DeliveryPath(InspectionPath):
    """The place of a callback."""

    delivery: str = Field(description="The id of a callback: its `webhook-id`.")


class SharePath(InspectionPath):
    """The place of a share link."""

    share: str = Field(description="The id of a share link of this inspection.")


class ProfilePath(BaseModel):
    """The place of a profile."""

    id: str = Field(description="The id of a printer profile.")


class JudgedInspection(Inspection):
    """An inspection that was made by judging again, with its report."""

    report: Report


class InspectionList(Shown):
    """A part of the caller's inspections, newest first; ``next`` is the address of the part after it."""

    inspections: list[Inspection]
    next: str | None


class Delivery(Shown):
    """A callback, and the tries at it."""

    id: str = Field(description="The `webhook-id` of every try.")
    type: str | None = Field(description="`inspection.done`, `.failed` or `.cancelled`; null until it has ended.")
    callback_url: str
    state: DeliveryState = Field(
        description="`asked`: the inspection has not ended; `waiting`: a try is due, now or at `next_at`."
    )
    attempts: int = Field(description="Tries that were begun.")
    next_at: datetime | None
    last_at: datetime | None
    last_status: int | None = Field(description="The HTTP status that the last try was answered with.")
    last_problem: str | None = Field(description="What kept the last try from being answered.")
    created_at: datetime
    delivered_at: datetime | None
    expires_at: datetime = Field(description="When it is forgotten, with its inspection.")
    repetition: str | None = Field(description="Where to POST to have it sent again; null until it has ended.")


class DeliveryList(Shown):
    """The callbacks of an inspection: one where `callback_url` was given, otherwise none."""

    deliveries: list[Delivery]


class CallbackSecret(Shown):
    """The secret by which the caller's callbacks are signed (Standard Webhooks, HMAC-SHA256)."""

    secret: str = Field(description="`whsec_` and 32 bytes in base64.")


class Share(Shown):
    """A link by which an inspection is read without a token."""

    id: str
    created_at: datetime
    expires_at: datetime


class NewShare(Share):
    """The same, with the link itself: it is shown this once."""

    link: str


class ShareList(Shown):
    """The links to an inspection that hold, oldest first."""

    shares: list[Share]


class Account(Shown):
    """What is used of a quota, and the most that may be."""

    used: int
    most: int


class Quota(Shown):
    """What you have here, and may have."""

    files_at_once: Account = Field(description="Files that wait or are being measured.")
    files_a_day: Account = Field(description="Files sent since midnight UTC, those deleted since among them.")
    bytes_kept: Account = Field(description="Bytes of the uploaded files that are kept, each inspection's own.")
    day_ends_at: datetime = Field(description="When the files of a day count from nothing again.")


class ProfileSummary(Shown):
    """A printer profile, in short."""

    id: str
    name: str
    revision: str
    unit: Literal["in", "mm", "pt"]
    note: str | None
    source: Literal["built-in", "own", "circle"] = Field(
        description="`own`: yours to change; `circle`: another member shares it with your circle."
    )
    shared: Shared | None = Field(description="With whom it is shared; null for a built-in one.")
    link: str


class ProfileList(Shown):
    """Every profile that can be chosen."""

    profiles: list[ProfileSummary]


class Health(Shown):
    """The service is alive."""

    alive: Literal[True] = True
    version: str


class Readiness(Shown):
    """Whether work can be taken. Each part ``answers``, or it is said what is wrong with it."""

    ready: bool
    broker: str
    database: str
    store: str


class LimitsInForce(Shown):
    """Every limit that is in force."""

    bytes: int = Field(description="Size of a file.")
    pages: int = Field(description="Pages of a file.")
    seconds: int = Field(description="Time to measure a file.")
    memory: int = Field(description="Memory to measure a file, in bytes.")
    days_kept: int = Field(description="Days until an inspection and all that belongs to it is deleted.")
    days_kept_files: int = Field(description="Days until the uploaded file is.")
    days_kept_pictures: int = Field(description="Days until the pages' pictures and the proof are.")
    share_days: int = Field(description="Days that a share link holds where no other number is asked.")
    most_share_days: int = Field(description="Days that a share link holds at most.")
    member_files_at_once: int = Field(description="Files of one member that may wait or be measured at a time.")
    member_files_a_day: int = Field(description="Files that one member may send a day (UTC).")
    member_bytes: int = Field(description="Bytes that the kept files of one member may fill.")
    rate: int = Field(description="Bytes a second of the slowest sender that is waited for.")
    grace: int = Field(description="Seconds that a sender may fall behind that rate.")
    uploads: int = Field(description="Files that may arrive at a time.")
    idempotency_hours: int = Field(description="Hours for which an `Idempotency-Key` is remembered.")
    callback_seconds: int = Field(description="Time for one try at a callback.")
    callback_waits: list[int] = Field(description="Seconds before the second try at a callback, the third, and so on.")
    requests: int = Field(description="Requests of one caller that are answered in a minute.")
    profiles: int = Field(description="Printer profiles of your own that you may keep.")
    profile_bytes: int = Field(description="Size of one of them.")
    files: int = Field(description="Files of one form in which a press takes in several.")
    author_bytes: int = Field(description="Size of a file that comes by an author's link.")
    author_files_a_day: int = Field(description="Files that come by one author's link within a day.")
    author_link_days: int = Field(description="Days in which an author sends files by a link.")
    wait: int = Field(description="Seconds that `Prefer: wait` is honoured for at most.")


class ProblemDetails(BaseModel):
    """Problem details (RFC 9457). Some kinds have more members: ``errors``, ``known``, ``failure``, ``limit``…"""

    model_config = ConfigDict(extra="allow")

    type: str = Field(description="Stable; a relative reference that says what the problem means.")
    title: str
    status: int
    detail: str = Field(description="What happened here, and what to do.")


class ProblemKind(Shown):
    """What a kind of problem means, and what to do about it in general."""

    type: str
    title: str
    status: int
    remedy: str
