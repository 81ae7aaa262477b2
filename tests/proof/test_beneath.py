"""Beneath the layer everything is as it was: PDFium draws each page of the file and of its proof, pixel by pixel."""

from __future__ import annotations

from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from tests.books.books import Plan
from tests.books.fixtures import BookOf
from tests.needs import needs_libreoffice
from tests.proof.made import coarse, differing, drawn, mark, order, page_count, proof_of, without_layer
from tests.report.test_pictures import CASES, Case, write
from worker.inspection import inspect
from worker.profiles import builtin_profiles
from worker.proof import order_of

BOOKS = ["keeper-of-the-low-light", "letters-from-the-pump", "second-harbour", "seven-weathers", "tide-tables"]


def prove(path: Path, folder: Path) -> Path:
    """A copy of a book, inspected as a paperback, and its proof beside it."""
    copy = folder / path.name
    copy.write_bytes(path.read_bytes())
    done = inspect(copy, lambda: builtin_profiles()["common-paperback"], name=copy.name)
    return proof_of(copy, order_of(done.report, done.reading.facts, done.profile))


@pytest.mark.parametrize("name", BOOKS)
def test_a_sample_book(name: str, sample_pdfs: Path, tmp_path: Path) -> None:
    proof = prove(sample_pdfs / f"{name}.pdf", tmp_path)
    assert differing(tmp_path / f"{name}.pdf", proof) == []


@pytest.mark.parametrize(
    "producer", ["typst", "reportlab", "fpdf2", pytest.param("libreoffice", marks=needs_libreoffice)]
)
def test_a_book_by_each_producer(producer: str, book_of: BookOf, tmp_path: Path) -> None:
    path = book_of(producer, Plan(inside=30, picture_ppi=90, bleed=9 if producer == "typst" else 0))
    proof = prove(path, tmp_path)
    assert differing(tmp_path / path.name, proof) == []
    off = without_layer(proof)
    for page in range(1, page_count(path) + 1):
        before = page_count(proof) - page_count(path)
        assert drawn(proof, before + page).tobytes() != drawn(off, before + page).tobytes(), "no marks on the page"


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_a_page_however_it_is_turned(case: Case, tmp_path: Path) -> None:
    path = write(case, tmp_path / "page.pdf")
    proof = proof_of(path, order(coarse(1), marks=(mark(case.square),), live_areas=(case.square,)))
    assert differing(path, proof) == []


def test_layers_that_the_file_has_stay_as_they_are(tmp_path: Path) -> None:
    """ISO 32000-1 8.11.4.3: ``BaseState``, ``ON`` and ``OFF``; one of the two squares is hidden."""
    path = tmp_path / "layers.pdf"
    for state in ("ON", "OFF"):
        with pikepdf.new() as pdf:
            pdf.add_blank_page(page_size=(200, 300))
            seen, hidden = (pdf.make_indirect(Dictionary(Type=Name.OCG, Name=name)) for name in ("Seen", "Hidden"))
            default = Dictionary(BaseState=Name(f"/{state}"), Order=Array([seen, hidden]), Name="The author's own")
            default[f"/{'OFF' if state == 'ON' else 'ON'}"] = Array([hidden if state == "ON" else seen])
            pdf.Root.OCProperties = Dictionary(OCGs=Array([seen, hidden]), D=default)
            page = pdf.pages[0].obj
            page.Resources = Dictionary(Properties=Dictionary(A=seen, B=hidden))
            page.Contents = pdf.make_stream(
                b"/OC /A BDC 1 0 0 rg 20 20 40 40 re f EMC /OC /B BDC 0 0 1 rg 100 100 40 40 re f EMC"
            )
            pdf.save(path)
        proof = proof_of(path, order(coarse(1), marks=(mark((20, 20, 60, 60)),)))
        assert differing(path, proof) == []
        assert drawn(proof, -1).tobytes() != drawn(path, 1).tobytes()
        with pikepdf.open(proof) as pdf:
            properties = pdf.Root.OCProperties
            assert [str(group.Name) for group in properties.OCGs] == ["Seen", "Hidden", "Pressworthy proof"]
            assert [str(group.Name) for group in properties.D.Order] == ["Seen", "Hidden", "Pressworthy proof"]
            assert str(properties.D.Name) == "The author's own"


