"""Content streams (ISO 32000-1 7.8.2) as instructions: an operator, and its operands as the bytes they are.

Most instructions move no mark, so operands are only read when somebody asks. One regular expression finds a whole
instruction; its loops are possessive, so that no input makes it go back over what it has read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

_REGULAR = rb"[^\s\0()<>\[\]{}/%]"
_PLAIN = rb"[^()\\]*+"
_ESCAPE = rb"\\[\s\S]"
_DEEPEST = rb"\(" + _PLAIN + rb"(?:" + _ESCAPE + _PLAIN + rb")*+\)"
_DEEPER = rb"\(" + _PLAIN + rb"(?:(?:" + _ESCAPE + rb"|" + _DEEPEST + rb")" + _PLAIN + rb")*+\)"
_ANY_STRING = rb"\(" + _PLAIN + rb"(?:(?:" + _ESCAPE + rb"|" + _DEEPER + rb")" + _PLAIN + rb")*+\)"
_EASY_STRING = rb"\([^()]*+(?<!\\)\)"
"""No parenthesis within, not even an escaped one: nearly all strings, in a third of the time."""
STRING = rb"(?:" + _EASY_STRING + rb"|" + _ANY_STRING + rb")"
HEX_STRING = rb"<[0-9A-Fa-f\s\0]*+>"
_SPACE = rb"[\s\0]++"
_COMMENT = rb"%[^\r\n]*+"
_NUMBER = rb"[-+.\d]" + _REGULAR + rb"*+"
_FIGURES = rb"[-+.\d\s\0]++(?:(?<=[\s\0])|(?!" + _REGULAR + rb"))"
"""Numbers and the space between them at one go, where nothing else hangs on the last."""
_NAME = rb"/" + _REGULAR + rb"*+"
_WORD = rb"(?:true|false|null)(?!" + _REGULAR + rb")"
_BETWEEN = rb"[^\[\]()<>%]*+"
_ARRAY = (
    rb"\["
    + _BETWEEN
    + rb"(?:(?:"
    + rb"|".join((STRING, HEX_STRING, _COMMENT, rb"<<|>>"))
    + rb")"
    + _BETWEEN
    + rb")*+\]"
)
_EASY_ARRAY = rb"\[" + _BETWEEN + rb"(?:" + _EASY_STRING + _BETWEEN + rb")*+\]"
_OPERANDS = (
    rb"((?:"
    + rb"|".join(
        (_FIGURES, _SPACE, _NUMBER, _EASY_ARRAY, _ARRAY, _NAME, STRING, HEX_STRING, rb"<<|>>", _WORD, _COMMENT)
    )
    + rb")*+)"
)
_INSTRUCTION: Any = re.compile(_OPERANDS + rb"([A-Za-z'\"*]" + _REGULAR + rb"*+)")
_OPERANDS_ALONE = re.compile(_OPERANDS)
_SHOWN = re.compile(rb"(" + STRING + rb"|" + HEX_STRING + rb")")
_IMAGE_END = re.compile(rb"[\s\0]EI(?=[\s\0]|$)")
_FIGURE = re.compile(rb"[-+]?(?:\d+\.?\d*|\.\d+)")
_NAMES = re.compile(rb"/(" + _REGULAR + rb"*+)")
_NAME_ESCAPE = re.compile(rb"#([0-9A-Fa-f]{2})")
_STRING_ESCAPE = re.compile(rb"\\([0-7]{1,3}|\r\n|[\s\S])|\r\n?")
_SHORT_ESCAPES = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}
_LINE_ENDS = (b"\r\n", b"\r", b"\n")

Instruction = tuple[bytes, bytes]


def instructions(data: bytes) -> Iterator[Instruction]:
    """Yield ``(operands, operator)``; an inline image comes as ``BI`` with its dictionary, ``ID`` and its samples.

    What is no PDF syntax is stepped over: a damaged instruction costs itself and not the page.
    """
    position, carried = 0, b""
    while position < len(data):
        scan = _INSTRUCTION.scanner(data, position)  # of the standard library, though the type stubs lack it
        last = None
        for found in iter(scan.match, None):
            operands, operator = found.groups()
            last = found
            if carried:
                operands, carried = carried + operands, b""
            if operator == b"BI":
                operands, position = _inline_image(data, found.end())
                yield operands, operator
                break
            yield operands, operator
        else:
            position, carried = _step_over(data, last.end() if last else position, carried)


def shown_parts(operands: bytes) -> list[bytes]:
    """The strings that a text operator shows, as tokens at the odd places, and what stands between them at the even."""
    return _SHOWN.split(operands)


def _step_over(data: bytes, position: int, carried: bytes) -> tuple[int, bytes]:
    """Get past the byte that no rule fits. A string nested too deep for the expression is kept, as a hex string."""
    operands = _OPERANDS_ALONE.match(data, position)
    stuck = operands.end() if operands else position
    if data[stuck : stuck + 1] == b"(":
        end = _balanced_end(data, stuck)
        text = unescaped(data[stuck + 1 : end - 1])
        return end, carried + data[position:stuck] + b"<" + text.hex().encode() + b">"
    if data[stuck : stuck + 1] in (b"[", b"]"):  # of an array that holds such a string: its members are kept
        return stuck + 1, carried + data[position:stuck] + b" "
    return stuck + 1, b""


def _balanced_end(data: bytes, start: int) -> int:
    depth, position = 0, start
    while position < len(data):
        byte = data[position]
        if byte == 0x5C:
            position += 1
        elif byte == 0x28:
            depth += 1
        elif byte == 0x29:
            depth -= 1
            if not depth:
                return position + 1
        position += 1
    return len(data) + 1


def _inline_image(data: bytes, position: int) -> tuple[bytes, int]:
    """The inline image that starts after ``BI`` (ISO 32000-1 8.9.7): its bytes up to ``EI``, and where it ends."""
    end = _IMAGE_END.search(data, position)
    while end and not _looks_like_content(data[end.end() : end.end() + 32]):
        end = _IMAGE_END.search(data, end.end())
    if end is None:
        return data[position:], len(data)
    return data[position : end.start()], end.end()


def _looks_like_content(after: bytes) -> bool:
    """Samples may hold the letters EI by chance; what follows the true end is plain text."""
    return all(byte in (0, 9, 10, 12, 13) or 32 <= byte < 127 for byte in after)


def numbers(operands: bytes) -> list[float]:
    """The numbers among the operands; what is no number is left out."""
    try:
        return list(map(float, operands.split()))
    except ValueError:
        return [float(figure) for figure in _FIGURE.findall(operands)]


def last_name(operands: bytes) -> str | None:
    """The last name among the operands, decoded, with its slash: ``/F1``."""
    names = _NAMES.findall(operands)
    return decoded_name(names[-1]) if names else None


def first_name(operands: bytes) -> str | None:
    names = _NAMES.search(operands)
    return decoded_name(names[1]) if names else None


def decoded_name(raw: bytes) -> str:
    if b"#" in raw:
        raw = _NAME_ESCAPE.sub(lambda escape: bytes([int(escape[1], 16)]), raw)
    return "/" + raw.decode("utf-8", "surrogateescape")


def string_bytes(token: bytes) -> bytes:
    """The bytes that a string token, ``(…)`` or ``<…>``, stands for (ISO 32000-1 7.3.4)."""
    if token[:1] == b"(":
        return unescaped(token[1:-1])
    digits = bytes(byte for byte in token[1:-1] if byte not in b"\0\t\n\f\r ")
    return bytes.fromhex((digits + b"0" if len(digits) % 2 else digits).decode())


def unescaped(raw: bytes) -> bytes:
    return _STRING_ESCAPE.sub(_unescape, raw) if b"\\" in raw or b"\r" in raw else raw


def _unescape(escape: re.Match[bytes]) -> bytes:
    what = escape[1]
    if what is None:
        return b"\n"
    if what[0] in b"01234567":
        return bytes([int(what, 8) & 0xFF])
    if what in _LINE_ENDS:
        return b""
    return _SHORT_ESCAPES.get(what, what)
