"""Reading PDF objects that may be anything: a dictionary may not be a dictionary, a number no number."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest
from math import isfinite
from typing import Any

import pikepdf

from worker.measure.expansion import Stage, decoded_size, full_name, is_known, most_it_may_be
from worker.measure.limits import MOST_INFLATED, LimitReached

_TREE_DEPTH = 64
_PARAMETERS = ("/Predictor", "/Colors", "/BitsPerComponent", "/Columns", "/EarlyChange")
"""Of a filter (ISO 32000-1 Table 8)."""
_OF_ANOTHER_PROGRAM = ("JBIG2Decode",)
"""pikepdf would start one, where there is one, to undo this filter; only pictures have it, and need not be undone."""


def dictionary(value: Any) -> pikepdf.Object | None:
    """``value`` if it is a dictionary or a stream (which has one), else None."""
    return value if isinstance(value, (pikepdf.Dictionary, pikepdf.Stream)) else None


def get(value: Any, key: Any) -> Any:
    """``value[key]`` where that makes sense, else None; ``key`` is a name, or as text with its slash."""
    holder = dictionary(value)
    if holder is None:
        return None
    try:
        return holder.get(key)
    except TypeError:  # it is no UTF-8, and can only be found by a name
        return holder.get(as_name(key))


def as_name(key: str) -> Any:
    """The name that this text is with its slash; bytes that are no UTF-8 stand in it as surrogates (PEP 383), and
    zeros, which no name may have, are left out."""
    raw = key[1:].encode("utf-8", "surrogateescape")
    return pikepdf.Object.parse(b"/" + b"".join(b"#%02x" % byte for byte in raw if byte))


def array(value: Any) -> list[Any]:
    return list(value) if isinstance(value, pikepdf.Array) else []


def number(value: Any) -> float | None:
    """A finite number, or None."""
    try:
        figure = float(value)
    except (TypeError, ValueError, OverflowError):
        return None
    return figure if isfinite(figure) else None


def numbers(value: Any) -> list[float]:
    """The finite numbers of an array; empty where it is none, or where one of its members is no number."""
    figures = [number(member) for member in array(value)]
    return [] if None in figures else [figure for figure in figures if figure is not None]


def integer(value: Any, default: int = 0) -> int:
    figure = number(value)
    return default if figure is None else int(figure)


def name(value: Any) -> str | None:
    """A name without its slash; as Latin-1 where it is no UTF-8, which ISO 32000-1 7.3.5 recommends and no more."""
    if not isinstance(value, pikepdf.Name):
        return None
    try:
        return str(value)[1:]
    except UnicodeDecodeError:
        return bytes(value)[1:].decode("latin-1")


def text(value: Any) -> str | None:
    """A text string (ISO 32000-1 7.9.2.2) without control characters; None where there is none or it is empty."""
    if not isinstance(value, pikepdf.String):
        return None
    return printable(as_text(value))


def printable(letters: str) -> str | None:
    """A text without control characters; None where nothing is left."""
    return "".join(letter for letter in letters if letter.isprintable() or letter == " ").strip() or None


def as_text(value: pikepdf.String) -> str:
    """A text string as it stands; what is no UTF-8 in one that says that it is (ISO 32000-2 7.9.2.2) is replaced."""
    try:
        return str(value)
    except UnicodeDecodeError:
        return bytes(value).decode("utf-8-sig", "replace")


def identity(value: Any) -> tuple[int, int]:
    """The object and generation number; ``(0, 0)`` for a direct object."""
    return value.objgen if isinstance(value, pikepdf.Object) else (0, 0)


def stream_bytes(value: Any, most: int = MOST_INFLATED) -> bytes:
    """The decoded bytes of a stream, or of an array of streams joined as ISO 32000-1 7.8.2 says.

    Raises ``LimitReached`` for what would pass ``most`` bytes, before it is decoded, and ``pikepdf.PdfError`` for what
    cannot be decoded.
    """
    if isinstance(value, pikepdf.Stream):
        return _decoded(value, most)
    parts: list[bytes] = []
    for part in array(value):
        if isinstance(part, pikepdf.Stream):
            parts.append(_decoded(part, most))
            most -= len(parts[-1])
    return b"\n".join(parts)


def _decoded(stream: pikepdf.Stream, most: int) -> bytes:
    raw, stages = stream.read_raw_bytes(), _stages(stream)
    if any(stage.filter in _OF_ANOTHER_PROGRAM for stage in stages):
        raise pikepdf.PdfError("it is a picture")
    known = all(map(is_known, stages))  # what qpdf does not know it refuses, and decodes nothing
    if known and most_it_may_be(len(raw), stages) > most:
        _refuse_bomb(raw, stages, stream, most)
    return _by_qpdf(stream) if stages else raw


def _by_qpdf(stream: pikepdf.Stream) -> bytes:
    """All filters undone that are not for pictures alone."""
    try:
        return bytes(stream.read_bytes(pikepdf.StreamDecodeLevel.specialized))
    except RuntimeError as error:  # so it is for LZW, and not for the others
        raise pikepdf.PdfError(str(error)) from error


def filters(stream: Any) -> list[str]:
    """The filters of a stream, in the order in which they are undone, by their full names."""
    value = get(stream, "/Filter")
    names = [name(member) for member in array(value)] or [name(value)]
    return [full_name(filter_) for filter_ in names if filter_]


def _stages(stream: pikepdf.Stream) -> list[Stage]:
    return [
        Stage(filter_, _row(given), integer(get(given, "/EarlyChange"), 1))
        for filter_, given in zip_longest(filters(stream), _parameters(stream))
        if filter_ is not None
    ]


def _parameters(stream: pikepdf.Stream) -> list[Any]:
    value = get(stream, "/DecodeParms")
    return array(value) or [value]


def _row(parameters: Any) -> int:
    """The bytes of one row of a predictor (7.4.4.4); 0 where there is none."""
    if integer(get(parameters, "/Predictor"), 1) < 2:
        return 0
    colours, bits = integer(get(parameters, "/Colors"), 1), integer(get(parameters, "/BitsPerComponent"), 8)
    return max(0, colours * bits * integer(get(parameters, "/Columns"), 1) // 8) + 1


def _refuse_bomb(data: bytes, stages: list[Stage], stream: pikepdf.Stream, most: int) -> None:
    """Undo one filter after the other where the limit is kept, to see whether the next one keeps it too."""
    for at, (stage, parameters) in enumerate(zip_longest(stages, _parameters(stream)[: len(stages)])):
        if decoded_size(data, stage, most) > most:
            raise LimitReached("inflated", f"a stream inflates past {MOST_INFLATED // 1_000_000} MB")
        if at + 1 < len(stages):
            data = _undone(data, stage.filter, parameters)


def _undone(data: bytes, filter_: str, parameters: Any) -> bytes:
    """``data`` after one filter, as qpdf undoes it."""
    given = {key: integer(figure) for key in _PARAMETERS if (figure := get(parameters, key)) is not None}
    keys = {"Filter": pikepdf.Name(f"/{filter_}")} | ({"DecodeParms": pikepdf.Dictionary(given)} if given else {})
    with pikepdf.new() as bench:
        return _by_qpdf(pikepdf.Stream(bench, data, **keys))


def tree_leaves(root: Any, leaf_key: str) -> Iterator[Any]:
    """The members of all ``leaf_key`` arrays of a name or number tree (ISO 32000-1 7.9.6), loops cut."""
    seen: set[tuple[int, int]] = set()
    pending = [(root, 0)]
    while pending:
        node, depth = pending.pop()
        key = identity(node)
        if depth > _TREE_DEPTH or (key != (0, 0) and key in seen):
            continue
        seen.add(key)
        yield from array(get(node, leaf_key))
        pending.extend((kid, depth + 1) for kid in array(get(node, "/Kids")))
