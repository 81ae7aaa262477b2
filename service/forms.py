"""A form with one file or more (``multipart/form-data``, RFC 7578): files to their places, fields into memory."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack

from flask import Request
from werkzeug.exceptions import RequestEntityTooLarge
from werkzeug.sansio.multipart import Data, Epilogue, Event, Field, File, MultipartDecoder, NeedData

from service.bodies import PIECE, pieces
from service.problems import INVALID, MALFORMED, TOO_LARGE, Problem
from service.repeats import REPEATED
from worker.store import Incoming, TooLarge

__all__ = ["CameFile", "FormWithFile", "FormWithFiles"]

MOST_PARTS = 32
MOST_FIELD_BYTES = 16 * 1024
"""Of all text fields together."""

BESIDE_THE_FILE = 64 * 1024
"""Bytes of a form that are not its file's."""

MOST_HELD = 4 * PIECE
"""Bytes that may wait for the end of a part's header or for a boundary: beyond that it is no form."""

PASSED_BY = 4
"""So many times the size of a file is read, at most, of files that are not taken, for the sake of those after them."""


class Form(ABC):
    """What a form brings: the text of its parts goes into ``fields`` as they come, its files where a kind of form has
    them go. The file parts are named ``file_part``."""

    def __init__(self, file_part: str, fields: dict[str, str]) -> None:
        self.file_part = file_part
        self.fields = fields
        self.announced = 0
        """Bytes of the whole form, where its sender has said so."""
        self._part: Field | File | None = None
        self._text = bytearray()
        self._text_bytes = 0

    def read(self, request: Request) -> None:
        """Read the whole form, its parts in any order.

        Raises :class:`Problem`, and :class:`worker.store.TooLarge` where the file is.
        """
        self.announced = request.content_length or 0
        for event in _events(request):
            match event:
                case File():
                    self._begin_file(event)
                case Field():
                    self._begin_field(event)
                case Data():
                    self._take(event)

    @abstractmethod
    def begin_file(self, name: str) -> None:
        """A file begins that its sender calls so."""

    @abstractmethod
    def take_file(self, data: bytes) -> None:
        """A part of it has come."""

    def _begin_file(self, part: File) -> None:
        if part.name != self.file_part:
            raise _wrong(part.name, f"No file is taken here. The one with the book is named `{self.file_part}`.")
        self._part = part
        self.begin_file(part.filename)

    def _begin_field(self, part: Field) -> None:
        if part.name == self.file_part:
            raise _wrong(part.name, "Send it as a file: its part needs a `filename`.")
        if part.name in self.fields:
            raise _wrong(part.name, REPEATED)
        self._part, self._text = part, bytearray()

    def _take(self, data: Data) -> None:
        if isinstance(self._part, File):
            self.take_file(data.data)
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


class FormWithFile(Form):
    """A form with one file, whose bytes go into ``incoming``. ``most_bytes``: no more is taken of it, and one that is
    announced as larger is refused as it begins, once the fields before it are known."""

    def __init__(self, file_part: str, incoming: Incoming, fields: dict[str, str], most_bytes: int) -> None:
        super().__init__(file_part, fields)
        self.file_name: str | None = None
        """None until the file has come."""
        self._incoming = incoming
        self._most_bytes = most_bytes

    def begin_file(self, name: str) -> None:
        """The one file; a second is refused."""
        if self.file_name is not None:
            raise _wrong(self.file_part, "Send one file: each book is an inspection of its own.")
        if self.announced > self._most_bytes + BESIDE_THE_FILE:
            raise TooLarge(self._most_bytes)
        self.file_name = name

    def take_file(self, data: bytes) -> None:
        """A part of it."""
        self._incoming.write(data)


class CameFile:
    """One of several files: its name, its bytes, and how it was dropped on the way, if it was."""

    def __init__(self, name: str, incoming: Incoming | None) -> None:
        self.name = name
        self.incoming = incoming
        """None where there were too many."""
        self.too_large = False

    @property
    def nothing(self) -> bool:
        """Whether it is what a browser sends where no file was chosen."""
        return not self.name and self.incoming is not None and self.incoming.size == 0


class FormWithFiles(Form):
    """A form with several files, each of its own bytes in its own place: one that is refused loses none of the others.

    ``opened`` makes a place for at most ``most_bytes``, and ``places`` closes all of them. More than ``most_files`` are
    read past. ``first`` is called when the first file begins, with the fields before it known: it may refuse the form.
    """

    def __init__(
        self,
        file_part: str,
        fields: dict[str, str],
        *,
        places: ExitStack,
        opened: Callable[[], AbstractContextManager[Incoming]],
        most_bytes: int,
        most_files: int,
        first: Callable[[], None],
    ) -> None:
        super().__init__(file_part, fields)
        self.files: list[CameFile] = []
        self._places = places
        self._opened = opened
        self._most_files = most_files
        self._first = first
        self._left_to_pass = PASSED_BY * most_bytes

    def begin_file(self, name: str) -> None:
        """One more file."""
        if not self.files:
            self._first()
        fits = len(self.files) < self._most_files
        self.files.append(CameFile(name, self._places.enter_context(self._opened()) if fits else None))

    def take_file(self, data: bytes) -> None:
        """A part of the last one begun. Raises :class:`Problem` once too much has been read for nothing."""
        came = self.files[-1]
        if came.incoming is not None and not came.too_large:
            try:
                came.incoming.write(data)
                return
            except TooLarge:
                came.too_large = True
                came.incoming.discard()
        self._left_to_pass -= len(data)
        if self._left_to_pass < 0:
            raise Problem(TOO_LARGE, "These files together are far larger than this service takes. Send fewer at once.")


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
