"""What one printer accepts, as data: the interior, and the profile as a whole.

A key that is left out asks nothing: its value is then None (or an empty list).
"""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, StrictBool, WithJsonSchema, model_validator

from worker.profiles.asked import Asked, Colour, FileAsked, Images
from worker.profiles.cover import Cover, Paper
from worker.profiles.fields import (
    LONGEST_LIST,
    AtLeastOne,
    BindingEdge,
    Count,
    Distance,
    Id,
    Note,
    Revision,
    RuleId,
    Side,
    Text,
    WeightOrOff,
    at_most,
)
from worker.rules import RULES
from worker.units import Length, Unit


class PageCount(Asked):
    """How many pages a book may have."""

    least: AtLeastOne | None = None
    most: AtLeastOne | None = None
    multiple: AtLeastOne | None = None

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.least is not None and self.most is not None and self.least > self.most:
            raise ValueError(f"least ({self.least}) is more than most ({self.most})")
        return self

    def replaced_by(self, own: PageCount) -> PageCount:
        """This page count with ``own`` in its place, key by key. It may come out with least above most."""
        return PageCount.model_construct(
            least=self.least if own.least is None else own.least,
            most=self.most if own.most is None else own.most,
            multiple=self.multiple if own.multiple is None else own.multiple,
        )


class Trim(Asked):
    """One page size that the printer cuts to, in points."""

    name: Text | None = None
    width: Side
    height: Side
    page_count: PageCount = PageCount()


class Bleed(Asked):
    """Whether ink may, must or must not run past the trimmed edge, and how far."""

    use: Literal["never", "allowed", "always"]
    amount: Side | None = None


class InsideStep(Asked):
    """The inside margin up to and including so many ``pages``; None: without limit."""

    pages: AtLeastOne | None = None
    least: Distance


class Margins(Asked):
    """Least distances from the trimmed edge to the ink of any text."""

    outside: Distance | None = None
    head: Distance | None = None
    foot: Distance | None = None
    inside: Annotated[tuple[InsideStep, ...], Field(max_length=LONGEST_LIST)] = ()

    @model_validator(mode="after")
    def _ascending(self) -> Self:
        if not self.inside:
            return self
        *limited, last = self.inside
        if last.pages is not None:
            raise ValueError("the last step of inside must have no pages, so that it holds for every longer book")
        limits = [step.pages for step in limited]
        if None in limits:
            raise ValueError("only the last step of inside may leave out pages")
        if any(later <= earlier for earlier, later in pairwise(limits) if earlier and later):
            raise ValueError("the steps of inside must go up in pages")
        return self

    def inside_at(self, pages: int) -> Length | None:
        """The least inside margin of a book of so many pages, in points; None where none is asked."""
        return next((step.least for step in self.inside if step.pages is None or pages <= step.pages), None)


class TypeAsked(Asked):
    embedded: StrictBool | None = None
    least_size: Side | None = None


class Blanks(Asked):
    """``longest_run`` is inside the book, ``end`` at its end; ``first``: may page 1 be blank."""

    longest_run: Count | None = None
    first: StrictBool | None = None
    end: Count | None = None


class Links(Asked):
    allowed: StrictBool | None = None


class Interior(Asked):
    """The inside of the book."""

    binding_edge: BindingEdge = "left"
    trims: Annotated[tuple[Trim, ...], Field(min_length=1, max_length=LONGEST_LIST)]
    # Half a millimetre takes 6.69 × 9.61 in for 170 × 244 mm and keeps 138 × 216 mm from 5.5 × 8.5 in
    # (common practice, no source).
    trim_tolerance: Annotated[Distance, WithJsonSchema({"type": "string", "default": "0.5 mm"})] = Field(
        default_factory=lambda: Length.parse("0.5 mm")
    )
    page_count: PageCount = PageCount()
    bleed: Bleed | None = None
    margins: Margins
    type: TypeAsked = TypeAsked()
    images: Images = Images()
    colour: Colour = Colour()
    blanks: Blanks = Blanks()
    links: Links = Links()
    file: FileAsked = FileAsked()

    @model_validator(mode="after")
    def _trims_possible(self) -> Self:
        for number, trim in enumerate(self.trims, start=1):
            count = self.page_count_of(trim)
            if count.least is not None and count.most is not None and count.least > count.most:
                raise ValueError(f"trim {number} asks for at least {count.least} pages and at most {count.most}")
        return self

    def page_count_of(self, trim: Trim | None) -> PageCount:
        """The page count that holds for ``trim``: the general one, with the trim's own in its place key by key."""
        return self.page_count if trim is None else self.page_count.replaced_by(trim.page_count)

    def trim_near(self, width: float, height: float) -> Trim | None:
        """The trim that a page of this size (points) is, within the tolerance; the closest where several are."""
        trim = self.closest_trim(width, height)
        return trim if _distance(trim, width, height) <= self.trim_tolerance + 1e-6 else None

    def closest_trim(self, width: float, height: float) -> Trim:
        """The trim closest to a page of this size (points), however far from it."""
        return min(self.trims, key=lambda trim: _distance(trim, width, height))


class Profile(Asked):
    """What one printer accepts. ``unit`` is how lengths are shown to people."""

    id: Id
    name: Text
    revision: Revision
    unit: Unit
    note: Note | None = None
    interior: Interior
    paper: Paper | None = None
    cover: Cover | None = None
    weights: Annotated[dict[RuleId, WeightOrOff], at_most(len(RULES))] = Field(default_factory=dict)


def _distance(trim: Trim, width: float, height: float) -> float:
    return max(abs(trim.width - width), abs(trim.height - height))
