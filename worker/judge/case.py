"""What every rule looks at: the facts, the profile, and what follows from both, worked out once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal, TypeVar

from worker.book import Book
from worker.judge.cut import MOST_BLEED, Border, Size, border_of, box_size, cut_of, holds_two, is_turned, spread_of
from worker.judge.mirroring import Leaf, Mirroring, mirroring
from worker.judge.models import Mark, Measured, Required, Weight
from worker.measure.models import Box, Image, Margins, Measurements, Page
from worker.profiles import Profile
from worker.profiles.models import Interior, PageCount, Trim
from worker.units import page_ranges, runs, show_area, show_length
from worker.words import comma, counted, told

MOST_MARKS = 12
ROUNDING = 0.05
"""Points by which a length may be off before it is accused: word processors round to a twip, a twentieth of a point,
and producers to a hundredth of their own unit (common practice, no source)."""
MOST_NAMES = 8
LONGEST_NAME = 60
MOST_RANGES = 8
"""A sentence with more page ranges than this says how many pages there are; the finding lists them all."""

Key = TypeVar("Key", int, float)
Apart = Literal["turned", "lying", "spread", "cover", "marks", "cropped"]


@dataclass(frozen=True)
class Case:
    """One book before one printer. The file has at least one page."""

    measurements: Measurements
    profile: Profile
    judged_as_pages: int
    book: Book | None = None
    """How the book is built; None where that was not read."""

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
    def borders(self) -> dict[int, Border]:
        """The pages without a TrimBox on media larger than a size on offer by a plain border."""
        known = ((page.page, border_of(page, self.interior)) for page in self.pages)
        return {number: border for number, border in known if border}

    @cached_property
    def _cuts(self) -> tuple[Box, ...]:
        return tuple(cut_of(page, self.interior, binding_at_left=self.is_recto(page)) for page in self.pages)

    def cut(self, page: Page) -> Box:
        """Where the page is cut, in its own coordinates."""
        return self._cuts[page.page - 1]

    def is_guessed(self, page: Page) -> bool:
        """Whether the page is cut elsewhere than where the file, as it stands, leaves its edge."""
        return self.cut(page) != page.trim

    def size(self, page: Page) -> Size:
        """Width and height of the page as it is meant to be cut, in points: of a turned one, without the turn."""
        return self._sizes[page.page - 1]

    @cached_property
    def _sizes(self) -> tuple[Size, ...]:
        upright = ((page, box_size(self.cut(page))) for page in self.pages)
        return tuple(size[::-1] if is_turned(page, self.interior) else size for page, size in upright)

    @cached_property
    def usual_size(self) -> Size:
        """Width and height of most trimmed pages, in points: those of the first page of that size.

        Where two sizes are as frequent, the one on offer: a single page beside its cover does not take the cover's.
        """
        sizes = self._sizes
        rounded = [(round(width, 1), round(height, 1)) for width, height in sizes]
        counts = Counter(rounded)
        first = max(counts, key=lambda key: (counts[key], self.interior.trim_near(*key) is not None))
        return sizes[rounded.index(first)]

    def is_usual(self, page: Page) -> bool:
        """Whether the page is of the usual size, or of the same size on offer as it."""
        is_, usual = self.size(page), self.usual_size
        off = max(abs(is_[0] - usual[0]), abs(is_[1] - usual[1]))
        return off <= self.interior.trim_tolerance + ROUNDING or (
            self.trim is not None and self.interior.trim_near(*is_) is self.trim
        )

    @cached_property
    def spread(self) -> Trim | None:
        """The printer's size of which the usual page of this file holds two, side by side."""
        return spread_of(self.usual_size, self.interior)

    @cached_property
    def apart(self) -> dict[int, Apart]:
        """Pages whose inside, outside, head and foot are not where those of the others are, and why."""
        known = ((page.page, self._apart(page)) for page in self.pages)
        return {number: why for number, why in known if why}

    def _apart(self, page: Page) -> Apart | None:
        if is_turned(page, self.interior):
            return "turned"
        if self.is_guessed(page) and "trim" in page.declared:
            return "cropped"
        border = self.borders.get(page.page)
        if border and border.amount > MOST_BLEED and self.is_guessed(page):
            return "marks"
        return None if self.is_usual(page) else self._apart_by_size(page)

    def _apart_by_size(self, page: Page) -> Apart | None:
        (width, height), usual = self.size(page), self.usual_size
        wide = width >= 2 * usual[0] - ROUNDING and -ROUNDING <= height - usual[1] <= 2 * MOST_BLEED
        if wide and page.page in (1, len(self.pages)):
            return "cover"
        if holds_two((width, height), usual):
            return "spread"
        lies = (width > height) != (usual[0] > usual[1]) and width != height
        return "lying" if lies else None

    @cached_property
    def standing_pages(self) -> tuple[Page, ...]:
        """The pages whose content is known and whose edges are where those of a page of this book are."""
        return tuple(page for page in self.read_pages if page.page not in self.apart)

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

    @property
    def sides(self) -> dict[str, object]:
        """Where the odd and the even pages of the file lie, in words: a book bound on the right opens on the left."""
        odd, even = ("left", "right") if self.bound_on_the_right else ("right", "left")
        return {"odd_side": told(f"units.sides.{odd}"), "even_side": told(f"units.sides.{even}")}

    @cached_property
    def margins(self) -> tuple[tuple[Page, Margins], ...]:
        """The margins of every page with text, as it is bound and cut here."""
        return tuple((page, self._as_bound(page, page.margins)) for page in self.standing_pages if page.margins)

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

    def on_pages(self, pages: Iterable[int]) -> str:
        """Pages within a sentence; all of them are said to be all."""
        numbers = set(pages)
        return told("units.on-pages.all") if len(numbers) == len(self.pages) > 1 else on_pages(numbers)

    def _as_bound(self, page: Page, margins: Margins) -> Margins:
        trim, (x0, y0, x1, y1) = page.trim, self.cut(page)
        left, right = margins.inside, margins.outside
        if page.side == "verso":
            left, right = right, left
        left, right = left - (x0 - trim[0]), right - (trim[2] - x1)
        inside, outside = (left, right) if self.is_recto(page) else (right, left)
        head, foot = margins.head - (trim[3] - y1), margins.foot - (y0 - trim[1])
        return Margins(inside=inside, outside=outside, head=head, foot=foot)


def _is_full(page: Page) -> bool:
    """Whether the text is wide enough to show where its block stands: a title in the middle of a page is not."""
    return page.text is not None and page.text[2] - page.text[0] >= box_size(page.trim)[0] / 2


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


def some_of(names: Sequence[str]) -> str:
    """Names within a sentence, the first few of them where they are many, none of them long."""
    first = comma(name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…" for name in names[:MOST_NAMES])
    return told("units.lists.more", names=first, count=len(names) - MOST_NAMES) if len(names) > MOST_NAMES else first


def among(key: str, count: int) -> str:
    """A part that says among how many the worst was found; nothing where it is the only one."""
    return "" if count == 1 else counted(key, count)


def worst_first(figures: dict[int, Key]) -> list[int]:
    """Page numbers by their figure, least first, then by page."""
    return sorted(figures, key=lambda page: (figures[page], page))


def on_pages(pages: Iterable[int]) -> str:
    """Pages within a sentence: ``page 3``, ``pages 3, 5–6``, or how many where they are too many to tell."""
    numbers = sorted(set(pages))
    if len(runs(numbers)) > MOST_RANGES:
        return counted("units.so-many-pages", len(numbers))
    return counted("units.on-pages", len(numbers), pages=page_ranges(numbers))
