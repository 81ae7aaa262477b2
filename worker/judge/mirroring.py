"""Whether the margins of a book change sides from page to page, as those of a bound book do.

Four edges are looked at: where lines start and where they end, on rectos and on versos. The starts of rectos are their
inside and those of versos their outside, so a block that does not move has both alike. All lengths are points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from worker.measure.models import Margins

Form = Literal["same-side", "wrong-way", "equal"]

SAME_PLACE = 1.0
"""Edges within this are the same edge (common practice, no source): side bearings and hyphens move ink by less."""
EQUAL = 2.0
"""Margins within this are set alike: lines set ragged end a little short even on a full page."""
CLASSICAL = (1.8, 2.2)
"""Outside to inside of a page of the canon of ninths, W/9 inside and 2W/9 outside: a design, and no slip."""
LEAST_PAGES = 2
"""Full pages on each side without which nothing can be told."""


@dataclass(frozen=True)
class Leaf:
    """One page's margins as it is bound. ``full``: its text is wide enough to show where the block stands."""

    page: int
    recto: bool
    margins: Margins
    full: bool


@dataclass(frozen=True)
class Side:
    """The usual inside and outside margin of the pages of one side, and those pages."""

    inside: float
    outside: float
    pages: tuple[int, ...]


@dataclass(frozen=True)
class Mirroring:
    """What is wrong with the mirroring, on which pages; ``form`` is None where all is well."""

    form: Form | None
    recto: Side
    verso: Side

    @property
    def pages(self) -> tuple[int, ...]:
        """The pages at fault: where margins do not mirror, those with the narrow one inside; else all full ones."""
        if self.form == "same-side":
            return min((self.recto, self.verso), key=lambda side: side.inside).pages
        return tuple(sorted(self.recto.pages + self.verso.pages))


def mirroring(leaves: Sequence[Leaf], inside: float | None, outside: float | None) -> Mirroring | None:
    """Judge the mirroring where ``inside`` and ``outside`` are asked; None where too few full pages tell."""
    recto, verso = _side(leaves, recto=True), _side(leaves, recto=False)
    if recto is None or verso is None:
        return None
    wants_gutter = (inside or 0.0) > (outside or 0.0)
    return Mirroring(_form(recto, verso, inside, wants_gutter=wants_gutter), recto, verso)


def _form(recto: Side, verso: Side, asked: float | None, *, wants_gutter: bool) -> Form | None:
    if abs(recto.inside - verso.outside) <= SAME_PLACE:
        if abs(recto.inside - min(recto.outside, verso.inside)) > EQUAL:
            return "same-side"
        return "equal" if wants_gutter else None
    inside, outside = min(recto.inside, verso.inside), min(recto.outside, verso.outside)
    wide_outside = inside < outside - SAME_PLACE and wants_gutter
    return "wrong-way" if wide_outside and not _classical(inside, outside, asked) else None


def _classical(inside: float, outside: float, asked: float | None) -> bool:
    return inside >= (asked or 0.0) and inside > 0 and CLASSICAL[0] <= outside / inside <= CLASSICAL[1]


def _side(leaves: Sequence[Leaf], *, recto: bool) -> Side | None:
    """The usual margins of one side, each at the lower quartile: a short or ragged line leaves a margin wider than
    the block's, never narrower, and a few flawed pages do not reach the quartile."""
    full = [leaf for leaf in leaves if leaf.full and leaf.recto == recto]
    if len(full) < LEAST_PAGES:
        return None
    quartile = len(full) // 4
    insides = sorted(leaf.margins.inside for leaf in full)
    outsides = sorted(leaf.margins.outside for leaf in full)
    return Side(insides[quartile], outsides[quartile], tuple(leaf.page for leaf in full))
