"""What is known of one PDF: facts, no opinion, no profile.

Lengths are points (1/72 in). Boxes are ``(x0, y0, x1, y1)`` as a reader sees the page (Rotate and UserUnit
applied): x to the right, y up, origin at the lower-left corner of the trimmed page. Pages count from 1.
``None`` means "there is none" or "not known", never "no".
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, PlainSerializer

SCHEMA = "pressworthy.measurements/1"

PLACES = 4
"""Decimals of a length that are kept."""

Points = Annotated[float, PlainSerializer(lambda value: round(value, PLACES), return_type=float)]
Box = tuple[Points, Points, Points, Points]
Side = Literal["recto", "verso"]
BindingEdge = Literal["left", "right"]
BoxName = Literal["media", "crop", "bleed", "trim", "art"]
FontKind = Literal["type1", "cff", "truetype", "type3", "cid-cff", "cid-truetype"]
LinkKind = Literal["uri", "goto", "gotor", "launch", "named", "javascript", "other"]
PageColour = Literal["gray", "rgb-gray", "rgb", "cmyk", "spot", "lab", "registration"]
MarkKind = Literal["text", "drawing", "picture"]
Transparency = Literal["alpha", "blend", "soft-mask", "group"]
"""How marks are seen through (ISO 32000-1 11): an alpha below 1, a blend mode, a soft mask; or a group that could be,
which is composited as a whole whatever is in it."""


class Fact(BaseModel):
    """A plain, unchanging piece of data that may cross a process border."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class File(Fact):
    name: str
    sha256: str
    bytes: int


class Unreadable(Fact):
    """Why no reader can open the file: its pages are then unknown."""

    reason: Literal["damaged", "password"]
    detail: str


class OutputIntent(Fact):
    """One entry of the catalogue's OutputIntents (ISO 32000-1 14.11.5)."""

    subtype: str
    condition: str | None = None
    registry: str | None = None
    profile_embedded: bool = False
    profile_components: int | None = None
    profile_class: str | None = None
    """The embedded profile's own device class (ICC.1 7.2.5): ``prtr`` for one of a printing condition."""


class Place(Fact):
    """Somewhere on a page."""

    page: int
    box: Box


class ActiveContent(Fact):
    """One kind of thing that does something by itself, and where. A link's way to a page or an address is none."""

    what: str
    """The standard's name of an action (ISO 32000-1 12.6.4), an annotation's type (12.5.6), ``XFA``, or ``other``."""
    pages: tuple[int, ...] = ()
    """Empty for what belongs to the file as a whole."""
    places: tuple[Place, ...] = ()
    """The first few, of those that have a place on a page."""


class PdfxFacts(Fact):
    """What ISO 15930 asks of a file's dictionaries, as they say it, beside what is measured anyway."""

    in_info: str | None = None
    """GTS_PDFXVersion of the Info dictionary, where PDF/X-1a and PDF/X-3 bear it."""
    conformance: str | None = None
    """GTS_PDFXConformance of the Info dictionary: PDF/X-1a:2001 alone has it."""
    in_xmp: str | None = None
    """GTS_PDFXVersion of the XMP, where PDF/X-4 and later bear it."""
    trapped: Literal["True", "False", "Unknown"] | None = None
    created: bool = False
    modified: bool = False
    """Whether the file says when it was made and changed."""
    identifier: bool = False
    """The trailer's ID."""
    object_streams: bool = False
    """Objects or the cross-reference table are kept in streams, as from PDF 1.5 on."""


class Bookmark(Fact):
    """An entry of the document outline. ``level`` counts from 0; ``page``: None where it leads to none of the file."""

    level: int
    title: str
    page: int | None


class Document(Fact):
    pages: int
    pdf_version: str | None = None
    encrypted: bool = False
    repaired: bool = False
    repairs: tuple[str, ...] = ()
    """What had to be mended to read the file, in the reader's words; empty for a sound file."""
    unreadable: Unreadable | None = None
    producer: str | None = None
    creator: str | None = None
    title: str | None = None
    author: str | None = None
    pdfx: str | None = None
    pdfx_facts: PdfxFacts = PdfxFacts()
    output_intents: tuple[OutputIntent, ...] = ()
    layers: tuple[str, ...] = ()
    javascript: bool = False
    active: tuple[ActiveContent, ...] = ()
    """What acts by itself; embedded files and form fields are counted beside it."""
    embedded_files: int = 0
    form_fields: int = 0
    binding_edge: BindingEdge = "left"
    outline: tuple[Bookmark, ...] = ()


class MissingGlyphs(Fact):
    """Shown glyphs that the font has not: glyph 0 stands in their place, a box, or nothing where a letter is meant."""

    count: int
    pages: tuple[int, ...]
    places: tuple[Place, ...]
    """The first on each of the first few pages."""
    letters: tuple[str, ...] = ()
    """The letters that are meant, as far as the file tells them."""


class Font(Fact):
    """A font that paints at least one glyph. ``sizes`` are effective: after every matrix and UserUnit."""

    name: str
    kind: FontKind
    embedded: bool
    subset: bool
    restricted: bool | None = None
    """The font program's own fsType forbids embedding, or embedding as it was done; None where it does not say."""
    pages: tuple[int, ...]
    sizes: tuple[Points, Points]
    places: tuple[Place, ...] = ()
    """Where it is first seen on the first few of its pages."""
    missing: MissingGlyphs | None = None


