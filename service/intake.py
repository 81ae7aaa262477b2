"""Receiving an upload: from the wire straight into the store, hashed on the way, never whole in memory.

::

    with receive(request, store, most_bytes) as arrived:      # refusals are raised as Problem
        order = Order.model_validate(arrived.fields)
        row = admit(store, arrived, order, profile, owner)     # durable from here on, and rung for

The API and the web page both come in here.
"""

from __future__ import annotations

import errno
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from flask import Request

from service.bodies import pieces
from service.forms import Form, FormPart, read_form
from service.problems import (
    EMPTY_FILE,
    INVALID,
    NOT_A_PDF,
    STORE_FULL,
    TOO_LARGE,
    UNKNOWN_PROFILE,
    UNSUPPORTED_MEDIA_TYPE,
    Problem,
)
from worker import queue
from worker.limits import show_bytes
from worker.profiles import Profile
from worker.store import Incoming, Inspection, NewInspection, Store, TooLarge, file_key, new_inspection_id

__all__ = ["FILE", "Arrived", "admit", "profile_named", "receive", "tidy_name"]

FILE = "file"
"""The part of a form that carries the book."""

FORM = "multipart/form-data"
PDF = "application/pdf"
TAKEN = f"{FORM}, {PDF}"

HEAD = 1024
"""A PDF says ``%PDF-`` within so many bytes: readers allow something before it (ISO 32000-1, annex H.3, note 13, from
memory)."""

FORM_OVERHEAD = 64 * 1024
"""Bytes of a form beside its file."""

LONGEST_NAME = 255
NAMELESS = "untitled.pdf"

_NO_ROOM = {errno.ENOSPC, errno.EDQUOT}


@dataclass
class Arrived:
    """A PDF that has arrived whole but is not kept yet, and the text fields that came with it."""

    incoming: Incoming
    fields: dict[str, str] = field(default_factory=dict)
    file_name: str = NAMELESS


@contextmanager
def receive(request: Request, store: Store, most_bytes: int) -> Iterator[Arrived]:
    """Take an upload off the wire: a form with ``file``, or a PDF as the body. What is not admitted is gone at the end.

    Query parameters are fields too. Raises :class:`Problem` for anything that is no PDF of at most ``most_bytes``.
    """
    form = request.mimetype == FORM
    if not form and request.mimetype != PDF:
        raise _not_taken(request.mimetype)
    _refuse_announced(request, most_bytes + (FORM_OVERHEAD if form else 0), most_bytes)
    with _room_for(most_bytes), store.bytes.incoming(limit=most_bytes) as incoming:
        arrived = Arrived(incoming, _fields_of_query(request))
        if form:
            _take_form(request, arrived)
        else:
            _take_body(request, arrived)
        _refuse_unless_pdf(incoming)
        yield arrived


def admit(store: Store, arrived: Arrived, new: Wish, owner: str) -> Inspection:
    """Keep what has arrived and make its row, both durable; then ring. A bell that is away is no failed upload."""
    inspection_id = new_inspection_id()
    kept = arrived.incoming.keep(file_key(inspection_id))
    facts = NewInspection(
        id=inspection_id,
        owner=owner,
        file_name=tidy_name(new.name or arrived.file_name),
        sha256=kept.sha256,
        bytes=kept.bytes,
        profile_id=new.profile.id,
        profile_json=new.profile.model_dump_json(),
        title=new.title,
        judged_as_pages=new.pages,
    )
    try:
        row = store.rows.create(facts)
    except BaseException:
        store.bytes.delete_all(inspection_id)
        raise
    queue.ring(row.id)
    return row
