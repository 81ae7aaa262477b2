"""Folios: the page numbers that are printed, found by position, repetition and sequence and not at a fixed place.

A number near the edge of a page is a candidate. Where the pages around have candidates that count on from it, it is a
folio; where folios of other pages stand at its very place, it is one too, though it be wrong.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from worker.book.leaf import Leaf
from worker.book.models import Edge, Folio, Position, TextBlock
from worker.book.numerals import Number, number_in
from worker.measure.models import Box, Line

NEAR = 8
"""Folios support each other over so many pages: an opening, a plate and a few blanks may lie between."""
LEAST_SUPPORT = 3
MOSTLY = 0.75
"""Of the pages with text: where fewer have folios at head or foot, these may be numbers of chapters, and the folios
stand in the side margin."""
SAME_PLACE = 1.5
"""Folios at one place stand on baselines that are no further apart, in points."""
LONGEST_ALONE = 24
"""Letters of a line that is nothing but a folio, with dashes and ``of 300``."""
WIDEST_SIDE = 6
"""Letters of a folio in the side margin."""
BESIDE = 8.0
"""Points by which a line that a folio in the side margin has joined reaches beyond the text."""
_AROUND = "-–—~·•*[](){}|/.:"
_IN_FOLIOS = frozenset("0123456789ivxlcdmIVXLCDM" + _AROUND)
_WORD = re.compile(r"\S+")
_OF_ALL = re.compile(r"(?:\s*[/|]|\s(?:of|von|de|sur|di|av|z))\s*\d+\s*$", re.IGNORECASE)
"""``12 of 300`` and its like in some languages: the number before it is the folio."""


class Candidate(NamedTuple):
    """A number on a page that may be its folio. ``alone``: the line says nothing else."""

    number: Number
    box: Box
    edge: Edge
    baseline: float
    position: Position
    alone: bool

    def offset(self, page: int) -> tuple[str, int]:
        """What is the same for all folios of one count."""
        return self.number.numerals, page - self.number.value


def folios(leaves: Sequence[Leaf], block: TextBlock) -> dict[int, Folio]:
    """The folio of each page that has one, by page. None at all where too few numbers count on from each other."""
    found = {leaf.number: list(_at_edges(leaf)) for leaf in leaves}
    chosen = _chosen(found)
    if len(chosen) < MOSTLY * sum(bool(leaf.page.lines) for leaf in leaves):
        beside = {leaf.number: list(_at_sides(leaf, block)) for leaf in leaves}
        chosen_beside = _chosen(beside)
        if len(chosen_beside) > len(chosen):
            found, chosen = beside, chosen_beside
    chosen |= _at_known_places(found, chosen)
    return {page: _folio(candidate) for page, candidate in sorted(chosen.items())}


def counted(folios: Mapping[int, Folio], pages: int) -> dict[int, Number]:
    """The number of each page in the count, printed or not, as far as the folios around it tell.

    A page without one counts on from the last folio before it, unless the next one begins another count: that reaches
    back to its own first page (CMOS 17 1.5-1.9, read second-hand: every page is counted, printed or not).
    """
    numbers: dict[int, Number] = {}
    following: Folio | None = None
    at = 0
    for page in range(pages, 0, -1):
        if page in folios:
            following, at = folios[page], page
        if following is not None and following.value - (at - page) >= 1:
            numbers[page] = Number(following.value - (at - page), following.numerals)
    before: Folio | None = None
    for page in range(1, pages + 1):
        if page in folios:
            before, at = folios[page], page
        elif before is not None and page not in numbers:
            numbers[page] = Number(before.value + page - at, before.numerals)
    return numbers


def _chosen(found: Mapping[int, list[Candidate]]) -> dict[int, Candidate]:
    """Of each page the candidate that most pages around count on from."""
    where: dict[tuple[str, int], list[int]] = defaultdict(list)
    for page, candidates in found.items():
        for offset in {candidate.offset(page) for candidate in candidates}:
            where[offset].append(page)
    chosen = {}
    for page, candidates in found.items():
        supported = [(_support(where[each.offset(page)], page), each.alone, each) for each in candidates]
        supported = [each for each in supported if each[0] >= LEAST_SUPPORT]
        if supported:
            chosen[page] = max(supported, key=lambda each: each[:2])[2]
    return chosen


def _support(pages: list[int], page: int) -> int:
    return bisect_right(pages, page + NEAR) - bisect_left(pages, page - NEAR)


def _at_known_places(found: Mapping[int, list[Candidate]], chosen: Mapping[int, Candidate]) -> dict[int, Candidate]:
    """Candidates of other pages that stand where folios do: on their baseline, on their side, as alone as they."""
    places: Counter[tuple[Edge, Position, bool, int]] = Counter(
        (each.edge, each.position, each.alone, round(each.baseline / SAME_PLACE)) for each in chosen.values()
    )

    def is_known(each: Candidate) -> bool:
        at = round(each.baseline / SAME_PLACE)
        near = sum(places[each.edge, each.position, each.alone, place] for place in (at - 1, at, at + 1))
        return near >= max(LEAST_SUPPORT, len(chosen) / 10)

    known = {
        page: next((each for each in candidates if is_known(each)), None)
        for page, candidates in found.items()
        if page not in chosen
    }
    return {page: candidate for page, candidate in known.items() if candidate is not None}


def _at_edges(leaf: Leaf) -> Iterator[Candidate]:
    for row in leaf.foot[:2]:
        for line in row.lines:
            yield from _in_line(leaf, line, "foot", leaf.from_foot(line.baseline))
    for row in leaf.head[:2]:
        for line in row.lines:
            yield from _in_line(leaf, line, "head", leaf.from_head(line.baseline))


def _in_line(leaf: Leaf, line: Line, edge: Edge, baseline: float) -> Iterator[Candidate]:
    """The number that a line is, or that it begins or ends with."""
    text = line.text
    if text[0] not in _IN_FOLIOS and text[-1] not in _IN_FOLIOS:
        return
    number = number_in(_OF_ALL.sub("", text).strip(_AROUND + " ")) if len(text) <= LONGEST_ALONE else None
    if number is not None:
        yield Candidate(number, line.box, edge, baseline, leaf.position(line.box), alone=True)
        return
    words = list(_WORD.finditer(text))
    if len(words) < 2:
        return
    for word in (words[0], words[-1]):
        number = number_in(word[0].strip(_AROUND[:10]))
        if number is not None:
            box = _part(line, word.start(), word.end())
            yield Candidate(number, box, edge, baseline, leaf.position(box), alone=False)


def _at_sides(leaf: Leaf, block: TextBlock) -> Iterator[Candidate]:
    """Numbers in the outer margin, at any height."""
    odd = leaf.number % 2 == 1
    left, right = (block.odd_left, block.odd_right) if odd else (block.even_left, block.even_right)
    if left is None or right is None:
        return
    x0, x1 = leaf.page.trim[0] + left.usual, leaf.page.trim[2] - right.usual
    for line in leaf.page.lines:
        if x0 - BESIDE <= line.box[0] <= x1 and x0 <= line.box[2] <= x1 + BESIDE:
            continue
        text, box = _beside(line, x0, x1)
        number = number_in(text.strip(_AROUND + " ")) if 0 < len(text) <= WIDEST_SIDE else None
        if number is not None:
            yield Candidate(number, box, "side", leaf.from_head(line.baseline), leaf.position(box), alone=True)


def _beside(line: Line, x0: float, x1: float) -> tuple[str, Box]:
    """What of a line stands beside the text, which reaches from x0 to x1: all of it, or the word that reaches out."""
    left, y0, right, y1 = line.box
    if right < x0 or left > x1:
        return line.text, line.box
    if right > x1 + BESIDE:
        return line.text.rpartition(" ")[2], (x1, y0, right, y1)
    if left < x0 - BESIDE:
        return line.text.partition(" ")[0], (left, y0, x0, y1)
    return "", line.box


def _part(line: Line, start: int, end: int) -> Box:
    """About where some letters of a line stand, by their share of its letters."""
    x0, y0, x1, y1 = line.box
    wide = (x1 - x0) / len(line.text)
    return x0 + start * wide, y0, min(x1, x0 + end * wide), y1


def _folio(candidate: Candidate) -> Folio:
    number = candidate.number
    return Folio(
        text=number.text,
        value=number.value,
        numerals=number.numerals,
        box=candidate.box,
        edge=candidate.edge,
        position=candidate.position,
    )
