"""A form with one file (``multipart/form-data``, RFC 7578): its file goes where it is kept, its fields into memory."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from flask import Request
from werkzeug.exceptions import RequestEntityTooLarge
from werkzeug.sansio.multipart import Data, Epilogue, Event, Field, File, MultipartDecoder, NeedData

from service.bodies import PIECE, pieces
from service.problems import INVALID, MALFORMED, TOO_LARGE, Problem
from service.repeats import REPEATED
from worker.store import Incoming, TooLarge

__all__ = ["FormWithFile"]

MOST_PARTS = 32
MOST_FIELD_BYTES = 16 * 1024
"""Of all text fields together."""

BESIDE_THE_FILE = 64 * 1024
"""Bytes of a form that are not its file's."""

MOST_HELD = 4 * PIECE
"""Bytes that may wait for the end of a part's header or for a boundary: beyond that it is no form."""


@dataclass
class FormWithFile:
    """What a form brings. The file part is named ``file_part``; its bytes go into ``incoming`` as they arrive, and the
    text of the other parts into ``fields``. ``most_bytes``: no more is taken of a file, and one that is announced as
    larger is refused as it begins, once the fields before it are known."""

    file_part: str
    incoming: Incoming
    fields: dict[str, str]
    most_bytes: int
    file_name: str | None = None
    """None until the file has come."""

    _announced: int = 0
    _part: Field | File | None = None
    _text: bytearray = field(default_factory=bytearray)
    _text_bytes: int = 0

    def read(self, request: Request) -> None:
        """Read the whole form, its parts in any order.

        Raises :class:`Problem`, and :class:`worker.store.TooLarge` where the file is.
        """
        self._announced = request.content_length or 0
        for event in _events(request):
            match event:
                case File():
                    self._begin_file(event)
                case Field():
                    self._begin_field(event)
                case Data():
                    self._take(event)

    def _begin_file(self, part: File) -> None:
        if part.name != self.file_part:
            raise _wrong(part.name, f"No file is taken here. The one with the book is named `{self.file_part}`.")
        if self.file_name is not None:
            raise _wrong(part.name, "Send one file: each book is an inspection of its own.")
        if self._announced > self.most_bytes + BESIDE_THE_FILE:
            raise TooLarge(self.most_bytes)
        self._part, self.file_name = part, part.filename

    def _begin_field(self, part: Field) -> None:
        if part.name == self.file_part:
            raise _wrong(part.name, "Send it as a file: its part needs a `filename`.")
        if part.name in self.fields:
            raise _wrong(part.name, REPEATED)
        self._part, self._text = part, bytearray()

    def _take(self, data: Data) -> None:
        if isinstance(self._part, File):
            self.incoming.write(data.data)
        elif self._part is not None:
            self._take_text(self._part, data)

    def _take_text(self, part: Field, data: Data) -> None:
        self._text_bytes += len(data.data)
        if self._text_bytes > MOST_FIELD_BYTES:
            raise Problem(
                TOO_LARGE, f"The text fields together are larger than {MOST_FIELD_BYTES} bytes; shorten them."
            )
        self._text += data.data
        if not data.more_data:
            self.fields[part.name] = self._text.decode("utf-8", "replace")


def _events(request: Request) -> Iterator[Event]:
    decoder = _decoder(request)
    try:
        for piece in pieces(request):
            decoder.receive_data(piece)
            yield from _decoded(decoder)
        decoder.receive_data(None)
        yield from _decoded(decoder)
    except RequestEntityTooLarge:
        raise Problem(MALFORMED, "The form has too many parts, or a part without an end to its header.") from None
    except (ValueError, LookupError):
        raise _malformed() from None


def _decoder(request: Request) -> MultipartDecoder:
    boundary = request.mimetype_params.get("boundary", "")
    if not boundary or not boundary.isascii():
        raise _malformed()
    return MultipartDecoder(boundary.encode("ascii"), MOST_HELD, max_parts=MOST_PARTS)


def _decoded(decoder: MultipartDecoder) -> Iterator[Event]:
    while not isinstance(event := decoder.next_event(), NeedData):
        if isinstance(event, Field | File) and not event.name:
            raise _malformed()
        yield event
        if isinstance(event, Epilogue):
            return


def _malformed() -> Problem:
    return Problem(
        MALFORMED,
        "The form cannot be read, or ended before its end. Send multipart/form-data as RFC 7578 describes it.",
    )


def _wrong(name: str, detail: str) -> Problem:
    return Problem(INVALID, f"{name}: {detail}", errors=[{"field": name, "detail": detail}])
