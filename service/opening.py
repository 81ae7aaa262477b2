"""How a request begins: whether enough of it has come for a thread to take it up.

A thread that takes up a request waits for whatever of it has not come. So one is given the whole head, and the whole
body where that is small; the body of a book is taken off the wire by a thread, of which only so many do that.
"""

from __future__ import annotations

import re

__all__ = ["LONGEST_HEAD", "SMALL_BODY", "Opening"]

LONGEST_HEAD = 128 * 1024
"""Bytes; gunicorn refuses a line or a number of lines that make for more."""

SMALL_BODY = 64 * 1024
"""Bytes of the largest form or JSON that any address takes."""

END_OF_HEAD = b"\r\n\r\n"
LAST_CHUNK = b"0\r\n\r\n"

_CHUNKED = re.compile(rb"\r\ntransfer-encoding:[^\r\n]*chunked", re.IGNORECASE)
_LENGTH = re.compile(rb"\r\ncontent-length:[ \t]*([0-9]{1,9})[ \t]*(?:\r\n|$)", re.IGNORECASE)
_EXPECTS = re.compile(rb"\r\nexpect:", re.IGNORECASE)


class Opening:
    """A request as far as it has come (RFC 9112). It is only looked at, never judged: that is the parser's part."""

    def __init__(self) -> None:
        self._come = bytearray()
        self._whole_at: int | None = None
        """So many bytes are enough; None until the head's end has come."""
        self._ends_with_a_chunk = False

    def __len__(self) -> int:
        return len(self._come)

    @property
    def whole(self) -> bool:
        """Whether a thread can take it up."""
        if self._whole_at is None:
            return len(self._come) > LONGEST_HEAD
        ended = self._ends_with_a_chunk and self._come.endswith(LAST_CHUNK)
        return ended or len(self._come) >= self._whole_at

    def add(self, piece: bytes) -> None:
        """More of it has come."""
        searched = max(0, len(self._come) + 1 - len(END_OF_HEAD))
        self._come += piece
        if self._whole_at is None:
            end = self._come.find(END_OF_HEAD, searched)
            if end >= 0:
                self._understand(bytes(self._come[:end]), end + len(END_OF_HEAD))

    def take(self) -> bytes:
        """All that has come; the next request begins with nothing."""
        come, self._come, self._whole_at = bytes(self._come), bytearray(), None
        return come

    def _understand(self, head: bytes, body_at: int) -> None:
        length = _LENGTH.search(head)
        announced = int(length[1]) if length else 0
        self._ends_with_a_chunk = _CHUNKED.search(head) is not None
        if _EXPECTS.search(head):  # its sender waits for our word
            self._whole_at = body_at
        elif self._ends_with_a_chunk:
            self._whole_at = body_at + SMALL_BODY
        else:
            self._whole_at = body_at + (announced if announced <= SMALL_BODY else 0)
