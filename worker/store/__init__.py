"""What is kept: rows in a database, bytes in a folder or a bucket. Together they are the truth of the service.

::

    store = open_store(Settings.from_environment())      # brings the tables up to date; threads may share it

An upload, durable before it is answered::

    with store.bytes.incoming(limit=settings.limits.bytes) as upload:   # hashes on the way
        for chunk in chunks:
            upload.write(chunk)                                         # raises TooLarge
        inspection_id = new_inspection_id()
        kept = upload.keep(file_key(inspection_id))                     # Kept(sha256, bytes); on disk from here on
    row = store.rows.create(NewInspection(id=inspection_id, owner=owner, ...))
    ring(row.id)

``store.rows`` (:class:`Rows`), in the words of a caller; ``owner=None`` means anybody's::

    get(id, owner=None) -> Inspection | None
    page(owner, *, state, verdict, profile, title, after, size) -> Page(items, next)   newest first; raises BadCursor
    position(row) -> int | None                  place in the queue, from 1; None unless it is queued
    cancel(id, owner=None) -> Inspection | None  terminal states stay as they are; None: no such inspection
    create(new) -> Inspection                    state `queued`
    create_done(new, finished) -> Inspection     judged again from kept measurements

``store.delete(id, owner=None) -> bool`` takes the row and all its objects.

``store.bytes`` (:class:`Bytes`); keys come from :mod:`worker.store.keys`::

    read(key) -> bytes · open(key) -> BinaryIO · size(key) -> int | None · write(key, data) -> Kept
    copy(source, target) · local(key) -> context of a Path · incoming(limit) -> context of Incoming
    Missing is raised for a key that is not there.

``store.members`` (:class:`Members`): who owns inspections and tokens::

    make(name, circle, operator) -> Member      raises NameTaken
    all() -> list[Member] · named(name_or_id) -> Member | None · end(name_or_id) -> bool · circle_of(owner) -> str

``store.tokens`` (:class:`Tokens`): leave to act in a member's name; a :class:`Bearer` is a token with its member::

    make(name, member, scopes, days) -> (Token, secret)     raises NameTaken; the secret is shown once
    of(member) -> list[Token] · find(secret) -> Bearer | None · in_force(id) -> Bearer | None
    revoke(name_or_id, member=None) -> bool                 raises Ambiguous, as does named(name_or_id) -> Token | None
    all() -> list[Token] · any_active() -> bool

``store.callbacks`` (:class:`Callbacks`): the calls that were asked for, and the tries at them::

    of_inspection(id) -> Delivery | None · repeat(id) -> bool
    claim(compose, most=...) -> Delivery | None · settle(delivery, ...)      for a worker

``store.idempotency`` (:class:`IdempotencyKeys`): ``find(owner, key) -> IdempotencyKey | None`` · ``forget_expired()``.
The rows of both are made beside an inspection's own:
``rows.create(new, Beside(key=key_taken_by(...), call=asked_for(...)))``; raises ``KeyTaken``.

``store.profiles`` (:class:`Profiles`), what members keep beside the built-in ones::

    known_to(owner, circle) -> list[KeptProfile] · get(id, owner, circle) · own(id, owner) -> KeptProfile | None
    put(new, most=, agreed=) -> (KeptProfile, made) · delete(id, owner, agreed=) -> bool · delete_all(owner) -> int

``store.titles`` (:class:`Titles`), ``store.author_links`` (:class:`AuthorLinks`) and ``store.arrivals``
(:class:`Arrivals`) are the desk's.
``store.shares`` (:class:`Shares`): one inspection, shown to whoever has the link::

    make(row, days) -> (Share, secret)          raises TooManyShares; the secret is shown once
    of(inspection_id) -> list[Share] · withdraw(share_id, inspection_id) -> bool · find(secret) -> Inspection | None

``store.quotas`` (:class:`Quotas`): ``used(owner) -> Used(at_once, a_day, bytes)``. ``rows.create`` and ``create_done``
raise ``OverQuota``.

``open_store`` and ``store.check()`` raise :class:`StoreDown` unless both the database and the bytes answer.
"""

from __future__ import annotations

from worker.store.arrivals import Arrivals, NewArrival
from worker.store.author_links import AuthorLinks
from worker.store.callbacks import Callbacks, asked_for
from worker.store.delivery import Delivery, DeliveryState
from worker.store.errors import (
    Ambiguous,
    AnotherFile,
    BadCursor,
    BadKey,
    LinkSpent,
    Missing,
    NameTaken,
    NoTitle,
    OverQuota,
    StoreDown,
    StoreError,
    TooLarge,
    TooManyShares,
    Withdrawn,
)
from worker.store.idempotency import IdempotencyKey, IdempotencyKeys, KeyTaken, key_taken_by
from worker.store.intake_model import Intake
from worker.store.kept_profiles import KeptProfile, Shared
from worker.store.keys import (
    book_key,
    file_key,
    lines_key,
    measurements_key,
    picture_key,
    pictured_key,
    proof_key,
    report_key,
    traces_key,
    undrawn_key,
    unproved_key,
)
from worker.store.members import Members
from worker.store.models import (
    HOUSE,
    LOCAL,
    SCOPES,
    TERMINAL,
    Inspection,
    Member,
    Scope,
    State,
    Token,
    new_inspection_id,
)
from worker.store.objects import Bytes, Incoming, Kept
from worker.store.profiles import NewProfile, Profiles, ProfileTaken, TooManyProfiles
from worker.store.quotas import Quotas, Used
from worker.store.rows import Beside, Failure, Finished, NewInspection, Page, Rows
from worker.store.share_model import Share
from worker.store.shares import Shares
from worker.store.store import Store, open_store
from worker.store.title_models import Arrival, AuthorLink, Standing, Submission, Title
from worker.store.titles import Listed, NewSubmission, NewTitle, TitlePage, Titles
from worker.store.tokens import Bearer, Tokens

__all__ = [
    "HOUSE",
    "LOCAL",
    "SCOPES",
    "TERMINAL",
    "Ambiguous",
    "AnotherFile",
    "Arrival",
    "Arrivals",
    "AuthorLink",
    "AuthorLinks",
    "BadCursor",
    "BadKey",
    "Bearer",
    "Beside",
    "Bytes",
    "Callbacks",
    "Delivery",
    "DeliveryState",
    "Failure",
    "Finished",
    "IdempotencyKey",
    "IdempotencyKeys",
    "Incoming",
    "Inspection",
    "Intake",
    "Kept",
    "KeptProfile",
    "KeyTaken",
    "LinkSpent",
    "Listed",
    "Member",
    "Members",
    "Missing",
    "NameTaken",
    "NewArrival",
    "NewInspection",
    "NewProfile",
    "NewSubmission",
    "NewTitle",
    "NoTitle",
    "OverQuota",
    "Page",
    "ProfileTaken",
    "Profiles",
    "Quotas",
    "Rows",
    "Scope",
    "Share",
    "Shared",
    "Shares",
    "Standing",
    "State",
    "Store",
    "StoreDown",
    "StoreError",
    "Submission",
    "Title",
    "TitlePage",
    "Titles",
    "Token",
    "Tokens",
    "TooLarge",
    "TooManyProfiles",
    "TooManyShares",
    "Used",
    "Withdrawn",
    "asked_for",
    "book_key",
    "file_key",
    "key_taken_by",
    "lines_key",
    "measurements_key",
    "new_inspection_id",
    "open_store",
    "picture_key",
    "pictured_key",
    "proof_key",
    "report_key",
    "traces_key",
    "undrawn_key",
    "unproved_key",
]
