"""Reading PDF objects that may be anything: a dictionary may not be a dictionary, a number no number."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from math import isfinite
from typing import Any

import pikepdf

from worker.measure.limits import MOST_INFLATED, LimitReached

_TREE_DEPTH = 64
_PIECE = 1 << 20
MOST_DEFLATED = 1032
"""Deflate makes nothing smaller than by this factor (zlib's technical details)."""


def dictionary(value: Any) -> pikepdf.Object | None:
    """``value`` if it is a dictionary or a stream (which has one), else None."""
    return value if isinstance(value, (pikepdf.Dictionary, pikepdf.Stream)) else None


def get(value: Any, key: str) -> Any:
    """``value[key]`` where that makes sense, else None."""
    holder = dictionary(value)
    if holder is None:
        return None
    return holder.get(key)


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
    """A name without its slash."""
    return str(value)[1:] if isinstance(value, pikepdf.Name) else None


def text(value: Any) -> str | None:
    """A text string (ISO 32000-1 7.9.2.2) without control characters; None where there is none or it is empty."""
    if not isinstance(value, pikepdf.String):
        return None
    clean = "".join(letter for letter in str(value) if letter.isprintable() or letter == " ").strip()
    return clean or None


def identity(value: Any) -> tuple[int, int]:
    """The object and generation number; ``(0, 0)`` for a direct object."""
    return value.objgen if isinstance(value, pikepdf.Object) else (0, 0)


def stream_bytes(value: Any) -> bytes:
    """The decoded bytes of a stream, or of an array of streams joined as ISO 32000-1 7.8.2 says.

    Raises ``LimitReached`` for one that inflates past what is allowed, before it is inflated whole.
    """
    if isinstance(value, pikepdf.Stream):
        return _decoded(value)
    return b"\n".join(_decoded(part) for part in array(value) if isinstance(part, pikepdf.Stream))


def _decoded(stream: pikepdf.Stream) -> bytes:
    filters = get(stream, "/Filter")
    names = [name(member) for member in (array(filters) or [filters])]
    stages = next((at for at, filter_ in enumerate(names) if filter_ != "FlateDecode"), len(names))
    if stages:
        _refuse_bomb(stream.read_raw_bytes(), stages)
    return bytes(stream.read_bytes())


def _refuse_bomb(data: bytes, stages: int) -> None:
    """Inflate piece by piece where ``data``, deflated ``stages`` times, might pass the limit."""
    if len(data) * MOST_DEFLATED**stages <= MOST_INFLATED:
        return
    for _ in range(stages):
        data = _inflated(data)


def _inflated(data: bytes) -> bytes:
    """What ``data`` inflates to; as far as it is sound."""
    inflater, pieces, total = zlib.decompressobj(), [], 0
    try:
        while data and not inflater.eof:
            pieces.append(inflater.decompress(data, _PIECE))
            data = inflater.unconsumed_tail
            total += len(pieces[-1])
            if total > MOST_INFLATED:
                raise LimitReached("inflated", f"a stream inflates past {MOST_INFLATED // 1_000_000} MB")
    except zlib.error:
        pass
    return b"".join(pieces)


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
