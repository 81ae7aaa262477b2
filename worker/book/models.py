"""How a book is built, as far as it is read from its measurements. No opinion, no profile.

Lengths are points. Distances are from the trimmed edge. ``None``: it has none, or none shows.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from worker.measure.models import BindingEdge, Box, Fact

Numerals = Literal["arabic", "roman", "roman-capitals"]
Edge = Literal["head", "foot", "side"]
Position = Literal["inside", "centre", "outside"]
Part = Literal["front", "body", "back"]
PageKind = Literal[
    "text", "opening", "part", "contents", "list", "half-title", "title", "imprint", "dedication", "plate", "blank"
]
"""``text`` is also what no other word fits; a ``plate`` shows pictures and no more text than a caption."""
OpeningSign = Literal["size", "style", "sinkage", "white-space", "number", "new-page", "contents", "outline"]


class EdgeOfBlock(Fact):
    """One edge: where the block usually stands, how far ink hangs out of it, and the ink nearest to the trim."""

    usual: float
    hang: float
    worst: float


class RunningLine(Fact):
    """The running heads or folios that stand in one margin: their edges towards the trim, and their type size."""

    usual: float
    worst: float
    size: float


class TextBlock(Fact):
    """The frame that the text stands in: its left and right edges on odd and on even pages, its head and foot.

    Edges are None in a book without text; ``header`` and ``footer`` are None where none repeats.
    """

    odd_left: EdgeOfBlock | None = None
    odd_right: EdgeOfBlock | None = None
    even_left: EdgeOfBlock | None = None
    even_right: EdgeOfBlock | None = None
    head: EdgeOfBlock | None = None
    foot: EdgeOfBlock | None = None
    header: RunningLine | None = None
    footer: RunningLine | None = None

    def odd_inside(self, bound_at: BindingEdge) -> EdgeOfBlock | None:
        """The inside edge of odd pages, the first page being one that opens the book."""
        return self.odd_left if bound_at == "left" else self.odd_right

    def odd_outside(self, bound_at: BindingEdge) -> EdgeOfBlock | None:
        """The outside edge of odd pages."""
        return self.odd_right if bound_at == "left" else self.odd_left

    def inside(self, bound_at: BindingEdge) -> EdgeOfBlock | None:
        """The inside edge for all pages: the nearest of odd and even ones."""
        return _nearest(self.odd_inside(bound_at), self.even_right if bound_at == "left" else self.even_left)

    def outside(self, bound_at: BindingEdge) -> EdgeOfBlock | None:
        """The outside edge for all pages."""
        return _nearest(self.odd_outside(bound_at), self.even_left if bound_at == "left" else self.even_right)


class Folio(Fact):
    """The page number printed on a page. ``text`` is as printed, dashes and words around it left out."""

    text: str
    value: int
    numerals: Numerals
    box: Box
    edge: Edge
    position: Position


class RunningHead(Fact):
    """The line that runs above (or below) the text of many pages, without the folio."""

    text: str
    box: Box
    edge: Edge
    position: Position


class BookPage(Fact):
    """What one page is in the book. ``box`` and baselines are of its text less folio and running head.

    ``counted`` is the number that the page has in the count, printed or not; None where no folio near it tells.
    ``expected``: of a blank, whether a convention asks for it (the verso before an opening on a recto); None where
    conventions differ.
    """

    page: int
    part: Part
    kind: PageKind
    folio: Folio | None = None
    counted: str | None = None
    head: RunningHead | None = None
    box: Box | None = None
    first_baseline: float | None = None
    last_baseline: float | None = None
    starts_with_text: bool = False
    ends_with_text: bool = False
    """Whether the first and the last line are set as the text of the book is: not as a heading, a note or a table."""
    expected: bool | None = None


class Opening(Fact):
    """Where a part or a chapter starts. ``number`` is its numbering as printed (``Chapter 3``, ``III``), if any.

    ``sinkage`` is the distance from the trimmed head to the first baseline of the heading. ``signs`` are what it was
    known by.
    """

    page: int
    kind: Literal["part", "chapter"]
    title: str
    number: str | None = None
    box: Box
    sinkage: float
    size: float
    signs: tuple[OpeningSign, ...]


class ContentsEntry(Fact):
    """One entry. ``page`` and ``box`` are where it stands in the contents, ``number`` as printed.

    ``target`` is the page of the file that bears this folio; ``heading`` the page where such a heading stands. None:
    there is none.
    """

    page: int
    box: Box
    text: str
    level: int
    number: str
    target: int | None = None
    heading: int | None = None


class ContentsList(Fact):
    """The contents, or a list of figures or tables, over one or more pages."""

    kind: Literal["contents", "list"]
    title: str | None
    pages: tuple[int, ...]
    entries: tuple[ContentsEntry, ...]


class Stranded(Fact):
    """A line that stands alone: a paragraph's last at the head of a page (widow), its first at the foot (orphan)."""

    page: int
    kind: Literal["widow", "orphan"]
    box: Box
    text: str


class Grid(Fact):
    """The lines of a full page: ``leading`` from one baseline to the next, and the usual first and last baseline,
    from the trimmed head and foot."""

    leading: float
    head: float
    foot: float


class Stretch(Fact):
    """Pages whose text flows on from the first to the last, as those of a chapter; plates among them are not counted.

    Depths are lines of a full page. ``text`` lines are set as the text of the book is; ``other`` is the depth of all
    else: headings and the white above them, notes, pictures. ``left``: what pages leave free at the foot on average.
    """

    first: int
    last: int
    text: int
    other: float
    left: float


class Flow(Fact):
    """What tells how many pages the text takes in another frame.

    ``lines`` stand on a full page. ``paragraphs`` are so many of each length: of none, of up to 1/20 of the measure, of
    up to 2/20, and so on.
    """

    size: float
    leading: float
    lines: float
    stretches: tuple[Stretch, ...] = ()
    paragraphs: tuple[int, ...] = ()


class Imprint(Fact):
    """The imprint page, and what is printed there."""

    page: int
    isbns: tuple[str, ...] = ()
    copyright: str | None = None
    edition: str | None = None
    """The line that tells the edition or the printing, where a word for it is known."""


class NotRead(Fact):
    """What could not be read of this book, and why."""

    what: Literal["folios", "running-heads", "openings", "contents", "front-matter", "grid", "paragraphs"]
    why: str


class Book(Fact):
    """What was read of how the book is built."""

    block: TextBlock
    grid: Grid | None = None
    folios: dict[int, str] = Field(default_factory=dict)
    """The folio that each page of the file prints, of those that print one."""
    pages: tuple[BookPage, ...] = ()
    openings: tuple[Opening, ...] = ()
    contents: tuple[ContentsList, ...] = ()
    title: str | None = None
    """As the title page has it."""
    imprint: Imprint | None = None
    stranded: tuple[Stranded, ...] = ()
    flow: Flow | None = None
    not_read: tuple[NotRead, ...] = ()


def _nearest(odd: EdgeOfBlock | None, even: EdgeOfBlock | None) -> EdgeOfBlock | None:
    if odd is None or even is None:
        return odd or even
    return EdgeOfBlock(
        usual=min(odd.usual, even.usual), hang=max(odd.hang, even.hang), worst=min(odd.worst, even.worst)
    )
