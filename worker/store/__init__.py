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

``store.tokens`` (:class:`Tokens`)::

    make(name) -> (Token, secret)       raises NameTaken; the secret is shown once
    all() -> list[Token] · revoke(name_or_id) -> bool · find(secret) -> Token | None · any_active() -> bool

``store.titles`` (:class:`Titles`), ``store.author_links`` (:class:`AuthorLinks`) and ``store.arrivals``
(:class:`Arrivals`) are the desk's.

``store.check()`` raises :class:`StoreDown` unless both the database and the bytes answer.
"""

from __future__ import annotations

from worker.store.arrivals import Arrivals, NewArrival
from worker.store.author_links import AuthorLinks
from worker.store.errors import (
    AnotherFile,
    BadCursor,
    BadKey,
    LinkSpent,
    Missing,
    NameTaken,
    NoTitle,
    StoreDown,
    StoreError,
    TooLarge,
    Withdrawn,
)
from worker.store.keys import (
    book_key,
    file_key,
    lines_key,
    measurements_key,
    picture_key,
    proof_key,
    report_key,
    traces_key,
    undrawn_key,
    unproved_key,
)
from worker.store.models import LOCAL, TERMINAL, Inspection, State, Token, new_inspection_id
from worker.store.objects import Bytes, Incoming, Kept
from worker.store.rows import Failure, Finished, NewInspection, Page, Rows
from worker.store.store import Store, open_store
from worker.store.title_models import Arrival, AuthorLink, Standing, Submission, Title
from worker.store.titles import Listed, NewSubmission, NewTitle, TitlePage, Titles
from worker.store.tokens import Tokens

__all__ = [
    "LOCAL",
    "TERMINAL",
    "AnotherFile",
    "Arrival",
    "Arrivals",
    "AuthorLink",
    "AuthorLinks",
    "BadCursor",
    "BadKey",
    "Bytes",
    "Failure",
    "Finished",
    "Incoming",
    "Inspection",
    "Kept",
    "LinkSpent",
    "Listed",
    "Missing",
    "NameTaken",
    "NewArrival",
    "NewInspection",
    "NewSubmission",
    "NewTitle",
    "NoTitle",
    "Page",
    "Rows",
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
    "Withdrawn",
    "book_key",
    "file_key",
    "lines_key",
    "measurements_key",
    "new_inspection_id",
    "open_store",
    "picture_key",
    "proof_key",
    "report_key",
    "traces_key",
    "undrawn_key",
    "unproved_key",
]
