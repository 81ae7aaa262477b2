"""Small real books: made on the spot, and inspections of them as a worker leaves them, without its fence."""

from __future__ import annotations

import io
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from reportlab.pdfgen.canvas import Canvas

from worker.keeping import keep_reading
from worker.measure import measure
from worker.measure.models import Measurements
from worker.profiles import builtin_profiles
from worker.reading import reading_of
from worker.reporting import finished, keep_report
from worker.store import LOCAL, Inspection, NewInspection, Store, file_key, new_inspection_id

INCH = 72
WHEN = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@cache
def book(pages: int = 3, *, indent: float = 1.0) -> bytes:
    """A book of 6 × 9 in whose one line a page begins ``indent`` inches from the left edge."""
    whole = io.BytesIO()
    canvas = Canvas(whole, pagesize=(6 * INCH, 9 * INCH), invariant=1)
    canvas.setTitle("The Long Mole")
    for page in range(1, pages + 1):
        canvas.setFont("Helvetica", 11)
        canvas.drawString(indent * INCH, 5 * INCH, f"Tern Island, page {page}")
        canvas.showPage()
    canvas.save()
    return whole.getvalue()


@cache
def measured(content: bytes) -> Measurements:
    """What the reader finds in it."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "long-mole.pdf"
        path.write_bytes(content)
        return measure(path)


def done(
    store: Store,
    content: bytes | None = None,
    *,
    owner: str = LOCAL,
    profile_id: str = "ternhaven-mono",
    title: str | None = None,
) -> Inspection:
    """A finished inspection with everything that belongs to it."""
    content = content or book()
    new = waiting(store, content, owner=owner, profile_id=profile_id, title=title)
    known = keep_reading(store, new.id, reading_of(measured(content)), WHEN)
    report = keep_report(store, new.id, known, builtin_profiles()[profile_id])
    return store.rows.create_done(new, finished(report, known.facts))


def queued(store: Store, **known: str) -> Inspection:
    """One that waits."""
    return store.rows.create(waiting(store, book(), **known))


def measuring(store: Store) -> Inspection:
    """One that a worker has in hand."""
    row = store.rows.claim(queued(store).id)
    assert row is not None
    return row


def waiting(
    store: Store,
    content: bytes,
    *,
    owner: str = LOCAL,
    profile_id: str = "ternhaven-mono",
    title: str | None = None,
) -> NewInspection:
    """What is known at intake, the file being kept."""
    profile = builtin_profiles()[profile_id]
    inspection_id = new_inspection_id()
    kept = store.bytes.write(file_key(inspection_id), content)
    return NewInspection(
        id=inspection_id,
        owner=owner,
        file_name="long-mole.pdf",
        sha256=kept.sha256,
        bytes=kept.bytes,
        profile_id=profile.id,
        profile_json=profile.model_dump_json(),
        title=title,
    )


def form(
    fields: Mapping[str, str] | list[tuple[str, str]],
    files: list[tuple[str, str | None, bytes]],
    *,
    file_first: bool = False,
    end: bool = True,
) -> tuple[bytes, str]:
    """A form by hand (RFC 7578) and its Content-Type: parts in either order, as odd as a test wants."""
    pairs = list(fields.items()) if isinstance(fields, Mapping) else fields
    texts = [f'Content-Disposition: form-data; name="{name}"\r\n\r\n{value}'.encode() for name, value in pairs]
    documents = [
        f'Content-Disposition: form-data; name="{name}"{_named(file_name)}\r\n\r\n'.encode() + content
        for name, file_name, content in files
    ]
    parts = documents + texts if file_first else texts + documents
    body = b"".join(b"--tern\r\n" + part + b"\r\n" for part in parts) + (b"--tern--\r\n" if end else b"")
    return body, "multipart/form-data; boundary=tern"


def _named(file_name: str | None) -> str:
    return "" if file_name is None else f'; filename="{file_name}"'
