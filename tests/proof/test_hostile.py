"""Content and pages that nobody would make: the marks lie right all the same, and what is beneath is drawn as before.

Every page shows one red square at (60, 100), 40 wide and 60 high, by PDFium's own eyes; the mark must lie on it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from tests.proof.made import (
    FINE,
    coarse,
    differing,
    drawn,
    mark,
    order,
    own_notes,
    page_count,
    proof_of,
    without_layer,
)
from tests.report.test_pictures import near, of_colour, red
from worker.proof.balance import closing
from worker.proof.making import NoProof
from worker.proof.pen import INK

SQUARE = b" 1 0 0 rg 60 100 40 60 re f "
MARKED = (60.0, 100.0, 100.0, 160.0)

CONTENTS = {
    "a state that is left open": b"q 2 0 0 2 0 0 cm 1 0 0 rg 30 50 20 30 re f",
    "three of them": b"q q 2 0 0 2 0 0 cm q 1 0 0 rg 30 50 20 30 re f",
    "a state restored once too often": b"Q 2 0 0 2 0 0 cm 1 0 0 rg 30 50 20 30 re f",
    "and then one left open": b"Q Q q 2 0 0 2 0 0 cm 1 0 0 rg 30 50 20 30 re f",
    "a frame that was changed for good": b"2 0 0 2 0 0 cm 1 0 0 rg 30 50 20 30 re f",
    "a clip for good": b"50 90 60 80 re W n" + SQUARE,
    "text left open": SQUARE + b"BT 40 Tc 3 Tr 12 TL",
    "marked content left open": b"/Span BMC /P BMC" + SQUARE,
    "a hidden layer left open": SQUARE + b"/OC /Hidden BDC",
    "a path left open": SQUARE + b"0 0 m 200 300 l",
    "a path that clips, left open": SQUARE + b"0 0 10 10 re W",
    "a string without an end": SQUARE + b"(never ended",
    "an inline image": SQUARE + b"q 5 0 0 5 0 0 cm BI /W 1 /H 1 /BPC 8 /CS /G ID Q EI Q",
    "white ink, dashed, blended": SQUARE + b"1 g 1 G [50 50] 0 d 9 w",
}


def one_page(content: bytes, path: Path) -> Path:
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(200, 300))
        hidden = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="Hidden"))
        pdf.Root.OCProperties = Dictionary(OCGs=Array([hidden]), D=Dictionary(OFF=Array([hidden])))
        page = pdf.pages[0].obj
        page.Resources = Dictionary(Properties=Dictionary(Hidden=hidden))
        page.Contents = pdf.make_stream(content)
        pdf.save(path)
    return path


def marked(path: Path, pages: int = 1) -> Path:
    marks = tuple(mark(MARKED, page, text="") for page in range(1, pages + 1))
    finding = coarse(*range(1, pages + 1))
    return proof_of(path, order(finding, pages=pages, marks=marks, live_areas=((0, 0, 1, 1),) * pages))


def check_mark(proof: Path, page: int = -1) -> None:
    left, top, right, bottom = red(drawn(without_layer(proof), page, scale=FINE))
    within = drawn(proof, page, scale=FINE).crop((left - 5, top - 5, right + 5, bottom + 5))
    assert near(of_colour(within, INK), (5, 5, right - left + 5, bottom - top + 5), 6)


@pytest.mark.parametrize("content", CONTENTS.values(), ids=CONTENTS.keys())
def test_content_that_leaves_something_behind(content: bytes, tmp_path: Path) -> None:
    path = one_page(content, tmp_path / "page.pdf")
    proof = marked(path)
    assert differing(path, proof) == []
    check_mark(proof)


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"", b""),
        (b"q Q", b""),
        (b"q q Q", b"Q\n"),
        (b"(q) Tj [(q)] TJ /q gs % q", b""),
        (b"BT", b"ET\n"),
        (b"BT ET /A BMC q", b"EMC\nQ\n"),
        (b"0 0 m", b"n\n"),
        (b"0 0 m n", b""),
        (b"Q", None),
        (b"q Q Q q", None),
        (b"(", None),
        (b"[(", None),
        (b"BI /W 1 /H 1 /BPC 8 /CS /G ID q", None),
    ],
)
def test_what_closes_a_content(content: bytes, expected: bytes | None) -> None:
    """ISO 32000-1 8.4.2, 9.4.1, 14.6.1: pairs of operators balance within a content stream."""
    assert closing(content) == expected


Page = Callable[[pikepdf.Pdf], None]


def _in_parts(pdf: pikepdf.Pdf) -> None:
    parts = [b"1 0 0", b"rg 60 100", b"40 60 re f"]
    pdf.pages[0].obj.Contents = pdf.make_indirect(Array([pdf.make_stream(part) for part in parts]))


def _shared(pdf: pikepdf.Pdf) -> None:
    """Two pages, one of them turned, with one content and one dictionary of resources."""
    stream, resources = pdf.make_stream(SQUARE), pdf.make_indirect(Dictionary())
    pdf.add_blank_page(page_size=(200, 300))
    for page in pdf.pages:
        page.obj.Contents, page.obj.Resources = stream, resources


def _twice_in_the_tree(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Contents = pdf.make_stream(SQUARE)
    pdf.Root.Pages.Kids = Array([pdf.pages[0].obj] * 2)
    pdf.Root.Pages.Count = 2


def _without_resources(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Contents = pdf.make_stream(SQUARE)
    del pdf.pages[0].obj.Resources


def _with_resources_that_are_none(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Contents = pdf.make_stream(SQUARE)
    pdf.pages[0].obj.Resources = Array([1, 2])
    pdf.pages[0].obj.Annots = pikepdf.String("none")


def _inheriting(pdf: pikepdf.Pdf) -> None:
    """The square is a form that is known two levels above; so are the boxes (7.7.3.4)."""
    form = pdf.make_stream(SQUARE, Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 200, 300])
    page = pdf.pages[0].obj
    page.Contents = pdf.make_stream(b"/Square Do")
    above = pdf.make_indirect(Dictionary(Type=Name.Pages, Kids=Array([page]), Count=1))
    above.Resources = Dictionary(XObject=Dictionary(Square=form))
    above.MediaBox = Array([0, 0, 200, 300])
    del page.Resources, page.MediaBox
    page.Parent = above
    above.Parent = pdf.Root.Pages
    pdf.Root.Pages.Kids = Array([above])


def _with_names_in_use(pdf: pikepdf.Pdf) -> None:
    form = pdf.make_stream(SQUARE, Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 200, 300])
    page = pdf.pages[0].obj
    page.Contents = pdf.make_stream(b"/PressworthyProof Do")
    page.Resources = Dictionary(XObject=Dictionary(PressworthyProof=form, PressworthyProof2=form))


PAGES = {it.__name__.strip("_").replace("_", " "): it for it in (
    _in_parts, _shared, _twice_in_the_tree, _without_resources, _with_resources_that_are_none, _inheriting,
    _with_names_in_use,
)}  # fmt: skip


@pytest.mark.parametrize("change", PAGES.values(), ids=PAGES.keys())
def test_pages_that_are_odd(change: Page, tmp_path: Path) -> None:
    path = tmp_path / "page.pdf"
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(200, 300))
        change(pdf)
        pdf.save(path)
    pages = page_count(path)
    proof = marked(path, pages)
    assert differing(path, proof) == []
    for page in range(1, pages + 1):
        check_mark(proof, page - pages - 1)


def test_pages_are_numbered_as_in_the_report_where_one_is_lost(tmp_path: Path) -> None:
    """The second of three is no dictionary; the note on the third is on the third all the same."""
    path = tmp_path / "lost.pdf"
    with pikepdf.new() as pdf:
        for _ in range(3):
            pdf.add_blank_page(page_size=(200, 300))
        first, _, third = (page.obj for page in pdf.pages)
        pdf.Root.Pages.Kids = Array([first, pdf.make_indirect(pikepdf.String("no page")), third])
        pdf.save(path)
    finding = coarse(3)
    proof = proof_of(path, order(finding, pages=3, marks=(mark(MARKED, 3),)))
    with pikepdf.open(proof) as pdf:
        assert [len(own_notes(page.obj)) for page in pdf.pages] == [0, 0, 0, 1]
    assert page_count(proof) == 4


def test_a_page_without_content_has_its_marks(tmp_path: Path) -> None:
    path = tmp_path / "blank.pdf"
    for contents in (None, 7, Array([1, Dictionary()])):
        with pikepdf.new() as pdf:
            pdf.add_blank_page(page_size=(200, 300))
            del pdf.pages[0].obj.Contents
            if contents is not None:
                pdf.pages[0].obj.Contents = contents
            pdf.save(path)
        proof = marked(path)
        assert differing(path, proof) == []
        assert drawn(proof, -1).tobytes() != drawn(path, 1).tobytes()


def test_content_that_cannot_be_decoded(tmp_path: Path) -> None:
    """What the filter cannot undo is left as it is, and the marks are laid over it from outside."""
    path = tmp_path / "torn.pdf"
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(200, 300))
        pdf.pages[0].obj.Contents = pdf.make_stream(b"no deflated data", Filter=Name.FlateDecode)
        pdf.save(path, compress_streams=False)
    proof = marked(path)
    assert differing(path, proof) == []
    assert drawn(proof, -1).tobytes() != drawn(path, 1).tobytes()


def test_words_that_could_be_anything(tmp_path: Path) -> None:
    """Names and texts of any letters and any length; the list goes on as long as there is something to list."""
    path = one_page(SQUARE, tmp_path / "page.pdf")
    odd = coarse(1, title="\x1b[1m\u202e中文" * 40, detail="word" * 2000, remedy=") Tj ET Q " * 90)
    said = order(*[odd] * 70, marks=(mark(MARKED, text="x" * 5000),), name="\ud800.pdf", title="Ōkami " * 50)
    proof = proof_of(path, said)
    assert differing(path, proof) == []
    assert page_count(proof) > 10


@pytest.mark.parametrize("size", [(3, 3), (14400, 3), (3, 14400), (14400, 14400)])
def test_pages_of_absurd_sizes(size: tuple[float, float], tmp_path: Path) -> None:
    """14,400 units is the format's largest side (ISO 32000-1 Annex C)."""
    path = tmp_path / "page.pdf"
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=size)
        pdf.pages[0].obj.UserUnit = 10
        pdf.save(path)
    far = mark((-1e9, -1e9, 1e9, 1e9), text="far", edge="left")
    proof = proof_of(path, order(coarse(1), marks=(far, mark((0, 0, 1, 1)))))
    with pikepdf.open(proof) as pdf:
        assert len(pdf.pages) == 2
        assert [float(side) for side in pdf.pages[1].mediabox] == [0, 0, *size]


