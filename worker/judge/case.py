"""What every rule looks at: the facts, the profile, and what follows from both, worked out once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

from worker.judge.models import Mark, Measured, Required, Weight
from worker.measure.models import Box, Margins, Measurements, Page
from worker.profiles import Profile
from worker.profiles.models import PageCount, Trim
from worker.units import show_area, show_length

MOST_MARKS = 12
SAME_SIZE = 0.5
"""Pages that differ by no more than this, in points, are of one size: producers round (common practice, no source)."""


@dataclass(frozen=True)
class Case:
    """One book before one printer."""

    measurements: Measurements
    profile: Profile
    judged_as_pages: int

    @cached_property
    def pages(self) -> tuple[Page, ...]:
        return self.measurements.pages

    @cached_property
    def usual_size(self) -> tuple[float, float]:
        """Width and height of most trimmed pages, in points."""
        sizes = Counter((round(size(page)[0], 1), round(size(page)[1], 1)) for page in self.pages)
        return sizes.most_common(1)[0][0]

    @cached_property
    def trim(self) -> Trim | None:
        """The printer's trim that the usual page is."""
        return self.profile.interior.trim_near(*self.usual_size)

    @cached_property
    def page_count(self) -> PageCount:
        return self.profile.interior.page_count_of(self.trim)

    @cached_property
    def inside(self) -> float | None:
        """The least inside margin at this page count, in points."""
        return self.profile.interior.margins.inside_at(self.judged_as_pages)

    @cached_property
    def bound_on_the_right(self) -> bool:
        """A book is bound on the right where the file or the profile says so; left is what both say by default."""
        return "right" in (self.measurements.document.binding_edge, self.profile.interior.binding_edge)

    def is_recto(self, page: Page) -> bool:
        """Whether the binding is at the left of the page."""
        return (page.page % 2 == 1) != self.bound_on_the_right

    def margins(self, page: Page) -> Margins | None:
        """The page's margins as it is bound here."""
        if page.margins is None or self.is_recto(page) == (page.side == "recto"):
            return page.margins
        inside, outside = page.margins.outside, page.margins.inside
        return page.margins.model_copy(update={"inside": inside, "outside": outside})

    def length(self, points: float) -> str:
        return show_length(points, self.profile.unit)

    def area(self, width: float, height: float) -> str:
        return show_area(width, height, self.profile.unit)


def size(page: Page) -> tuple[float, float]:
    """Width and height of the trimmed page, in points."""
    return page.trim[2] - page.trim[0], page.trim[3] - page.trim[1]


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
    marks: Sequence[Mark] = ()


def mark(page: int, box: Box, text: str) -> Mark:
    """A mark; a box of no area is widened to a point that can be seen."""
    x0, y0, x1, y1 = box
    return Mark(page=page, box=(x0, y0, max(x1, x0 + 0.5), max(y1, y0 + 0.5)), text=text)
