"""Flaws: what makes one thing wrong in a sound design, the rule that has to find it, and on which pages.

Where a flaw lies is told by Typst's own layout, or by how the book was asked to be set; never by our reading.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, NamedTuple

from tests.books.designs.by_typst import Design, Layout, Spot, layout

HEAD, LEADING, LOWEST = 66.0, 15.0, 578.7
"""Head margin of these designs, the distance from line to line, and where the last baseline of a page may stand at the
lowest, from the trimmed head; points."""


@dataclass(frozen=True)
class Flawed:
    """A design with one flaw: the rule that has to find it, and where."""

    design: Design
    rule: str
    pages: tuple[int, ...]


Spoil = Callable[[Design], Flawed]


class Flaw(NamedTuple):
    """What spoils a sound design, and which designs can be spoilt so."""

    spoil: Spoil
    fits: Callable[[Design], bool] = lambda _: True


def chapter_on_verso(sound: Design) -> Flawed:
    """Where chapters are kept to rectos, one (or the title of its part) is not."""
    design = sound.but(on_verso=(3,))
    return Flawed(design, "chapter-on-verso", (layout(design).openings[3] - ("part" in design.chapters[3]),))


def text_on_verso(sound: Design) -> Flawed:
    """The text starts facing the end of the front matter; where folios are printed all are on the wrong side."""
    design = sound.but(body_on="even")
    if sound.folio == "none":
        return Flawed(design, "chapter-on-verso", (layout(design).openings[0],))
    return Flawed(design, "folio-parity", tuple(numbered(design)))


def front_matter_counted(sound: Design) -> Flawed:
    """A start number that was never set."""
    places = layout(sound)
    return Flawed(sound.but(first_number=first_numbered(sound, places)), "first-folio", (places.openings[0],))


def numbered_from_two(sound: Design) -> Flawed:
    """A start number that is one too high."""
    design = sound.but(first_number=2)
    return Flawed(design, "folio-parity", tuple(numbered(design)))


def number_by_hand(sound: Design) -> Flawed:
    """Two figures swapped on a single page."""
    page = layout(sound).openings[1] + 1
    return Flawed(sound.but(wrong_folios={str(page): "97"}), "folio-order", (page,))


def numbers_stepping(by: int) -> Spoil:
    """The count is set anew within the book."""

    def flaw(sound: Design) -> Flawed:
        design = sound.but(restart={"3": by})
        return Flawed(design, "folio-order", (layout(design).openings[3],))

    return flaw


def on_contents(rule: str, **changed: Any) -> Spoil:
    """Something in the contents."""

    def flaw(sound: Design) -> Flawed:
        design = sound.but(**changed)
        return Flawed(design, rule, (layout(design).front["contents"],))

    return flaw


def sunk(chapter: int, by: float) -> Spoil:
    """An opening lower (higher) than the others: empty lines where space before the paragraph should be."""

    def flaw(sound: Design) -> Flawed:
        design = sound.but(lower={str(chapter): by})
        return Flawed(design, "sinkage", (layout(design).openings[chapter],))

    return flaw


def page_starts_lower(sound: Design) -> Flawed:
    """Ten points above the first line of a page that starts with a paragraph."""
    places = layout(sound)
    start = next(spot for spot in inner_starts(sound, places) if spot.y < HEAD + LEADING)
    return Flawed(sound.but(pushed=(start.name,)), "uneven-text-block", (start.page,))


def page_ends_early(sound: Design) -> Flawed:
    """A break by hand before a paragraph three to five lines above the foot."""
    places = layout(sound)
    start = next(
        spot
        for spot in inner_starts(sound, places)
        if 3 <= lines_from(spot) <= 5 and not {spot.page + 1, spot.page + 2} & set(places.openings)
    )
    return Flawed(sound.but(breaks=(start.name,)), "uneven-text-block", (start.page,))


def folio_on_blank(sound: Design) -> Flawed:
    chapter = after_blank(layout(sound))
    design = sound.but(folio_on_blank=(chapter,))
    return Flawed(design, "folio-on-blank", (layout(design).openings[chapter] - 1,))


def head_on_blank(sound: Design) -> Flawed:
    chapter = after_blank(layout(sound))
    design = sound.but(head_on_blank=(chapter,))
    return Flawed(design, "running-head", (layout(design).openings[chapter] - 1,))


def blank_inside(sound: Design) -> Flawed:
    """An empty page between two paragraphs; chapters then open on any side, lest others be added."""
    places = layout(sound)
    name = next(
        spot.name for spot in inner_starts(sound, places) if spot.page == places.openings[1] + 1 and spot.y > 200
    )
    design = sound.but(blanks=(name,), openings="any")
    return Flawed(design, "blank-run", (layout(design).starts[name].page - 1,))


def blanks_before(sound: Design) -> Flawed:
    """Two blanks too many before a chapter on a recto."""
    chapter = after_blank(layout(sound))
    design = sound.but(blanks_before=(chapter,))
    page = layout(design).openings[chapter]
    return Flawed(design, "blank-run", (page - 3, page - 2, page - 1))


def in_front(*parts: str) -> Callable[[Design], bool]:
    return lambda design: set(parts) <= set(design.front)


def front_order(first: str, second: str) -> Spoil:
    """``second`` is moved before ``first``, and found there."""

    def flaw(sound: Design) -> Flawed:
        order = [each for each in sound.front if each != second]
        order.insert(order.index(first), second)
        design = sound.but(front=tuple(order))
        return Flawed(design, "front-matter-order", (layout(design).front[second],))

    return flaw


def head_of_another(sound: Design) -> Flawed:
    page = inner_recto(sound)
    return Flawed(
        sound.but(wrong_heads={str(page): sound.chapters[0]["title"] or sound.chapters[0]["number"]}),
        "running-head",
        (page,),
    )


def head_of_other_side(sound: Design) -> Flawed:
    page = inner_recto(sound)
    return Flawed(sound.but(wrong_heads={str(page): sound.verso_head or sound.title}), "running-head", (page,))


def head_missing(sound: Design) -> Flawed:
    page = inner_recto(sound)
    return Flawed(sound.but(without_heads=(page,)), "running-head", (page,))


def head_over_opening(sound: Design) -> Flawed:
    page = layout(sound).openings[2]
    return Flawed(sound.but(heads_over=(page,)), "running-head", (page,))


def widows(sound: Design) -> Flawed:
    """The setting program no longer minds them."""
    design = sound.but(widows=True)
    return Flawed(design, "widow", stranded(layout(design), "widow"))


def orphans(sound: Design) -> Flawed:
    """The setting program no longer minds them."""
    design = sound.but(orphans=True)
    return Flawed(design, "orphan", stranded(layout(design), "orphan"))


def other_document_title(sound: Design) -> Flawed:
    return Flawed(sound.but(document_title="manuscript final 3"), "document-title", ())


def kept_to_rectos(design: Design) -> bool:
    return design.openings == "recto"


def leaves_blanks(design: Design) -> bool:
    """Blanks on which head and folio can be told from one another."""
    return kept_to_rectos(design) and design.folio != "head"


def with_folios(design: Design) -> bool:
    return design.folio != "none"


def with_heads(design: Design) -> bool:
    return design.heads


def with_both(design: Design) -> bool:
    return with_heads(design) and with_folios(design)


def with_contents(design: Design) -> bool:
    return "contents" in design.front or design.contents_at_end


def in_prose(design: Design) -> bool:
    """Only of what is set with indents is told where a paragraph ends, and only long pages ought to be full."""
    return not design.verse and not design.spaced


def in_nothing_but_prose(design: Design) -> bool:
    """A line alone beside a picture, a note, a break or an extract may be alone for its sake."""
    return in_prose(design) and not (design.plates or design.notes or design.scenes or design.extracts)


FLAWS: dict[str, Flaw] = {
    "a chapter on a verso": Flaw(chapter_on_verso, kept_to_rectos),
    "the text starts on a verso": Flaw(text_on_verso, lambda design: "part" not in design.chapters[0]),
    "front matter counted in arabic": Flaw(front_matter_counted, with_folios),
    "a start number off by one": Flaw(numbered_from_two, with_folios),
    "a number typed by hand": Flaw(number_by_hand, with_folios),
    "numbers skipped": Flaw(numbers_stepping(2), with_folios),
    "numbers repeated": Flaw(numbers_stepping(-1), with_folios),
    "numbers going back": Flaw(numbers_stepping(-6), with_folios),
    "one entry off by two": Flaw(on_contents("contents-page-number", wrong_entries={"2": 2}), with_contents),
    "a contents not made anew": Flaw(on_contents("contents-page-number", stale=2), with_contents),
    "a chapter left out of the contents": Flaw(on_contents("contents-missing-entry", unlisted=(3,)), with_contents),
    "a stray heading in the contents": Flaw(
        on_contents("contents-missing-entry", stray={"1": "An empty afternoon in the net loft"}), with_contents
    ),
    "an opening lower than the others": Flaw(sunk(2, 24.0)),
    "an opening higher than the others": Flaw(sunk(4, -30.0)),
    "a page that starts lower": Flaw(page_starts_lower, in_prose),
    "a page that ends early": Flaw(page_ends_early, lambda design: in_prose(design) and not design.notes),
    "a folio on a blank": Flaw(folio_on_blank, lambda design: leaves_blanks(design) and with_folios(design)),
    "a head on a blank": Flaw(head_on_blank, lambda design: leaves_blanks(design) and with_heads(design)),
    "a blank inside a chapter": Flaw(blank_inside),
    "three blanks before a chapter": Flaw(blanks_before, kept_to_rectos),
    "contents before the title page": Flaw(front_order("title", "contents"), in_front("title", "contents")),
    "the imprint before the title page": Flaw(front_order("title", "imprint")),
    "another chapter's title in the head": Flaw(head_of_another, with_heads),
    "the head of the other side": Flaw(head_of_other_side, with_heads),
    "a head over an opening": Flaw(head_over_opening, with_heads),
    "a head that is missing": Flaw(head_missing, with_both),
    "widows": Flaw(widows, in_nothing_but_prose),
    "orphans": Flaw(orphans, in_nothing_but_prose),
    "another title in the properties": Flaw(other_document_title),
}


def first_numbered(design: Design, places: Layout) -> int:
    """The page that bears 1 or would: the first chapter's, or the title of its part."""
    return places.openings[0] - 2 * ("part" in design.chapters[0])


