"""Receiving an upload: from the wire straight into the store, hashed on the way, never whole in memory.

::

    brought: dict[str, str] = {}                                      # the text fields, as they come
    with receive(request, store, most_bytes, brought) as arrived:     # a refusal is raised as Problem
        row = admit(store, arrived, Wish(...), owner)                 # durable from here on, and rung for

The API and the web page both come in here. What was received and not admitted is gone when the context ends.
"""

from __future__ import annotations

import errno
import threading
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass

from flask import Request

from service.bodies import pieces
from service.forms import CameFile, FormWithFile, FormWithFiles
from service.known_profiles import known_profile, known_profiles
from service.pace import with_a_place
from service.problems import (
    BUSY,
    EMPTY_FILE,
    INVALID,
    NOT_A_PDF,
    STORE_FULL,
    TOO_LARGE,
    UNKNOWN_PROFILE,
    UNSUPPORTED_MEDIA_TYPE,
    Problem,
)
from service.quotas import quota_refusals
from worker import queue
from worker.limits import show_bytes
from worker.logs import request_id
from worker.profiles import Profile, UnknownProfile
from worker.store import Beside, Incoming, Inspection, NewInspection, Store, TooLarge, file_key, new_inspection_id

__all__ = [
    "MOST_FILES",
    "MOST_UPLOADS",
    "Arrived",
    "Wish",
    "admit",
    "file_name_of",
    "profile_named",
    "receive",
    "receive_many",
    "tidy_text",
]

FILE = "file"
"""The part of a form that carries the book."""

FORM = "multipart/form-data"
PDF = "application/pdf"
TAKEN = f"{FORM}, {PDF}"

HEAD = 1024
"""A PDF says ``%PDF-`` within so many bytes: readers allow something before it (the implementation note on file headers
of the PDF Reference 1.7, appendix H; from memory)."""

MOST_UPLOADS = 16
"""A quarter of the threads that answer: however slowly books arrive, reports are read meanwhile."""

MOST_FILES = 20
"""Files in one form."""

LONGEST_NAME = 255
NAMELESS = "untitled.pdf"

_places = threading.BoundedSemaphore(MOST_UPLOADS)


@dataclass
class Arrived:
    """A PDF that has arrived whole but is not kept yet, and the name that its sender gave it."""

    incoming: Incoming
    file_name: str = NAMELESS


@dataclass(frozen=True)
class Wish:
    """What is to be done with it. ``name`` goes before the file's own; ``pages``: judge as a book of so many;
    ``against``: the id of an inspection of the same owner, which is done, to compare it with."""

    profile: Profile
    title: str | None = None
    pages: int | None = None
    name: str | None = None
    against: str | None = None


@contextmanager
def receive(request: Request, store: Store, most_bytes: int, brought: dict[str, str]) -> Iterator[Arrived]:
    """Take an upload off the wire: a form with a part ``file``, or a PDF as the whole body.

    The form's text fields are put into ``brought`` as they come, also where the file is then refused. Raises
    :class:`Problem` unless it is a PDF of at most ``most_bytes``.
    """
    is_form = request.mimetype == FORM
    if not is_form and request.mimetype != PDF:
        raise _not_taken(request.mimetype)
    if not is_form and (request.content_length or 0) > most_bytes:
        raise _too_large(most_bytes)
    with _a_place(request), _refusals(most_bytes), store.bytes.incoming(limit=most_bytes) as incoming:
        arrived = _from_form(request, incoming, brought, most_bytes) if is_form else _from_body(request, incoming)
        _refuse_unless_pdf(incoming)
        yield arrived


@contextmanager
def receive_many(
    request: Request, store: Store, most_bytes: int, brought: dict[str, str], first: Callable[[], None]
) -> Iterator[list[Arrived | Problem]]:
    """Take a form with several files off the wire: each as it arrived, or why it was refused, in their order.

    ``first`` is called once the fields that stand before the files are in ``brought``; it may refuse them all.
    Raises :class:`Problem` where the form itself is none.
    """
    if request.mimetype != FORM:
        raise _not_taken(request.mimetype)
    with _a_place(request), _refusals(most_bytes), ExitStack() as places:
        form = FormWithFiles(
            FILE,
            brought,
            places=places,
            opened=lambda: store.bytes.incoming(limit=most_bytes),
            most_bytes=most_bytes,
            most_files=MOST_FILES,
            first=first,
        )
        form.read(request)
        yield [_one_of_many(came, most_bytes) for came in form.files if not came.nothing]


