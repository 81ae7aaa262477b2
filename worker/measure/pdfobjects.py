"""Reading PDF objects that may be anything: a dictionary may not be a dictionary, a number no number."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from typing import Any

import pikepdf

_TREE_DEPTH = 64


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
    """The decoded bytes of a stream, or of an array of streams joined as ISO 32000-1 7.8.2 says."""
    if isinstance(value, pikepdf.Stream):
        return value.read_bytes()
    return b"\n".join(part.read_bytes() for part in array(value) if isinstance(part, pikepdf.Stream))


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
