"""Every refusal of the service by name, as RFC 9457 problem details.

A kind's ``slug`` is stable: programs tell problems apart by the ``type`` that it makes. ``type`` is a relative
reference (``/problems/{slug}``), and the service answers there with what the kind means and what to do about it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from flask import Response

__all__ = ["KINDS", "MEDIA_TYPE", "Kind", "Problem"]

MEDIA_TYPE = "application/problem+json"


@dataclass(frozen=True)
class Kind:
    """A kind of problem: its name in URLs, the HTTP status, a title, and what to do about it in general."""

    slug: str
    status: int
    title: str
    remedy: str

    @property
    def type(self) -> str:
        """The ``type`` member."""
        return f"/problems/{self.slug}"


class Problem(Exception):
    """A refusal. ``detail`` is for people and ends with what to do; ``more`` are further members of the body."""

    def __init__(self, kind: Kind, detail: str, *, headers: Mapping[str, str] | None = None, **more: Any) -> None:
        super().__init__(detail)
        self.kind = kind
        self.detail = detail
        self.headers = dict(headers or {})
        self.more = more

    def response(self) -> Response:
        """The answer."""
        body = ProblemBody(self.kind.type, self.kind.title, self.kind.status, self.detail, self.more)
        return body.response(self.headers)


@dataclass(frozen=True)
class ProblemBody:
    """The members of RFC 9457, and those of ours after them."""

    type: str
    title: str
    status: int
    detail: str
    more: Mapping[str, Any] = field(default_factory=dict)

    def response(self, headers: Mapping[str, str]) -> Response:
        """The answer with this body."""
        members = {"type": self.type, "title": self.title, "status": self.status, "detail": self.detail}
        answer = Response(json.dumps(members | dict(self.more)) + "\n", self.status, mimetype=MEDIA_TYPE)
        answer.headers.update(headers)
        return answer


MALFORMED = Kind(
    "malformed-request",
    400,
    "The request cannot be understood",
    "Compare it with the description of this address in /openapi.json.",
)
TOKEN_NEEDED = Kind(
    "token-needed",
    401,
    "An access token is needed",
    "Send the header `Authorization: Bearer TOKEN`. Whoever runs the service makes one with `pressworthy token make`.",
)
TOKEN_UNKNOWN = Kind(
    "token-unknown",
    401,
    "The access token is not known",
    "It may have been mistyped or revoked. Ask whoever runs the service for another.",
)
SCOPE_MISSING = Kind(
    "scope-missing",
    403,
    "The access token does not reach so far",
    "`scope` names what this takes: `read` to look, `submit` to send and to stop, `manage` to delete, to share and to "
    "change what is kept. Use a token that has it.",
)
FOREIGN_HOST = Kind(
    "foreign-host",
    403,
    "This service answers to this machine's own name alone",
    "Use http://127.0.0.1 or http://localhost. To be reached by another name the service has to ask for tokens.",
)
FOREIGN_ORIGIN = Kind(
    "foreign-origin",
    403,
    "A page of another site made this request",
    "Where no token is asked for, only this service's own pages and programs outside a browser may change anything.",
)
NOT_FOUND = Kind(
    "not-found", 404, "There is nothing at this address", "Every address of the API is described in /openapi.json."
)
NO_SUCH_INSPECTION = Kind(
    "no-such-inspection",
    404,
    "There is no such inspection",
    "It may be deleted, its days may be over, or it is another caller's. GET /v1/inspections lists your own.",
)
NO_SUCH_TITLE = Kind(
    "no-such-title", 404, "There is no such title", "It may be another caller's. GET /v1/titles lists your own."
)
NO_SUCH_SUBMISSION = Kind(
    "no-such-submission",
    404,
    "The title has no such file",
    "Files of a title are counted from 1, in the order in which they came. GET its `submissions` to see them.",
)
NO_SUCH_LINK = Kind(
    "no-such-link",
    404,
    "There is no such author's link",
    "It may be withdrawn, or its day has come. GET the title's `links` to see those that there are.",
)
TITLE_WITHDRAWN = Kind(
    "title-withdrawn",
    409,
    "The title is withdrawn",
    "It takes neither a file nor a pass. PATCH its `standing` to `waiting-for-author` to take it up again.",
)
ANOTHER_FILE = Kind(
    "another-file",
    409,
    "The pass is for another file",
    "A pass is for the bytes of the last submission alone. GET the title, look at that one, and pass its `sha256`.",
)
NO_SUCH_PAGE = Kind(
    "no-such-page", 404, "The book has no such page", "Pages count from 1; the inspection says how many there are."
)
NO_SUCH_PROFILE = Kind(
    "no-such-profile", 404, "There is no such printer profile", "GET /v1/profiles lists those that exist."
)
PROFILE_BUILT_IN = Kind(
    "profile-built-in",
    403,
    "A built-in printer profile cannot be changed",
    "GET it as application/toml, give it an id of your own, and PUT that.",
)
PROFILE_OF_ANOTHER = Kind(
    "profile-of-another",
    403,
    "The printer profile is another member's",
    "It is shared with your circle to judge by, not to change. GET it as application/toml, give it an id of your own, "
    "and PUT that.",
)
CANNOT_BE_DRAWN = Kind(
    "page-cannot-be-drawn",
    404,
    "The page has no picture and will have none",
    "Drawing it was tried and does not work; asking again changes nothing, and the report does not depend on it. Look "
    "at the page in a PDF reader, export the book again if it looks wrong there, and upload that.",
)
NO_PROOF = Kind(
    "proof-cannot-be-made",
    404,
    "There is no proof of this file and will be none",
    "Making it was tried and does not work, or the file has no pages; asking again changes nothing, and the report "
    "does not depend on it. Export the book again, and upload that.",
)
NO_SUCH_DELIVERY = Kind(
    "no-such-delivery",
    404,
    "The inspection has no such callback",
    "GET /v1/inspections/{id}/deliveries shows the one that was asked for, if one was.",
)
NO_SUCH_SHARE = Kind(
    "no-such-share",
    404,
    "There is no such share link",
    "It may be withdrawn, or its day has come. GET the inspection's `shares` to see those that hold.",
)
NO_LONGER_KEPT = Kind(
    "no-longer-kept",
    410,
    "That is no longer kept",
    "`what` is the uploaded `file` or the `pictures`; GET /v1/limits says how many days each is kept. The report is "
    "still there, and can be judged again; upload the file again to have the rest.",
)
METHOD_NOT_ALLOWED = Kind(
    "method-not-allowed", 405, "This address does not take that method", "The header `Allow` names those that it takes."
)
NOT_ACCEPTABLE = Kind(
    "not-acceptable",
    406,
    "None of the accepted forms exists",
    "Accept one of the media types that `available` lists, or leave the header `Accept` out.",
)
NOT_FINISHED = Kind(
    "not-finished",
    409,
    "The inspection has not ended yet",
    "Ask again after the seconds of `Retry-After`, or GET the inspection with `Prefer: wait=30`.",
)
FAILED = Kind(
    "inspection-failed", 409, "The inspection ended without a report", "`failure` says why, and what to do about it."
)
CANCELLED = Kind("inspection-cancelled", 409, "The inspection was cancelled", "Upload the file again to inspect it.")
ALREADY_ENDED = Kind(
    "already-ended", 409, "The inspection has ended", "What has ended cannot be cancelled; DELETE takes it away."
)
ON_ITS_WAY = Kind(
    "delivery-on-its-way",
    409,
    "The callback is being sent at this moment",
    "Look how it went after the seconds of `Retry-After`, and repeat it then if need be.",
)
KEY_SPENT = Kind(
    "idempotency-key-spent",
    409,
    "The inspection that this key made is deleted",
    "A key makes one inspection, also where that is gone. Send a new key to inspect the file again.",
)
PROFILE_ID_TAKEN = Kind(
    "profile-id-taken",
    409,
    "Another member shares a profile of this id with your circle",
    "Within a circle an id is shared once. Give yours another id, or keep it private.",
)
TOO_MANY_PROFILES = Kind(
    "too-many-profiles",
    409,
    "As many printer profiles are kept as one may keep",
    "DELETE one that is no longer used. Reports keep the profile that they were judged by.",
)
CHANGED_MEANWHILE = Kind(
    "changed-meanwhile",
    412,
    "It is not, or no longer, as the request takes it to be",
    "GET it again, see what has changed, and send the request with its new `ETag` in `If-Match`. "
    "`If-None-Match: *` is for what does not exist yet.",
)
TOO_MANY_SHARES = Kind(
    "too-many-shares",
    409,
    "The inspection has as many share links as one may have",
    "Withdraw one that is no longer needed: DELETE it, by the id that GET `shares` shows.",
)
TOO_LARGE = Kind(
    "too-large", 413, "That is more than this service takes", "GET /v1/limits says every limit that is in force."
)
NOT_A_PDF = Kind(
    "not-a-pdf", 415, "The file is not a PDF", "Export the book as a PDF from the program that it was set in."
)
UNSUPPORTED_MEDIA_TYPE = Kind(
    "unsupported-media-type",
    415,
    "A body of this media type is not taken here",
    "The header `Accept` of the answer names those that are.",
)
NO_SUCH_PART = Kind(
    "no-such-part", 416, "The file has no such part", "`Content-Range` of the answer says how many bytes there are."
)
INVALID = Kind(
    "invalid-request", 422, "Something in the request has to be changed", "`errors` names each place and what it takes."
)
KEY_REUSED = Kind(
    "idempotency-key-reused",
    422,
    "The key came with another upload before",
    "A key stands for one file and its fields. Send the same again, or take a new key for a new upload.",
)
CALLBACK_REFUSED = Kind(
    "callback-refused",
    422,
    "This address is not called",
    "Give an https address of the public internet. Whoever runs the service may allow others.",
)
UNKNOWN_PROFILE = Kind(
    "unknown-profile", 422, "There is no such printer profile", "Choose one of `known`; GET /v1/profiles shows each."
)
PROFILE_NOT_SOUND = Kind(
    "profile-not-sound",
    422,
    "The printer profile has to be changed",
    "`errors` names each key, the line that it stands on, and what it takes.",
)
EMPTY_FILE = Kind("empty-file", 422, "The file is empty", "Export the book as a PDF again, and upload that.")
QUOTA_AT_ONCE = Kind(
    "quota-at-once",
    429,
    "As many of your files wait or are being measured as may at a time",
    "Send it again after the seconds of `Retry-After`; GET /v1/quota says how many there are.",
)
QUOTA_A_DAY = Kind(
    "quota-a-day",
    429,
    "As many files were sent today as one member may send a day",
    "Send it after the seconds of `Retry-After`: the count begins anew at midnight UTC.",
)
QUOTA_BYTES = Kind(
    "quota-bytes",
    507,
    "Your kept files leave no room for this one",
    "Delete inspections that are no longer needed: each gives back its file's bytes at once. GET /v1/quota says how "
    "many are used.",
)
TOO_SLOW = Kind(
    "too-slow",
    408,
    "The request came too slowly",
    "Send it again, over a steadier connection. GET /v1/limits says the slowest rate that is waited for.",
)
CONDITION_NEEDED = Kind(
    "condition-needed",
    428,
    "What is to be replaced has to be named by its ETag",
    "GET it, and send its `ETag` in `If-Match`, so that no change is lost unseen; `*` replaces whatever is there.",
)
TOO_MANY_REQUESTS = Kind(
    "too-many-requests",
    429,
    "More requests than are answered in a minute",
    "Wait the seconds of `Retry-After`, then go on. GET /v1/limits says how many there may be; `Prefer: wait=30` waits "
    "for an inspection with one request.",
)
BUSY = Kind(
    "busy",
    503,
    "As many files are arriving as are taken at a time",
    "Send it again after the seconds of `Retry-After`.",
)
FAULT = Kind(
    "fault",
    500,
    "Something in the service went wrong",
    "Try again; if it stays so, tell whoever runs the service and name the `instance`.",
)
STORE_AWAY = Kind(
    "store-away",
    503,
    "The service cannot reach what it keeps",
    "Nothing that was kept is lost. Try again in a minute.",
)
STORE_FULL = Kind(
    "store-full",
    507,
    "There is no room for the file",
    "Tell whoever runs the service; older inspections can be deleted.",
)
NOT_DRAWN = Kind("picture-not-drawn", 503, "The page is not drawn yet", "Ask again after the seconds of `Retry-After`.")
PROOF_NOT_MADE = Kind(
    "proof-not-made", 503, "The proof is not made yet", "Ask again after the seconds of `Retry-After`."
)

KINDS: Mapping[str, Kind] = {kind.slug: kind for kind in list(globals().values()) if isinstance(kind, Kind)}
