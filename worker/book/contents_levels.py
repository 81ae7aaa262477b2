"""Levels of the entries of a contents: by the numbers of their sections, or by indent and type."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from statistics import median
from typing import NamedTuple

from worker.book.grid import Style

SAME_INDENT = 4.0
"""Points by which entries of one level differ at their start: figures are of different widths."""
MOST_NUMBERED = 0.5
"""Of the entries: so many have a section's number where numbers tell the levels."""
LEAST_OF_LEVEL = 2
OFTEN = 0.1
"""Of the entries of one indent: so many are set in a type that makes a level of its own."""
MOST_CENTRED = 0.8
MOST_LEVELS = 5
"""Where entries start at more places than that, these tell no levels."""
BETWEEN = 0.5
_SECTION = re.compile(r"\s*(?:\d+|[A-Z](?=\.\d))((?:\.\d+)*)(?!\d|\.\d)")


class Start(NamedTuple):
    """How an entry starts: its indent in points and the middle of its row, its type, and its words."""

    x: float
    middle: float
    style: Style
    text: str


def levels_of(entries: Sequence[Start]) -> list[int]:
    """The level of each, from 0."""
    depths = [_depth(entry) for entry in entries]
    numbered = sum(depth is not None and depth > 0 for depth in depths)
    ranks = _by_number(entries, depths) if numbered >= MOST_NUMBERED * len(entries) else _by_place(entries)
    order = {rank: level for level, rank in enumerate(sorted(set(ranks)))}
    return [order[rank] for rank in ranks]


def _depth(entry: Start) -> int | None:
    """How deep its section's number is: 0 of ``3``, 2 of ``3.1.4``; None where it has none."""
    found = _SECTION.match(entry.text)
    return found[1].count(".") if found else None


def _by_number(entries: Sequence[Start], depths: Sequence[int | None]) -> list[float]:
    """Levels by the depth of numbers; those without one belong to the level that starts where they do."""
    starts: dict[int, list[float]] = defaultdict(list)
    styles: dict[int, Counter[Style]] = defaultdict(Counter)
    for entry, depth in zip(entries, depths, strict=True):
        if depth is not None:
            starts[depth].append(entry.x)
            styles[depth][entry.style] += 1
    indents = {depth: median(xs) for depth, xs in starts.items()}
    usual = {depth: counts.most_common(1)[0][0] for depth, counts in styles.items()}
    ranks = [
        depth if depth is not None else _level_without_number(entry, indents, usual)
        for entry, depth in zip(entries, depths, strict=True)
    ]
    top = min(indents)
    return ranks if _are_parts(ranks, top) else [max(rank, top) for rank in ranks]


def _are_parts(ranks: Sequence[float], top: float) -> bool:
    """Whether entries above the highest numbered level stand among the numbered: what stands before or after all of
    them is front and back matter."""
    above = [at for at, rank in enumerate(ranks) if rank < top]
    numbered = [at for at, rank in enumerate(ranks) if rank >= top]
    among = [at for at in above if numbered[0] < at < numbered[-1]]
    return bool(among) and len(above) >= LEAST_OF_LEVEL and any(at + 1 in numbered for at in among)


def _level_without_number(entry: Start, indents: Mapping[int, float], usual: Mapping[int, Style]) -> float:
    """That of the numbered ones that start where it does in the same type; or one of its own above or below."""
    alike = [depth for depth in indents if usual[depth] == entry.style]
    nearest = min(alike or indents, key=lambda depth: abs(indents[depth] - entry.x))
    if entry.x > indents[nearest] + SAME_INDENT:
        return nearest + BETWEEN
    if entry.x < indents[nearest] - SAME_INDENT or not alike:
        return nearest - BETWEEN
    return nearest


def _by_place(entries: Sequence[Start]) -> list[float]:
    """Levels by indent, and among those of one indent by type, the larger first."""
    starts = sorted(entry.x for entry in entries)
    edges = [start for at, start in enumerate(starts) if at == 0 or start - starts[at - 1] > SAME_INDENT]
    told = len(edges) <= MOST_LEVELS and not _are_centred(entries)
    indents = [bisect_right(edges, entry.x) - 1 if told else 0 for entry in entries]
    of_indent: dict[int, Counter[Style]] = defaultdict(Counter)
    for entry, indent in zip(entries, indents, strict=True):
        of_indent[indent][entry.style] += 1
    own = {indent: _own_levels(styles) for indent, styles in of_indent.items()}
    return [
        indent + own[indent].get(entry.style, 0) / len(entries) for entry, indent in zip(entries, indents, strict=True)
    ]


def _are_centred(entries: Sequence[Start]) -> bool:
    axis = median(entry.middle for entry in entries)
    on_axis = sum(abs(entry.middle - axis) <= SAME_INDENT for entry in entries) >= MOST_CENTRED * len(entries)
    return on_axis and max(entry.x for entry in entries) - min(entry.x for entry in entries) > SAME_INDENT


def _own_levels(styles: Counter[Style]) -> dict[Style, int]:
    often = [style for style in styles if styles[style] >= max(LEAST_OF_LEVEL, OFTEN * styles.total())]
    return {style: level for level, style in enumerate(sorted(often, key=lambda style: -style[1]))}
