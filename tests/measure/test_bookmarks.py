"""The document outline (ISO 32000-1 12.3.3) of real manuals, as PDFium reads it, and of files that go round in it."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest
from pikepdf import Array, Dictionary, Name, OutlineItem, String

from tests.corpora import CORPORA, LUATEX, corpus_parameters
from tests.measure.build import Sheet
from tests.measured import facts_of


def by_pdfium(path: Path) -> list[tuple[int, str, int | None]]:
    """Level, title and page of each entry."""
    document = pypdfium2.PdfDocument(path)
    try:
        found = []
        for entry in document.get_toc(max_depth=24):
            leads_to = entry.get_dest()
            index = leads_to.get_index() if leads_to else None
            found.append((entry.level, entry.get_title(), None if index is None else index + 1))
        return found
    finally:
        document.close()


def plain(title: str) -> str:
    return "".join(letter for letter in title if letter.isprintable()).strip()


@pytest.mark.parametrize("path", corpus_parameters(*CORPORA, LUATEX))
def test_outlines_of_real_manuals(path: Path) -> None:
    ours = [(entry.level, plain(entry.title), entry.page) for entry in facts_of(path).document.outline]
    theirs = [(level, plain(title), page) for level, title, page in by_pdfium(path)]
    assert len(ours) > 50
    assert ours == theirs


def test_ways_of_naming_a_page(tmp_path: Path) -> None:
    """An array, a name of the catalogue's dictionary, a string of the name tree, and an action (12.3.2, 12.6.4.2)."""
    sheet = Sheet().page().page().page()
    pdf = sheet.pdf
    second = Array([pdf.pages[1].obj, Name.Fit])
    pdf.Root.Dests = Dictionary(Here=second)
    leaf = pdf.make_indirect(Dictionary(Names=Array([String("there"), Dictionary(D=second)])))
    pdf.Root.Names = Dictionary(Dests=Dictionary(Kids=Array([leaf])))
    ways = {
        "array": OutlineItem("array", second),
        "name": OutlineItem("name", Name.Here),
        "string": OutlineItem("string", String("there")),
        "action": OutlineItem("action", action=Dictionary(S=Name.GoTo, D=String("there"))),
        "elsewhere": OutlineItem("elsewhere", action=Dictionary(S=Name.URI, URI=String("https://example.org"))),
    }
    with pdf.open_outline() as outline:
        outline.root.extend(ways.values())
    entries = sheet.measured(tmp_path).document.outline
    assert [(entry.title, entry.page) for entry in entries] == [
        (way, None if way == "elsewhere" else 2) for way in ways
    ]


def test_one_that_goes_round(tmp_path: Path) -> None:
    sheet = Sheet().page()
    entry = sheet.pdf.make_indirect(Dictionary(Title=String("Again")))
    entry.Next = entry.First = entry
    sheet.pdf.Root.Outlines = Dictionary(First=entry)
    assert [entry.title for entry in sheet.measured(tmp_path).document.outline] == ["Again"]