class Image(Fact):
    """One placement of one picture. ``ppi`` is along the picture's own axes, through every matrix."""

    page: int
    box: Box
    pixels: tuple[int, int]
    ppi: tuple[float, float]
    mask_ppi: tuple[float, float] | None = None
    """Set where a mask finer than the picture carries the detail; ``ppi`` is then the mask's too."""
    colour: str
    bits: int
    filter: str | None = None
    line_art: bool = False
    """1-bit pictures, and stencils that are more than a rule."""
    ink: float | None = None
    """Of a picture in CMYK the highest sum of its four inks, in percent, seen at about 72 pixels an inch; None where it
    was not looked into."""


class Link(Fact):
    page: int
    box: Box
    kind: LinkKind
    target: str | None = None


class Annotation(Fact):
    page: int
    box: Box
    kind: str


@dataclass(frozen=True, slots=True)
class Line:
    """A line of printed text, in reading order. ``size`` is the effective size of most of its glyphs.

    A plain dataclass, its lengths rounded when it is made: a long book has tens of thousands, which cross a process
    border and are written, and a call for each length would be most of the writing.
    """

    box: tuple[float, float, float, float]
    baseline: float
    text: str
    font: str
    size: float

    def __reduce__(self) -> tuple[type[Line], tuple[object, ...]]:
        return Line, (self.box, self.baseline, self.text, self.font, self.size)


class Margins(Fact):
    """From the trimmed edge to the nearest ink of text; negative where text passes the edge."""

    inside: Points
    outside: Points
    head: Points
    foot: Points


class Reach(Fact):
    """How far past each trimmed edge the ink goes that touches it (within 0.5 pt) or crosses it.

    None where no ink does. Of several marks that reach one edge the shortest counts; marks that lie wholly
    outside the trimmed page (a printer's crop marks) do not. Cut to the media.
    """

    left: Points | None = None
    right: Points | None = None
    head: Points | None = None
    foot: Points | None = None


class ColourPlace(Fact):
    """A colour that is not simply grey, and the first of its marks that touch the trimmed page."""

    colour: PageColour
    of: MarkKind
    box: Box
    inks: tuple[str, ...] = ()
    """The spot colours, by the names that the file gives them."""


class InkPlace(Fact):
    """The heaviest ink of one kind of mark within the trimmed page, in percent, where it is more than one full ink."""

    of: MarkKind
    percent: float
    box: Box
    inks: dict[str, float] = {}
    """What it is made of, in percent; empty for a picture, whose colours differ from pixel to pixel."""
    bound: bool
    """Other marks lie there too, or parts of it are not seen: there may be more ink (where they overprint or are seen
    through), or less (where it is covered)."""


class MixedText(Fact):
    """Text in a colour of several inks, or in registration colour."""

    inks: dict[str, float]
    """Percent of each."""
    registration: bool = False
    sizes: tuple[Points, Points]
    """Least and most effective size."""
    box: Box
    """The first in the least size."""


class TransparencyPlace(Fact):
    """The first mark on the page that is seen through in this way."""

    kind: Transparency
    box: Box


class Page(Fact):
    page: int
    side: Side
    media: Box
    crop: Box
    bleed: Box
    trim: Box
    art: Box
    declared: tuple[BoxName, ...]
    beyond_media: dict[BoxName, Box] = {}
    """As written, the declared boxes that reach beyond the media; above they are cut to it (ISO 32000-1 14.11.2.1).
    One that lies wholly outside counts as not declared above."""
    rotate: int
    user_unit: float
    blank: bool
    ink: Box | None
    text: Box | None
    margins: Margins | None
    smallest_type: Points | None
    smallest_type_box: Box | None = None
    thinnest_rule: Points | None
    colours: tuple[PageColour, ...]
    most_ink: float | None
    """Highest sum of C, M, Y, K and spot inks in percent that any one mark asks for; None on a blank page, and where
    all that is on it is in RGB or Lab, whose inks the printer's conversion decides."""
    transparency: bool
    thinnest_rule_box: Box | None = None
    coloured: tuple[ColourPlace, ...] = ()
    """Where each colour that is not simply grey is first seen; nothing that lies wholly beside the trimmed page."""
    ink_places: tuple[InkPlace, ...] = ()
    mixed_text: tuple[MixedText, ...] = ()
    transparency_places: tuple[TransparencyPlace, ...] = ()
    """The first of each kind."""
    reach: Reach
    lines: tuple[Line, ...] = ()
    unread: str | None = None
    """Why this page could not be read; its other facts then hold only for its boxes."""


class Measurements(Fact):
    """All facts of one file. ``reader`` changes whenever the same bytes could measure otherwise."""

    schema_: Literal["pressworthy.measurements/1"] = Field(default="pressworthy.measurements/1", alias="schema")
    reader: str
    file: File
    document: Document
    fonts: tuple[Font, ...] = ()
    images: tuple[Image, ...] = ()
    links: tuple[Link, ...] = ()
    annotations: tuple[Annotation, ...] = ()
    pages: tuple[Page, ...] = ()

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True, serialize_by_alias=True)
