"""The cursor of a list: the place of the last row shown, as a text that callers hand back unread."""

from __future__ import annotations

import base64
import binascii
from datetime import datetime

from worker.store.errors import BadCursor
from worker.store.models import Inspection


def cursor_after(row: Inspection) -> str:
    """The cursor of what comes after ``row``."""
    return cursor_at(row.created_at, row.id)


def cursor_at(moment: datetime, row_id: str) -> str:
    """The cursor of what comes after the row of that id, in a list that is ordered by such a moment."""
    place = f"{moment.isoformat()} {row_id}"
    return base64.urlsafe_b64encode(place.encode()).decode().rstrip("=")


def place_of(cursor: str) -> tuple[datetime, str]:
    """When the last row shown was made, and its id. Raises :class:`BadCursor`."""
    try:
        padded = cursor.encode("ascii") + b"=" * (-len(cursor) % 4)
        moment, _, inspection_id = (
            base64.b64decode(padded, altchars=b"-_", validate=True).decode("ascii").partition(" ")
        )
        created_at = datetime.fromisoformat(moment)
    except (UnicodeError, binascii.Error, ValueError):
        raise BadCursor("this cursor is not one of ours; begin at the first part of the list again") from None
    if created_at.tzinfo is None or not inspection_id or not inspection_id.isprintable():
        raise BadCursor("this cursor is not one of ours; begin at the first part of the list again")
    return created_at, inspection_id