def numbered(design: Design) -> list[int]:
    """The pages that bear a folio: from each opening to the end of the chapter's last paragraph, less plates."""
    places = layout(design)
    last = {end.name.split(".")[0]: end.page for end in places.ends.values()}
    pages = [page for chapter, first in enumerate(places.openings) for page in range(first, last[str(chapter)] + 1)]
    return [page for page in pages if page not in places.plates]


def inner_starts(design: Design, places: Layout) -> list[Spot]:
    """Paragraphs that start on pages inside chapters, and not after a break in the text."""
    return [
        spot
        for name, spot in places.starts.items()
        if spot.page not in places.openings and not (design.scenes and int(name.split(".")[1]) % design.scenes == 0)
    ]


def inner_recto(design: Design) -> int:
    """A recto inside the third chapter."""
    page = layout(design).openings[2] + 1
    return page + (page % 2 == 0)


def after_blank(places: Layout) -> int:
    """A chapter that has a blank before it: the last of the chapter before ends two pages earlier."""
    ends = list(places.ends.values())
    last = [before.page for before, end in pairwise(ends) if before.name[0] != end.name[0]]
    return next(at for at, page in enumerate(places.openings) if at > 1 and last[at - 1] == page - 2)


def lines_from(spot: Spot) -> int:
    """How many lines a page takes from here to its foot."""
    return int((LOWEST - spot.y) / LEADING) + 1


def stranded(places: Layout, kind: str) -> tuple[int, ...]:
    """The pages with a widow, or an orphan: of paragraphs that go on overleaf, those whose last line is the first
    there, or whose first line is the last here."""
    over = [(start, places.ends[name]) for name, start in places.starts.items() if places.ends[name].page > start.page]
    if kind == "widow":
        return tuple(sorted({end.page for _, end in over if end.y < HEAD + LEADING}))
    return tuple(sorted({start.page for start, _ in over if lines_from(start) == 1}))