def test_annotations_outline_names_and_labels_stay(tmp_path: Path) -> None:
    """Labels: ISO 32000-1 12.4.2, ``Nums`` counts from the first page. The file's own pages keep theirs."""
    path = tmp_path / "whole.pdf"
    with pikepdf.new() as pdf:
        for _ in range(3):
            pdf.add_blank_page(page_size=(200, 300))
        first = pdf.pages[0].obj
        own = Dictionary(Type=Name.Annot, Subtype=Name.Square, Rect=[10, 10, 60, 60], C=[1, 0, 0], Contents="mine")
        first.Annots = pdf.make_indirect(Array([pdf.make_indirect(own)]))
        pdf.pages[1].obj.Annots = first.Annots
        with pdf.open_outline() as outline:
            outline.root.append(pikepdf.OutlineItem("The Salt Road", 1))
        pdf.Root.PageLabels = Dictionary(Nums=Array([0, Dictionary(S=Name.r), 2, Dictionary(S=Name.D, St=5)]))
        pdf.Root.OpenAction = Array([pdf.pages[2].obj, Name.Fit])
        pdf.save(path)
    proof = proof_of(path, order(coarse(1), pages=3, marks=(mark((80, 80, 120, 120)),)))
    with pikepdf.open(proof) as pdf:
        opening = len(pdf.pages) - 3
        assert [page.label for page in pdf.pages] == [
            *(f"proof {'i' * n}" for n in range(1, opening + 1)),
            "i",
            "ii",
            "5",
        ]
        kinds = [[str(note.Subtype) for note in page.obj.get("/Annots", Array())] for page in pdf.pages][opening:]
        assert kinds == [["/Square", "/Text"], ["/Square"], []]
        assert str(pdf.pages[opening].obj.Annots[0].Contents) == "mine"
        with pdf.open_outline() as outline:
            (item,) = outline.root
            assert item.title == "The Salt Road"
            assert isinstance(item.destination, Array)
            assert item.destination[0].objgen == pdf.pages[opening + 1].obj.objgen
        assert "/OpenAction" not in pdf.Root, "a reader would not open it at the list"
    assert differing(path, proof) == []


def test_pages_without_labels_go_by_their_number(tmp_path: Path) -> None:
    """A page of a report is always the page of the file, so it is called that in the proof too."""
    path = write(CASES["plain"], tmp_path / "page.pdf")
    with pikepdf.open(proof_of(path, order(coarse(1)))) as pdf:
        assert [page.label for page in pdf.pages] == ["proof i", "1"]


def test_a_file_that_only_its_owner_may_change(tmp_path: Path) -> None:
    """ISO 32000-1 7.6.3.1: it opens with the empty user password. The proof is not encrypted."""
    case = CASES["plain"]
    path = write(case, tmp_path / "locked.pdf", encryption=pikepdf.Encryption(owner="tide", user="", R=6))
    proof = proof_of(path, order(coarse(1), marks=(mark(case.square),)))
    assert differing(path, proof) == []
    with pikepdf.open(proof) as pdf:
        assert not pdf.is_encrypted


def test_a_file_that_has_to_be_mended(tmp_path: Path) -> None:
    """The cross-reference table is not where ``startxref`` says (ISO 32000-1 7.5.5)."""
    case = CASES["rotate 90"]
    path = write(case, tmp_path / "damaged.pdf", object_stream_mode=pikepdf.ObjectStreamMode.disable)
    data = path.read_bytes()
    path.write_bytes(data[: data.rindex(b"startxref")] + b"startxref\n7\n%%EOF\n")
    proof = proof_of(path, order(coarse(1), marks=(mark(case.square),)))
    assert differing(path, proof) == []
