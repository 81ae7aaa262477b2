"""What the opening pages say, and that every page says what it is: read back by PDFium's own text extraction."""

from __future__ import annotations

from pathlib import Path

import pypdfium2 as pdfium
import pytest
from pdfminer.fontmetrics import FONT_METRICS

from tests.proof.made import coarse, mark, order, own_notes, proof_of
from tests.report.test_pictures import CASES, write
from worker.judge.models import Weight
from worker.proof.letters import cut, encoded, lines, width
from worker.proof.opening import opening_pages


def words_of(path: Path) -> list[str]:
    """The words of each page, spaces as they come made one."""
    with pdfium.PdfDocument(path) as document:
        return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def test_every_finding_is_listed_with_its_pages_and_its_remedy(tmp_path: Path) -> None:
    findings = (
        coarse(1, 2, 3, title="Pictures are too coarse", remedy="Scan them again at 300 ppi."),
        coarse(title="A font is not in the file", remedy="Export again with all fonts embedded."),
    )
    path = write(CASES["plain"], tmp_path / "page.pdf")
    first, *_ = words_of(proof_of(path, order(*findings, title="The Salt Road", not_tried=7)))
    for said in (
        "The Salt Road", "salt-road.pdf, 1 page, for Ternhaven Digital (2026-11). 25 November 2026.",
        "This printer would turn the file away.",
        "Refusal: the printer would turn the file away", "1. Pictures are too coarse pages 1–3",
        "Scan them again at 300 ppi.", "2. A font is not in the file the file", "Export again with all fonts embedded.",
        "the live area: text may stand in it", "7 rules could not be tried", "Order a physical proof",
    ):  # fmt: skip
        assert said in first, said


def test_every_page_says_that_it_is_a_proof(sample_pdfs: Path, tmp_path: Path) -> None:
    path = tmp_path / "book.pdf"
    path.write_bytes((sample_pdfs / "second-harbour.pdf").read_bytes())
    pages = words_of(proof_of(path, order(*[coarse(2)] * 9, pages=25, marks=(mark((60, 100, 100, 160), 2),))))
    assert all("PROOF, NOT FOR PRINTING" in page for page in pages)
    assert "page 25" in pages[-1]


def test_a_book_with_nothing_to_change_is_told_so(tmp_path: Path) -> None:
    path = write(CASES["plain"], tmp_path / "page.pdf")
    first, _ = words_of(proof_of(path, order(summary="This printer would take it.")))
    assert "This printer would take it." in first
    assert "There is nothing to change" in first


def test_the_list_leads_to_the_pages(tmp_path: Path) -> None:
    """A link (ISO 32000-1 12.5.6.5) for a finding with pages; one about the file is a note there instead."""
    import pikepdf

    path = write(CASES["plain"], tmp_path / "page.pdf")
    with pikepdf.open(proof_of(path, order(coarse(1), coarse()))) as pdf:
        opening, page = (page.obj for page in pdf.pages)
        (link,) = [it for it in opening.Annots if it.Subtype == pikepdf.Name.Link]
        assert link.Dest[0].objgen == page.objgen
        assert len(own_notes(opening)) == 1


def test_weights_are_told_by_words_and_by_the_thickness_of_a_rule() -> None:
    said = order(*(coarse(1).model_copy(update={"weight": weight}) for weight in Weight))
    (page,) = opening_pages(said)
    drawn = page.pen.stream.decode("latin-1")
    assert all(encoded(weight.value.capitalize()).hex() in drawn for weight in Weight)
    assert {"3 w", "1.5 w", "0.75 w"} <= {line[-len(thick):] for line in drawn.split("\n") for thick in
                                          ("3 w", "1.5 w", "0.75 w") if line.endswith(f" {thick}")}  # fmt: skip


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("plain", b"plain"),
        ("“Zoë’s” – 5 €…", "“Zoë’s” – 5 €…".encode("cp1252")),  # ISO 32000-1 Annex D.2, WinAnsiEncoding
        ("Ōkami", b"Okami"),
        ("中\u202e\x1b", b"???"),
        ("two\nlines\t of  it", b"two?lines?of it"),
    ],
)
def test_what_the_face_lacks_is_written_otherwise(text: str, expected: bytes) -> None:
    assert encoded(text).replace(b" ", b"?") == expected.replace(b" ", b"?")


def test_words_are_as_wide_as_the_metrics_say() -> None:
    """Adobe's metrics of Times-Roman: H 722, i 278 thousandths."""
    metrics = FONT_METRICS["Times-Roman"][1]
    assert width(b"Hi", "roman", 10) == pytest.approx((metrics["H"] + metrics["i"]) / 100) == pytest.approx(10.0)


def test_lines_are_broken_to_the_measure() -> None:
    text = "Set the inside margin to 0.66 in " * 8 + "x" * 300
    broken = list(lines(text, "roman", 9, 120))
    assert all(width(line, "roman", 9) <= 120 for line in broken)
    assert b"".join(broken).replace(b" ", b"").replace(b"\xa0", b"") == text.replace(" ", "").encode()
    assert list(lines("at 12.7 mm", "roman", 10, width(b"12.7 mm", "roman", 10))) == [b"at", b"12.7\xa0mm"]
    assert list(lines("wide", "roman", 9, 0.1)) == [b"w", b"i", b"d", b"e"]
    assert cut(b"a long name", "roman", 10, 30).endswith(b"\x85")
    assert cut(b"a long name", "roman", 10, 0) == b"\x85"
