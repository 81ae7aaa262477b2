"""What a page's content leaves open at its end, so that what is added after it starts from a clean page."""

from __future__ import annotations

from worker.measure.content import instructions

_END = b"PressworthyEnd"
_PATH = {b"m", b"l", b"c", b"v", b"y", b"h", b"re", b"W", b"W*"}


def closing(content: bytes) -> bytes | None:
    """The operators that close what ``content`` leaves open, where it is put between ``q`` and ``Q``.

    Left open may be: graphics states (ISO 32000-1 8.4.2), a text object (9.4.1), marked content (14.6.1), a path
    (8.5.2.1). None where nothing can be added: a ``Q`` without its ``q`` would restore the state too early, and an
    unfinished string would swallow what comes after it.
    """
    states, marked, text, last = 0, 0, False, b""
    before = b""
    for _, operator in instructions(content + b"\n" + _END):
        before, last = last, operator
        match operator:
            case b"q":
                states += 1
            case b"Q":
                states -= 1
                if states < 0:
                    return None
            case b"BT" | b"ET":
                text = operator == b"BT"
            case b"BMC" | b"BDC":
                marked += 1
            case b"EMC":
                marked = max(0, marked - 1)
    if last != _END:
        return None
    path = b"n\n" if before in _PATH else b""
    return path + b"ET\n" * text + b"EMC\n" * marked + b"Q\n" * states
