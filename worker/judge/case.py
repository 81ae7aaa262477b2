"""What every rule looks at: the facts, the profile, and what follows from both, worked out once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar

from worker.judge.mirroring import Leaf, Mirroring, mirroring
from worker.judge.models import Mark, Measured, Required, Weight
from worker.measure.models import Box, Image, Margins, Measurements, Page
from worker.profiles import Profile
from worker.profiles.models import Interior, PageCount, Trim
from worker.units import page_ranges, runs, show_area, show_length

MOST_MARKS = 12
ROUNDING = 0.05
"""Points by which a length may be off before it is accused: word processors round to a twip, a twentieth of a point,
and producers to a hundredth of their own unit (common practice, no source)."""
MOST_RANGES = 8
"""A sentence with more page ranges than this says how many pages there are; the finding lists them all."""

Key = TypeVar("Key", int, float)


@dataclass(frozen=True)
class Case:
    """One book before one printer. The file has at least one page."""

    measurements: Measurements
    profile: Profile
    judged_as_pages: int

    @property
    def interior(self) -> Interior:
        return self.profile.interior

    @property
    def pages(self) -> tuple[Page, ...]:
        return self.measurements.pages

    @cached_property
    def read_pages(self) -> tuple[Page, ...]:
        """The pages whose content is known; of the others the boxes alone are."""
        return tuple(page for page in self.pages if page.unread is None)

    @cached_property
    def usual_size(self) -> tuple[float, float]:
        """Width and height of most trimmed pages, in points: those of the first page of that size."""
        sizes = [size(page) for page in self.pages]
        rounded = [(round(width, 1), round(height, 1)) for width, height in sizes]
        return sizes[rounded.index(Counter(rounded).most_common(1)[0][0])]

    @cached_property
    def trim(self) -> Trim | None:
        """The printer's trim that the usual page is."""
        return self.interior.trim_near(*self.usual_size)

    @cached_property
    def page_count(self) -> PageCount:
        return self.interior.page_count_of(self.trim)

    @cached_property
    def inside(self) -> float | None:
        """The least inside margin at this page count, in points."""
        return self.interior.margins.inside_at(self.judged_as_pages)

    @cached_property
    def bound_on_the_right(self) -> bool:
        """A book is bound on the right where the file or the profile says so; left is what both say by default."""
        return "right" in (self.measurements.document.binding_edge, self.interior.binding_edge)

    @cached_property
    def margins(self) -> tuple[tuple[Page, Margins], ...]:
        """The margins of every page with text, as it is bound here."""
        return tuple((page, self._as_bound(page, page.margins)) for page in self.read_pages if page.margins)

    @cached_property
    def pictures(self) -> dict[int, list[Image]]:
        """The pictures of each page that has any."""
        placed: dict[int, list[Image]] = {}
        for image in self.measurements.images:
            placed.setdefault(image.page, []).append(image)
        return placed

    @cached_property
    def mirroring(self) -> Mirroring | None:
        """How the margins mirror; None where too few full pages tell."""
        leaves = [Leaf(page.page, self.is_recto(page), margins, _is_full(page)) for page, margins in self.margins]
        return mirroring(leaves, self.inside, self.interior.margins.outside)

    def is_recto(self, page: Page) -> bool:
        """Whether the binding is at the left of the page."""
        return (page.page % 2 == 1) != self.bound_on_the_right

    def length(self, points: float) -> str:
        return show_length(points, self.profile.unit)

    def short_length(self, points: float, asked: float) -> str:
        """A length that is less than what is asked, to as many decimals as it takes to read otherwise."""
        told = self.length(points)
        return show_length(points, self.profile.unit, finer=2) if told == self.length(asked) else told

    def area(self, width: float, height: float) -> str:
        return show_area(width, height, self.profile.unit)

    def _as_bound(self, page: Page, margins: Margins) -> Margins:
        if self.is_recto(page) == (page.side == "recto"):
            return margins
        return margins.model_copy(update={"inside": margins.outside, "outside": margins.inside})


def size(page: Page) -> tuple[float, float]:
    """Width and height of the trimmed page, in points."""
    return page.trim[2] - page.trim[0], page.trim[3] - page.trim[1]


def _is_full(page: Page) -> bool:
    """Whether the text is wide enough to show where its block stands: a title in the middle of a page is not."""
    return page.text is not None and page.text[2] - page.text[0] >= size(page)[0] / 2


@dataclass(frozen=True)
class Draft:
    """A finding before it has words. ``facts`` fill its text; ``cause`` tells it from others of its rule."""

    pages: Sequence[int] = ()
    facts: dict[str, object] = field(default_factory=dict)
    cause: str = ""
    form: str = ""
    """Which of the rule's texts; empty for its only one."""
    weight: Weight | None = None
    measured: Measured | None = None
    required: Required | None = None
    marks: Iterable[Mark] = ()
    """The worst first; only the first few are made."""


def mark(page: int, box: Box, text: str) -> Mark:
    """A mark; a box of no area is widened to a point that can be seen."""
    x0, y0, x1, y1 = box
    return Mark(page=page, box=(x0, y0, max(x1, x0 + 0.5), max(y1, y0 + 0.5)), text=text)


def worst_first(figures: dict[int, Key]) -> list[int]:
    """Page numbers by their figure, least first, then by page."""
    return sorted(figures, key=lambda page: (figures[page], page))


def on_pages(pages: Iterable[int]) -> str:
    """Pages within a sentence: ``page 3``, ``pages 3, 5–6``, or how many where they are too many to tell."""
    numbers = sorted(set(pages))
    if len(numbers) == 1:
        return f"page {numbers[0]}"
    return f"pages {page_ranges(numbers)}" if len(runs(numbers)) <= MOST_RANGES else f"{len(numbers)} pages"
