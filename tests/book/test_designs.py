"""Sound books of many designs have no finding; a flaw alone is found on its very page, and nothing else is.

The books are set on the spot by Typst, LaTeX's memoir class and LibreOffice. Where chapters open and paragraphs part is
told by Typst's own layout; of the others it is known how they were asked to be set.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from tests.books.designs.by_latex import set_by_latex
from tests.books.designs.by_libreoffice import set_by_libreoffice
from tests.books.designs.by_typst import layout, set_by_typst
from tests.books.designs.flaws import first_numbered
from tests.books.designs.shelf import FLAWED, SOUND
from tests.needs import needs_latex, needs_libreoffice
from worker.book import Book, read_book
from worker.judge import judge
from worker.measure import measure
from worker.measure.models import Measurements
from worker.profiles import load_profile

PRINTER = "common-paperback"
RECTOS = (9, 15, 21, 27, 33, 39)
"""Where the chapters of LaTeX's and LibreOffice's books open that are kept to rectos: chapters of five pages."""
ON_RECTOS = tuple(page - 8 for page in RECTOS)
OPENINGS_NOT_READ = ("poems",)
"""Where every page opens, with no sinkage, there is nothing to tell an opening from: that is said."""
LATEX_FLAWS: dict[str, tuple[dict[int, str], str, tuple[int, ...]]] = {
    "an opening lower": (
        {
            3: r"\renewcommand*{\chapterheadstart}{\vspace*{80pt}}",
            4: r"\renewcommand*{\chapterheadstart}{\vspace*{\beforechapskip}}",
        },
        "sinkage",
        (27,),
    ),
    "numbers skipped": ({2: r"\setcounter{page}{15}"}, "folio-order", (19,)),
    "front matter counted": ({0: r"\setcounter{page}{9}"}, "first-folio", (9,)),
    "a chapter on a verso": ({3: r"\openany", 4: r"\openright"}, "chapter-on-verso", (26,)),
    "a folio on a blank": (
        {1: r"\aliaspagestyle{cleared}{plain}", 2: r"\aliaspagestyle{cleared}{empty}"},
        "folio-on-blank",
        (14,),
    ),
    "a stray heading in the contents": (
        {2: r"\addcontentsline{toc}{chapter}{An empty afternoon in the net loft}"},
        "contents-missing-entry",
        (7,),
    ),
    "a chapter left out of the contents": (
        {
            3: r"\addtocontents{toc}{\protect\setcounter{tocdepth}{-5}}",
            4: r"\addtocontents{toc}{\protect\setcounter{tocdepth}{2}}",
        },
        "contents-missing-entry",
        (7,),
    ),
    "the head of another chapter": (
        {
            3: r"\renewcommand{\chaptermark}[1]{\markright{Two Harbours}}",
            4: r"\renewcommand{\chaptermark}[1]{\markright{#1}}",
        },
        "running-head",
        (29, 31),
    ),
}
"""What is said before a chapter, counted from 0, and what has to be found of it."""
CHAPTER_STYLES = ("bringhurst", "dash", "southall", "tandh", "thatcher", "wilsondob")
"""Of those that memoir brings, some that hang nothing into the margins and stretch no space above their headings."""

Setter = Callable[[Path], Path]

OTHERS = [
    pytest.param(partial(set_by_latex), None, marks=needs_latex, id="memoir"),
    pytest.param(
        partial(set_by_latex, parts=True, openings="openany"), None, marks=needs_latex, id="memoir, parts, any side"
    ),
    *(
        pytest.param(
            partial(set_by_latex, preamble=rf"\chapterstyle{{{style}}}", parts=at % 2 == 0, notes=at % 3 == 0), None,
            marks=needs_latex, id=f"memoir, {style}",
        )
        for at, style in enumerate(CHAPTER_STYLES)
    ),
    *(
        pytest.param(partial(set_by_latex, before=before), (rule, pages), marks=needs_latex, id=f"memoir, {name}")
        for name, (before, rule, pages) in LATEX_FLAWS.items()
    ),
    pytest.param(
        partial(set_by_libreoffice, numbers=ON_RECTOS), None, marks=needs_libreoffice, id="a word processor"
    ),
    pytest.param(
        partial(set_by_libreoffice, numbers=(1, 6, 11, 16, 21, 26), drop_caps=True, recto=False), None,
        marks=needs_libreoffice, id="a word processor, drop capitals",
    ),
    pytest.param(
        partial(set_by_libreoffice, numbers=ON_RECTOS, empty_lines={3: 2}), ("sinkage", (27,)),
        marks=needs_libreoffice, id="a word processor, empty lines above a heading",
    ),
    pytest.param(
        partial(set_by_libreoffice, numbers=tuple(number + 8 for number in ON_RECTOS), start=9), ("first-folio", (9,)),
        marks=needs_libreoffice, id="a word processor, a start number not set",
    ),
    pytest.param(
        partial(set_by_libreoffice, numbers=(1, 7, 11, 19, 25, 31)), ("contents-page-number", (7,)),
        marks=needs_libreoffice, id="a word processor, a number mistyped in the contents",
    ),
]  # fmt: skip


def read(path: Path) -> tuple[Measurements, Book]:
    measurements = measure(path)
    return measurements, read_book(measurements)


def found(path: Path) -> list[tuple[str, tuple[int, ...]]]:
    """The rules that find something, and where."""
    measurements, book = read(path)
    findings = judge(measurements, load_profile(PRINTER), book=book).findings
    return [(finding.rule, finding.pages) for finding in findings]


@pytest.mark.parametrize("name", SOUND)
def test_a_sound_design(tmp_path: Path, name: str) -> None:
    assert found(set_by_typst(SOUND[name], tmp_path / "book.pdf")) == []


@pytest.mark.parametrize("name", FLAWED)
def test_a_flaw_alone(tmp_path: Path, name: str) -> None:
    flawed = FLAWED[name]()
    assert found(set_by_typst(flawed.design, tmp_path / "book.pdf")) == [(flawed.rule, flawed.pages)]


@pytest.mark.parametrize(("set_book", "flaw"), OTHERS)
def test_books_by_others(tmp_path: Path, set_book: Setter, flaw: tuple[str, tuple[int, ...]] | None) -> None:
    assert found(set_book(tmp_path / "book.pdf")) == ([flaw] if flaw else [])


@pytest.mark.parametrize("name", SOUND)
def test_a_design_is_read_as_it_was_set(tmp_path: Path, name: str) -> None:
    """Openings, their titles, folios and the contents, beside what Typst was asked for and where it put it."""
    design = SOUND[name]
    places = layout(design)
    _, book = read(set_by_typst(design, tmp_path / "book.pdf"))
    front = [(places.front["foreword"], "Foreword")] if "foreword" in places.front else []
    said = [chapter["title"] or chapter["number"] for chapter in design.chapters]
    chapters = [*front, *zip(places.openings, said, strict=True)]
    opened = [(each.page, each.title) for each in book.openings if each.kind == "chapter"]
    if name in OPENINGS_NOT_READ:
        assert opened == []
        assert "openings" in {each.what for each in book.not_read}
    else:
        assert [(page, title.casefold()) for page, title in opened] == [
            (page, title.casefold()) for page, title in chapters
        ]
    if design.folio != "none":
        start = first_numbered(design, places)
        assert [book.folios.get(page) for page in places.openings] == [
            str(page - start + 1) for page in places.openings
        ]
    if "contents" in places.front:
        entries = [entry for each in book.contents if each.kind == "contents" for entry in each.entries]
        assert [(entry.target, entry.heading) for entry in entries] == [(page, page) for page, _ in chapters]
        assert {page for each in book.contents if each.kind == "contents" for page in each.pages} >= {
            places.front["contents"]
        }
    assert book.title == design.title
    assert book.imprint is not None
    assert book.imprint.isbns == ("9780306406157",)
    assert str(book.imprint.copyright).startswith("Text © 2026 Ottilie Varne")


def test_what_the_imprint_says(tmp_path: Path) -> None:
    plain = SOUND["plain"]
    _, book = read(set_by_typst(plain.but(imprint=(*plain.imprint, "First edition, 2026")), tmp_path / "book.pdf"))
    assert book.imprint is not None
    assert (book.imprint.page, book.imprint.edition) == (4, "First edition, 2026")


def test_front_matter_is_told_apart(tmp_path: Path) -> None:
    _, book = read(set_by_typst(SOUND["roman-front-matter"], tmp_path / "book.pdf"))
    kinds = [page.kind for page in book.pages[:10]]
    assert kinds == [
        "half-title", "blank", "title", "imprint", "dedication", "blank", "contents", "blank", "list", "blank",
    ]  # fmt: skip
    assert {page.part for page in book.pages[:10]} == {"front"}
    assert all(page.expected for page in book.pages[:10] if page.kind == "blank")
    assert [page.page for page in book.pages if page.kind == "plate"]