def admit(
    store: Store,
    arrived: Arrived,
    wish: Wish,
    owner: str,
    beside: Callable[[str], Beside] = lambda _: Beside(),
) -> Inspection:
    """Keep what has arrived and make its row, both durable; then ring. A bell that is away is no failed upload.

    ``beside`` gives, for the inspection's id, what is made with it; raises :class:`KeyTaken` where its key is in force,
    and nothing is kept then.
    Raises :class:`Problem` where its owner may have no more.
    """
    inspection_id = new_inspection_id()
    kept = arrived.incoming.keep(file_key(inspection_id))
    new = NewInspection(
        id=inspection_id,
        owner=owner,
        file_name=file_name_of(wish.name or arrived.file_name),
        sha256=kept.sha256,
        bytes=kept.bytes,
        profile_id=wish.profile.id,
        profile_json=wish.profile.model_dump_json(),
        title=tidy_text(wish.title or "") or None,
        judged_as_pages=wish.pages,
        against=wish.against,
        request_id=request_id(),
    )
    try:
        with quota_refusals():
            row = store.rows.create(new, beside(inspection_id))
    except BaseException:
        store.bytes.delete_all(inspection_id)
        raise
    queue.ring(row.id)
    return row


def profile_named(profile_id: str, owner: str) -> Profile:
    """The printer profile that this owner knows under that id. Raises :class:`Problem`, which lists all there are."""
    found = known_profile(profile_id, owner)
    if found is None:
        known = tuple(known_profiles(owner))
        said = str(UnknownProfile(profile_id, known))
        detail = f"{said[:1].upper()}{said[1:]}. Choose one of these."
        raise Problem(UNKNOWN_PROFILE, detail, known=list(known))
    return found.profile


def tidy_text(text: str) -> str:
    """A stranger's text on one line: control characters and line ends are gone, spaces are single."""
    plain = "".join(" " if unicodedata.category(sign) in {"Cc", "Cs", "Zl", "Zp"} else sign for sign in text)
    return " ".join(plain.split())


def file_name_of(given: str) -> str:
    """The name by which a file is kept: of what its sender calls it, the last part on one line."""
    return tidy_text(_last_part(given))[:LONGEST_NAME] or NAMELESS


def _last_part(name: str) -> str:
    """A file's name without the folders that some senders put before it."""
    return name.replace("\\", "/").rstrip("/").rpartition("/")[2]


def _from_form(request: Request, incoming: Incoming, brought: dict[str, str], most_bytes: int) -> Arrived:
    form = FormWithFile(FILE, incoming, brought, most_bytes)
    form.read(request)
    if form.file_name is None:
        raise Problem(
            INVALID,
            "The form brings no file: send the PDF as the part `file`.",
            errors=[{"field": FILE, "detail": "It is missing."}],
        )
    return Arrived(incoming, form.file_name or NAMELESS)


def _from_body(request: Request, incoming: Incoming) -> Arrived:
    for piece in pieces(request):
        incoming.write(piece)
    return Arrived(incoming)


def _one_of_many(came: CameFile, most_bytes: int) -> Arrived | Problem:
    if came.incoming is None:
        told = f"At most {MOST_FILES} files are taken in at once. Send this one with the next."
        return Problem(TOO_LARGE, told, name=file_name_of(came.name))
    arrived = Arrived(came.incoming, came.name or NAMELESS)
    if came.too_large:
        refusal = _too_large(most_bytes)
    else:
        try:
            _refuse_unless_pdf(came.incoming)
            return arrived
        except Problem as problem:
            refusal = problem
    refusal.more["name"] = file_name_of(came.name)
    return refusal


def _refuse_unless_pdf(incoming: Incoming) -> None:
    if incoming.size == 0:
        raise Problem(EMPTY_FILE, "The file is empty: 0 bytes. Export the book as a PDF again, and upload that.")
    if b"%PDF-" not in incoming.head(HEAD):
        raise Problem(
            NOT_A_PDF, f"The file is not a PDF: its first {HEAD} bytes do not say %PDF-. Export the book as a PDF."
        )


@contextmanager
def _a_place(request: Request) -> Iterator[None]:
    """One of the threads that uploads may take. Raises :class:`Problem` where all are taken."""
    if not _places.acquire(blocking=False):
        detail = f"{MOST_UPLOADS} files are arriving, as many as are taken at a time. Send it again in a minute."
        raise Problem(BUSY, detail, headers={"Retry-After": "60"})
    try:
        with with_a_place(request.environ.get("gunicorn.socket")):
            yield
    finally:
        _places.release()


@contextmanager
def _refusals(most_bytes: int) -> Iterator[None]:
    """What the store cannot do, as refusals."""
    try:
        yield
    except TooLarge:
        raise _too_large(most_bytes) from None
    except OSError as error:
        if error.errno in {errno.ENOSPC, errno.EDQUOT}:
            detail = "The disk is full and the file was not kept. Tell whoever runs the service."
            raise Problem(STORE_FULL, detail) from error
        raise


def _too_large(most_bytes: int) -> Problem:
    return Problem(
        TOO_LARGE,
        f"The file is larger than the {show_bytes(most_bytes)} ({most_bytes} bytes) that this service takes. "
        "Make its pictures smaller or split it, or ask whoever runs the service for a larger limit.",
        limit={"bytes": most_bytes},
    )


def _not_taken(given: str) -> Problem:
    was = f"The body is {given}" if given else "The body has no Content-Type"
    return Problem(
        UNSUPPORTED_MEDIA_TYPE,
        f"{was}. Send {FORM} with a part `file`, or the PDF itself as {PDF}.",
        headers={"Accept": TAKEN},
    )
