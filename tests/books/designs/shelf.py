"""The shelf: sound designs, and books that are flawed in one thing, with the pages on which that has to be found.

Where a flaw lies is told by Typst's own layout, or by how the book was asked to be set; never by our reading.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.books.designs.by_typst import FRONT, TITLES, Design, Start, ends, opening_pages, prose, set_by_typst, starts

HEAD, FOOT, LEADING, BETWEEN = 66.0, 66.0, 15.0, 4.0
"""Margins of these designs, the distance from line to line, and what of it lies between lines; points."""
EPIGRAPHS = ("The sea keeps no books.", "", "Low water is a promise.", "", "", "It was written down.")
GERMAN = ("Das Gezeitenbuch", "Zwei Häfen", "Die zweite Glocke", "Papier und Teer", "Niedrigwasser", "Die leere Seite")
PARTS = ("The Island", "", "", "The Mainland", "", "")
NUMERALS = ("I", "II", "III", "IV", "V", "VI")

PLAIN = Design(prose())

SOUND: dict[str, Design] = {
    "plain": PLAIN,
    "folio-in-the-head": PLAIN.but(folio="head", openings="any", contents="plain"),
    "folio-in-the-margin": PLAIN.but(folio="side", heads=False, outside=72.0),
    "folio-outside": PLAIN.but(folio="outer", sinkage=120.0),
    "no-folios": PLAIN.but(folio="none", front=("half", "title", "imprint", "dedication")),
    "roman-front-matter": PLAIN.but(
        front=(*FRONT, "figures"), front_pages=10, front_numbers="i",
        plates={"0.12": "The slip", "3.14": "The net loft", "5.15": "The chapel steps"},
    ),
    "parts": PLAIN.but(chapters=prose(part=PARTS)),
    "small-capitals": PLAIN.but(heading="small", sinkage=140.0),
    "numbers-alone": PLAIN.but(chapters=prose(titles=(None,) * 6, number=NUMERALS), heads=False, contents="plain"),
    "numbers-and-titles": PLAIN.but(chapters=prose(number=tuple(f"Chapter {n}" for n in NUMERALS))),
    "epigraphs": PLAIN.but(chapters=prose(epigraph=EPIGRAPHS)),
    "verse": PLAIN.but(verse=True, openings="any"),
    "bound-on-the-right": PLAIN.but(right_bound=True, folio="outer"),
    "german": PLAIN.but(
        chapters=prose(titles=GERMAN), lang="de", contents="left", contents_name="Inhalt", title="Der Hüter des Lichts",
        document_title="Der Hüter des Lichts",
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Flawed:
    """A design with one flaw: the rule that has to find it, and where."""

    design: Design
    rule: str
    pages: tuple[int, ...]


Maker = Callable[[], Flawed]


def _opening(design: Design, chapter: int) -> int:
    return opening_pages(design)[chapter]


@cache
def _starts(design_key: int) -> Mapping[str, Start]:
    return {start.name: start for start in starts(PLAIN)}


def _plain_starts() -> Mapping[str, Start]:
    return _starts(0)


def _at_head() -> Start:
    """A paragraph of the plain book that begins a page inside a chapter."""
    return next(
        start
        for start in _plain_starts().values()
        if start.y < HEAD + LEADING and start.page not in opening_pages(PLAIN)
    )


def _near_foot() -> Start:
    """A paragraph that begins three to five lines above the foot of a page inside a chapter, with text to follow."""
    low, high = 648 - FOOT - 5.5 * LEADING, 648 - FOOT - 2.5 * LEADING
    openings = opening_pages(PLAIN)
    return next(
        start
        for start in _plain_starts().values()
        if low < start.y < high and start.page not in openings and start.page + 2 not in openings
    )


def _in_the_middle() -> Start:
    """A paragraph on the second page of the second chapter."""
    page = _opening(PLAIN, 1) + 1
    return next(start for start in _plain_starts().values() if start.page == page and start.y > 200)


def _stranded(design: Design, kind: str) -> tuple[int, ...]:
    """The pages with a widow, or an orphan, by where paragraphs start and how many lines they have."""
    found = set()
    for start, end in zip(starts(design), ends(design), strict=True):
        left, over = int((648 - FOOT + BETWEEN - start.y) / LEADING), round((end.y - HEAD) / LEADING)
        if end.page == start.page + 1 and kind == "orphan" and left == 1 and over >= 1:
            found.add(start.page)
        if end.page == start.page + 1 and kind == "widow" and over == 1 and left >= 1:
            found.add(end.page)
    return tuple(sorted(found))


def _with(rule: str, pages: Callable[[Design], tuple[int, ...]], base: Design = PLAIN, **changed: object) -> Maker:
    def make() -> Flawed:
        design = base.but(**changed)
        return Flawed(design, rule, pages(design))

    return make


def _moved() -> Flawed:
    start = _at_head()
    return Flawed(PLAIN.but(pushed=(start.name,)), "uneven-text-block", (start.page,))


def _short() -> Flawed:
    start = _near_foot()
    return Flawed(PLAIN.but(breaks=(start.name,)), "uneven-text-block", (start.page,))


def _blank_inside() -> Flawed:
    name = _in_the_middle().name
    design = PLAIN.but(blanks=(name,), openings="any")
    after = next(start.page for start in starts(design) if start.name == name)
    return Flawed(design, "blank-run", (after - 1,))


CONTENTS_PAGE = (7,)

FLAWED: dict[str, Maker] = {
    "a chapter on a verso": _with("chapter-on-verso", lambda d: (_opening(d, 3),), on_verso=(3,)),
    "front matter counted in arabic": _with("first-folio", lambda d: (_opening(d, 0),), first_number=9),
    "a start number off by one": _with("folio-parity", lambda d: tuple(_numbered(d)), first_number=2),
    "numbers skipped": _with("folio-order", lambda d: (_opening(d, 2),), restart={"2": 2}),
    "numbers going back": _with("folio-order", lambda d: (_opening(d, 4),), restart={"4": -4}),
    "a number typed by hand": _with("folio-order", lambda d: (18,), wrong_folios={"18": "81"}),
    "one entry off by two": _with("contents-page-number", lambda d: CONTENTS_PAGE, wrong_entries={"2": 2}),
    "a contents not made anew": _with("contents-page-number", lambda d: CONTENTS_PAGE, stale=2),
    "a chapter left out of the contents": _with("contents-missing-entry", lambda d: CONTENTS_PAGE, unlisted=(3,)),
    "a stray heading in the contents": _with(
        "contents-missing-entry", lambda d: CONTENTS_PAGE, stray={"1": "An empty afternoon in the net loft"}
    ),
    "an opening lower than the others": _with("sinkage", lambda d: (_opening(d, 2),), lower={"2": 24.0}),
    "an opening higher than the others": _with("sinkage", lambda d: (_opening(d, 4),), lower={"4": -30.0}),
    "a page that starts lower": _moved,
    "a page that ends early": _short,
    "a folio on a blank": _with("folio-on-blank", lambda d: (_opening(d, 2) - 1,), folio_on_blank=(2,)),
    "a head on a blank": _with("running-head", lambda d: (_opening(d, 3) - 1,), head_on_blank=(3,)),
    "a blank inside a chapter": _blank_inside,
    "three blanks before a chapter": _with(
        "blank-run", lambda d: tuple(range(_opening(d, 2) - 3, _opening(d, 2))), blanks_before=(2,)
    ),
    "contents before the title page": _with(
        "front-matter-order", lambda d: (3,), front=("half", "contents", "title", "imprint", "dedication")
    ),
    "the imprint before the title page": _with(
        "front-matter-order", lambda d: (2,), front=("half", "imprint", "title", "dedication", "contents")
    ),
    "another chapter's title in the head": _with("running-head", lambda d: (23,), wrong_heads={"23": TITLES[0]}),
    "the head of the other side": _with(
        "running-head", lambda d: (25,), wrong_heads={"25": "The Keeper of the Low Light"}
    ),
    "a head over an opening": _with("running-head", lambda d: (_opening(d, 2),), heads_over=(21,)),
    "a head that is missing": _with("running-head", lambda d: (23,), without_heads=(23,)),
    "widows": _with("widow", lambda d: _stranded(d, "widow"), widows=True),
    "orphans": _with("orphan", lambda d: _stranded(d, "orphan"), orphans=True),
    "another title in the properties": _with("document-title", lambda d: (), document_title="manuscript final 3"),
}


def _numbered(design: Design) -> list[int]:
    """The pages that bear a folio: from each opening to the end of the chapter's last paragraph."""
    last = {end.name.split(".")[0]: end.page for end in ends(design) if end.y > HEAD + 1}
    return [
        page for chapter, first in enumerate(opening_pages(design)) for page in range(first, last[str(chapter)] + 1)
    ]


def set_sound(name: str, folder: Path) -> Path:
    return set_by_typst(SOUND[name], folder / f"{name}.pdf")


def set_flawed(name: str, folder: Path) -> tuple[Path, Flawed]:
    flawed = FLAWED[name]()
    return set_by_typst(flawed.design, folder / "book.pdf"), flawed
