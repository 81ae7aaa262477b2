"""How large encoded data become (ISO 32000-1 7.4), found without keeping what they become.

A few kilobytes may stand for gigabytes. ``most_it_may_be`` says at once what a filter cannot pass; where that is too
much, ``decoded_size`` goes through the data and stops as soon as they do pass it.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from typing import NamedTuple

_GROWTH = {
    "FlateDecode": 1032,
    "LZWDecode": 4096,
    "RunLengthDecode": 64,
    "ASCII85Decode": 4,
    "ASCIIHexDecode": 1,
}
"""How many bytes one byte may become: of zlib by its technical details, of LZW a whole table's length for a code (more
than a byte), of run lengths 128 for two, and in base 85 four for a ``z``."""

_SHORT = {
    "Fl": "FlateDecode",
    "LZW": "LZWDecode",
    "RL": "RunLengthDecode",
    "A85": "ASCII85Decode",
    "AHx": "ASCIIHexDecode",
    "DCT": "DCTDecode",
    "CCF": "CCITTFaxDecode",
}
_PIECE = 1 << 20
_CLEAR, _END, _FIRST_ENTRY, _FULL = 256, 257, 258, 4096
_WIDER_AT = (511, 1023, 2047)


class Stage(NamedTuple):
    """One filter of a stream. ``row`` is the bytes of a predictor's row, 0 without one; ``early`` is LZW's."""

    filter: str
    row: int = 0
    early: int = 1


def full_name(filter_: str) -> str:
    """A filter's name where it may be abbreviated (Table 94)."""
    return _SHORT.get(filter_, filter_)


def is_known(stage: Stage) -> bool:
    return stage.filter in _GROWTH


def most_it_may_be(size: int, stages: list[Stage]) -> int:
    """What ``size`` bytes cannot pass once they went through all ``stages``. A predictor fills up its last row."""
    for stage in stages:
        size = size * _GROWTH[stage.filter] + stage.row
    return size


def decoded_size(data: bytes, stage: Stage, most: int) -> int:
    """The bytes that ``data`` become in this stage, as far as they are sound; some figure past ``most`` if more."""
    measured = _MEASURES.get(stage.filter)
    size = measured(data, stage, most) if measured else most_it_may_be(len(data), [stage])
    return max(size, stage.row if size else 0)


def _inflated(data: bytes, _: Stage, most: int) -> int:
    inflater, size = zlib.decompressobj(), 0
    try:
        while data and not inflater.eof and size <= most:
            size += len(inflater.decompress(data, _PIECE))
            data = inflater.unconsumed_tail
    except zlib.error:
        pass
    return size


def _run_lengths(data: bytes, _: Stage, most: int) -> int:
    """A byte below 128 announces so many more bytes as they are, one above it a repeated one (7.4.5)."""
    size = at = 0
    while at < len(data) and size <= most:
        announced = data[at]
        if announced < 128:
            size += announced + 1
            at += announced + 2
        elif announced > 128:
            size += 257 - announced
            at += 2
        else:
            at += 1
    return size


def _lzw(data: bytes, stage: Stage, most: int) -> int:
    """The lengths alone of a table's entries: each is one longer than what was shown before it (7.4.4)."""
    size, width, held, bits = 0, 9, 0, 0
    lengths: list[int] = []
    before = 0
    for byte in data:
        held, bits = held << 8 | byte, bits + 8
        if bits < width:
            continue
        bits -= width
        code, held = held >> bits, held & (1 << bits) - 1
        if code == _CLEAR:
            lengths, width, before = [], 9, 0
            continue
        if code == _END or size > most:
            break
        if before:
            lengths.append(before + 1)
            width += len(lengths) + _FIRST_ENTRY - 1 + stage.early in _WIDER_AT
        entry = code - _FIRST_ENTRY
        if entry >= len(lengths) or len(lengths) + _FIRST_ENTRY > _FULL:
            break
        before = 1 if code < _CLEAR else lengths[entry]
        size += before
    return size


_MEASURES: dict[str, Callable[[bytes, Stage, int], int]] = {
    "FlateDecode": _inflated,
    "LZWDecode": _lzw,
    "RunLengthDecode": _run_lengths,
}