@pytest.mark.parametrize("size", [(150, 150), (200, 2000), (2000, 200), (5000, 7000)])
def test_the_opening_pages_are_of_the_usual_size(size: tuple[float, float], tmp_path: Path) -> None:
    path = one_page(SQUARE, tmp_path / "page.pdf")
    proof = proof_of(path, order(*[coarse(1)] * 12, size=size))
    with pikepdf.open(proof) as pdf:
        sizes = {tuple(float(side) for side in page.mediabox) for page in list(pdf.pages)[:-1]}
    assert sizes == {(0, 0, *size)}


@pytest.mark.parametrize("content", [b"%PDF-1.7\nnothing more", b"%PDF-1.7\ntrailer<</Root 1 0 R>>"])
def test_a_file_that_does_not_open(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "torn.pdf"
    path.write_bytes(content)
    with pytest.raises(NoProof):
        proof_of(path, order())


def test_a_file_that_asks_for_a_password(tmp_path: Path) -> None:
    path = tmp_path / "locked.pdf"
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        pdf.save(path, encryption=pikepdf.Encryption(owner="tide", user="ebb"))
    with pytest.raises(NoProof, match="password"):
        proof_of(path, order())


def test_a_trailer_without_a_size(tmp_path: Path) -> None:
    """ISO 32000-1 7.5.5: ``Size`` is required. The proof of a file that lacks it has one, or none would open it."""
    path = one_page(SQUARE, tmp_path / "page.pdf")
    with pikepdf.open(path) as pdf:
        pdf.save(tmp_path / "plain.pdf", object_stream_mode=pikepdf.ObjectStreamMode.disable)
    data = (tmp_path / "plain.pdf").read_bytes()
    cut = data[: data.rindex(b"xref\n")].rstrip(b"start")
    path.write_bytes(cut + b"trailer << /Root 1 0 R >>\n")
    proof = marked(path)
    assert differing(path, proof) == []
    with pikepdf.open(proof) as pdf:
        assert pdf.get_warnings() == []
        assert len(pdf.pages) == 2
