"""What one printer accepts, as data. Lengths are points that remember how they were written.

A key that is left out asks nothing: its value is then None (or an empty list).
"""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any, Literal, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    PlainValidator,
    StrictBool,
    StrictInt,
    StringConstraints,
    WithJsonSchema,
    model_validator,
)

from worker.profiles.nearest import one_of
from worker.rules import RULES
from worker.units import Length, Unit, parse_size, show_size

LONGEST_LIST = 200
HIGHEST_COUNT = 1_000_000

PDF_VERSIONS = ("1.0", "1.1", "1.2", "1.3", "1.4", "1.5", "1.6", "1.7", "2.0")
# GTS_PDFXVersion and GTS_PDFXConformance of ISO 15930-1, -3, -4, -6, -7, -8 and -9.
PDFX_LEVELS = (
    *("PDF/X-1:2001", "PDF/X-1a:2001", "PDF/X-1a:2003", "PDF/X-3:2002", "PDF/X-3:2003"),
    *("PDF/X-4", "PDF/X-4p", "PDF/X-5g", "PDF/X-5pg", "PDF/X-5n", "PDF/X-6", "PDF/X-6p", "PDF/X-6n"),
)


def _length(value: Any) -> Length:
    if isinstance(value, Length):
        return value
    if not isinstance(value, str):
        raise ValueError('must be a length in quotes with its unit, as in "0.5 in"')
    return Length.parse(value)


def _positive_length(value: Any) -> Length:
    length = _length(value)
    if length <= 0:
        raise ValueError("must be longer than nothing")
    return length


def _length_or_nought(value: Any) -> Length:
    length = _length(value)
    if length < 0:
        raise ValueError("must not be negative")
    return length


def _size(value: Any) -> int:
    if not isinstance(value, str):
        raise ValueError('must be a file size in quotes with its unit, as in "400 MB"')
    return parse_size(value)


def _exact_size(count: int) -> str:
    shown = show_size(count)
    return shown if parse_size(shown) == count else f"{count} B"


def _printable(value: Any) -> Any:
    if isinstance(value, str) and not value.replace("\n", "").isprintable():
        raise ValueError("must not hold control characters")
    return value


_AS_WRITTEN = PlainSerializer(lambda length: length.text, return_type=str)
_LENGTH_SCHEMA = WithJsonSchema(
    {"type": "string", "pattern": r"^[+-]?(\d+\.?\d*|\.\d+) ?(in|mm|pt)$", "examples": ["0.5 in", "12.7 mm"]}
)

Distance = Annotated[Length, PlainValidator(_length_or_nought), _AS_WRITTEN, _LENGTH_SCHEMA]
"""A length of nothing or more, written with its unit."""
Side = Annotated[Length, PlainValidator(_positive_length), _AS_WRITTEN, _LENGTH_SCHEMA]
"""A length of more than nothing, written with its unit."""
FileSize = Annotated[
    int,
    PlainValidator(_size),
    PlainSerializer(_exact_size, return_type=str),
    WithJsonSchema({"type": "string", "pattern": r"^\d+(\.\d*)? ?([kMG]?B|[KMG]iB)$", "examples": ["400 MB"]}),
]
Count = Annotated[StrictInt, Field(ge=0, le=HIGHEST_COUNT)]
AtLeastOne = Annotated[StrictInt, Field(ge=1, le=HIGHEST_COUNT)]
Amount = Annotated[float, Field(strict=True, gt=0, le=100_000, allow_inf_nan=False)]
Percent = Annotated[float, Field(strict=True, ge=0, le=1_000, allow_inf_nan=False)]
Text = Annotated[
    str,
    BeforeValidator(_printable),
    StringConstraints(strict=True, strip_whitespace=True, min_length=1, max_length=200),
]
Note = Annotated[
    str, BeforeValidator(_printable), StringConstraints(strict=True, strip_whitespace=True, max_length=2_000)
]
Id = Annotated[str, StringConstraints(strict=True, pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=64)]
PdfVersion = Annotated[str, StringConstraints(strict=True), one_of(PDF_VERSIONS)]
PdfxLevel = Annotated[str, StringConstraints(strict=True), one_of(PDFX_LEVELS)]
RuleId = Annotated[str, StringConstraints(strict=True), one_of(RULES, what="rule")]

BindingEdge = Literal["left", "right"]
WeightOrOff = Literal["refusal", "spoilage", "polish", "off"]


class Asked(BaseModel):
    """A part of a profile: plain, unchanging, and strict about its keys."""

    model_config = ConfigDict(frozen=True, extra="forbid")


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


class Images(Asked):
    """Effective resolution in pixels an inch: below ``least_ppi`` a refusal, below ``wanted_ppi`` spoilage."""

    least_ppi: Amount | None = None
    wanted_ppi: Amount | None = None
    line_art_ppi: Amount | None = None
    most_ppi: Amount | None = None

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        steps = [(name, value) for name in ("least_ppi", "wanted_ppi", "most_ppi") if (value := getattr(self, name))]
        for (lower, less), (higher, more) in pairwise(steps):
            if less > more:
                raise ValueError(f"{lower} ({less:g}) is more than {higher} ({more:g})")
        return self


class Colour(Asked):
    """``most_ink`` is the sum of all inks at one spot, in percent."""

    spaces: Annotated[tuple[Literal["gray", "cmyk", "rgb", "spot"], ...], Field(min_length=1, max_length=4)] | None = (
        None
    )
    most_ink: Percent | None = None
    least_rule: Side | None = None
    transparency: StrictBool | None = None


class Blanks(Asked):
    """``longest_run`` is inside the book, ``end`` at its end; ``first``: may page 1 be blank."""

    longest_run: Count | None = None
    first: StrictBool | None = None
    end: Count | None = None


class Links(Asked):
    allowed: StrictBool | None = None


class FileAsked(Asked):
    """``pdf_versions`` is the least and the most; any one of ``pdfx`` is enough."""

    pdf_versions: tuple[PdfVersion, PdfVersion] | None = None
    pdfx: Annotated[tuple[PdfxLevel, ...], Field(max_length=len(PDFX_LEVELS))] = ()
    most_bytes: FileSize | None = None
    encryption: StrictBool | None = None

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.pdf_versions is not None and self.pdf_versions[0] > self.pdf_versions[1]:
            raise ValueError("pdf_versions must give the least first and the most second")
        return self


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
    """``extra`` is what the cover adds to the thickness of the book block; ``tolerance``: how far the width may be off."""

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


class Profile(Asked):
    """What one printer accepts. ``unit`` is how lengths are shown to people."""

    id: Id
    name: Text
    revision: Annotated[str, BeforeValidator(_printable), StringConstraints(strict=True, min_length=1, max_length=40)]
    unit: Unit
    note: Note | None = None
    interior: Interior
    paper: Paper | None = None
    cover: Cover | None = None
    weights: dict[RuleId, WeightOrOff] = {}


def _distance(trim: Trim, width: float, height: float) -> float:
    return max(abs(trim.width - width), abs(trim.height - height))
