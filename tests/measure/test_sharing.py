"""A long book read by two processes says the same as one read by a single process, and nothing is lost if one ends."""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Dictionary, Name
from reportlab.lib.pagesizes import A5
from reportlab.pdfgen.canvas import Canvas

from tests.corpora import MEMOIR, R_INTRO, Corpus
from tests.hostile.raw import deflated
from tests.measured import facts_of
from worker.measure import measure

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="a second process is started by fork")

PAGES = 90
LIMIT = 256_000_000


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Ninety pages; one font on all of them and one on the last thirty, pictures and links on both halves."""
    path = tmp_path_factory.mktemp("sharing") / "ninety.pdf"
    canvas = Canvas(str(path), pagesize=A5, invariant=1)
    for page in range(1, PAGES + 1):
        canvas.setFont("Times-Roman", 9 + page % 3)
        canvas.drawString(60, 300, f"Tern Island, page {page}")
        if page > PAGES - 30:
            canvas.setFont("Courier", 8)
            canvas.drawString(60, 280, "The tide tables")
        canvas.linkURL("https://ternisland.example", (60, 100, 90, 110))
        canvas.showPage()
    canvas.save()
    return path


def test_two_readers_say_the_same_as_one(book: Path) -> None:
    alone, shared = measure(book), measure(book, share=True)
    assert shared == alone
    assert [font.pages for font in shared.fonts] == [tuple(range(61, 91)), tuple(range(1, 91))]
    assert len(shared.links) == PAGES


@pytest.mark.parametrize("corpus", [pytest.param(each, marks=each.missing) for each in (MEMOIR, R_INTRO)])
def test_also_of_real_manuals(corpus: Corpus) -> None:
    """What other tests are given of them was measured by two."""
    assert facts_of(corpus.path) == measure(corpus.path)


def test_progress_counts_the_pages_of_both(book: Path) -> None:
    told: list[tuple[int, int]] = []
    measure(book, share=True, progress=lambda done, total: told.append((done, total)))
    assert told[-1] == (PAGES, PAGES)
    assert [done for done, _ in told] == sorted(done for done, _ in told)


def test_a_twin_that_is_killed_loses_nothing(book: Path) -> None:
    killed: list[int] = []

    def kill_once(_: int, __: int) -> None:
        for child in _children():
            if not killed:
                killed.append(child)
                os.kill(child, signal.SIGKILL)

    assert measure(book, share=True, progress=kill_once) == measure(book)
    assert len(killed) == 1


def _children() -> list[int]:
    return [int(each) for each in Path(f"/proc/self/task/{os.getpid()}/children").read_text().split()]


def test_no_process_is_left_behind(book: Path) -> None:
    before = _children()
    measure(book, share=True)
    assert _children() == before


@pytest.mark.parametrize("bad", [5, PAGES - 5])
def test_a_page_that_crosses_a_limit_costs_that_page_whoever_reads_it(bad: int, book: Path, tmp_path: Path) -> None:
    path = tmp_path / "bomb.pdf"
    with pikepdf.open(book) as pdf:
        content = deflated(b" " * 1_000_000, LIMIT // 1_000_000 + 1)
        stream = pikepdf.Stream(pdf, b"")
        stream.write(content, filter=Name.FlateDecode, type_check=False)
        pdf.pages[bad - 1].obj.Contents = pdf.make_indirect(stream)
        pdf.save(path)
    shared = measure(path, share=True)
    assert shared == measure(path)
    assert {page.page: page.unread for page in shared.pages if page.unread} == {bad: "a stream inflates past 256 MB"}


def test_a_page_that_cannot_be_read_costs_that_page(book: Path, tmp_path: Path) -> None:
    path = tmp_path / "bad-page.pdf"
    with pikepdf.open(book) as pdf:
        pdf.pages[80].obj.MediaBox = pikepdf.Array([0, 0, 0, 0])
        pdf.pages[80].obj.Annots = pdf.make_indirect(Dictionary(Type=Name.Annot))
        pdf.save(path)
    shared = measure(path, share=True)
    assert shared == measure(path)
    assert [page.page for page in shared.pages if page.unread] == [81]


@pytest.mark.parametrize("content", [b"", b"%PDF-1.7\n", b"%PDF-1.7\ntrailer << /Root 1 0 R >>\n%%EOF"])
def test_a_file_that_does_not_open_is_told_once(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "bad.pdf"
    path.write_bytes(content)
    assert measure(path, share=True) == measure(path)
