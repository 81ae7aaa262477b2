"""The papers of the interior, and what a printer asks of a cover."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, StrictBool, model_validator

from worker.profiles.asked import Asked, Colour, FileAsked, Images
from worker.profiles.fields import LONGEST_LIST, Amount, AtLeastOne, Distance, Side, Text
from worker.units import Length


class Stock(Asked):
    """A paper. Thickness is told by ``bulk`` (cm³/g) or by ``caliper``; ``grammage`` is g/m² (ISO 536, ISO 534)."""

    name: Text
    grammage: Amount
    bulk: Amount | None = None
    caliper: Side | None = None

    @model_validator(mode="after")
    def _thickness_known(self) -> Self:
        if (self.bulk is None) == (self.caliper is None):
            raise ValueError("a stock has either bulk or caliper")
        return self

    @property
    def thickness(self) -> Length:
        """Of one leaf, in points: the caliper, or grammage × bulk, which is in micrometres (ISO 534)."""
        if self.caliper is not None:
            return self.caliper
        return Length.parse(f"{self.grammage * (self.bulk or 0) / 1000:.6f} mm")


class Paper(Asked):
    """The papers of the interior."""

    stocks: Annotated[tuple[Stock, ...], Field(min_length=1, max_length=LONGEST_LIST)]

    @model_validator(mode="after")
    def _names_differ(self) -> Self:
        names = [stock.name for stock in self.stocks]
        if len(set(names)) < len(names):
            raise ValueError("two stocks have the same name")
        return self


class Wrap(Asked):
    """How the cover goes round the book.

    ``paper``: one sheet, back, spine and front. ``case``: a sheet round boards, which stand out past the book
    block by ``square``, are set off from the spine by ``joint`` and are turned in by ``turn_in``.
    """

    kind: Literal["paper", "case"]
    tolerance: Distance | None = None
    board: Side | None = None
    square: Distance | None = None
    joint: Distance | None = None
    turn_in: Distance | None = None

    @model_validator(mode="after")
    def _boards_in_a_case(self) -> Self:
        if self.kind == "paper":
            given = [name for name in ("board", "square", "joint", "turn_in") if getattr(self, name) is not None]
            if given:
                raise ValueError(f'{given[0]} belongs to a wrap of kind "case"')
        return self


class Spine(Asked):
    """``extra`` is what the cover adds to the thickness of the book block; ``tolerance``: how far it may be off."""

    extra: Distance | None = None
    tolerance: Distance | None = None


class SpineText(Asked):
    """When a spine may carry text, how far it keeps from the folds and which way it runs."""

    least_pages: AtLeastOne | None = None
    least_width: Side | None = None
    clearance: Distance | None = None
    direction: Literal["down", "up"] | None = None


class Barcode(Asked):
    """``box``: where the printer puts its own or wants the symbol, as a size; ``clear`` keeps from trim and spine."""

    required: StrictBool | None = None
    width: Side | None = None
    height: Side | None = None
    clear: Distance | None = None


class Cover(Asked):
    """The cover as one flat sheet."""

    wrap: Wrap | None = None
    bleed: Side | None = None
    margin: Distance | None = None
    """Least distance from the trimmed edges and the folds to the ink of any text."""
    spine: Spine = Spine()
    spine_text: SpineText = SpineText()
    barcode: Barcode = Barcode()
    images: Images = Images()
    colour: Colour = Colour()
    file: FileAsked = FileAsked()
