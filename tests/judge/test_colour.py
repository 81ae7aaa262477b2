"""Rules about colour and ink: a sound sample book passes, and one with a single thing drawn on a page fails in just
that. The profiles are those of the invented printers; what is measured is held against other tools elsewhere.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream

from tests.judge.factory import PROFILE, book, document, page, sound
from tests.measure.build import block_font, picture
from tests.measure.ghostscript import heaviest
from tests.needs import needs_ghostscript
from worker.judge import judge
from worker.judge.models import Finding, Weight
from worker.measure import measure
from worker.measure.models import ColourPlace, Image, Measurements, OutputIntent, Page
from worker.profiles import Profile, load_profile, parse_profile_toml

SAMPLES = Path(__file__).resolve().parents[2] / "sample_pdfs"
NOVEL = "keeper-of-the-low-light", "ternhaven-mono"
PLATES = "seven-weathers", "skerrylight-colour"
"""Sound books with the printers that take them: one of black alone, one of four inks."""
PAGE = 5
SQUARE = b" 150 250 90 90 re f "


def _asking(asked: str, *, rest: str = "") -> Profile:
    return parse_profile_toml(PROFILE + f"[interior.colour]\n{asked}\n{rest}")


def _drawn(folder: Path, book: tuple[str, str], content: bytes, **resources: Any) -> Path:
    """The sound book with ``content`` drawn on one of its pages; ``/B`` is a font, ``/P`` a picture that is given."""
    with pikepdf.open(SAMPLES / f"{book[0]}.pdf") as pdf:
        form = Stream(pdf, content)
        keys = {key: value(pdf) if callable(value) else value for key, value in resources.items()}
        form.stream_dict = Dictionary(
            Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 900, 900],
            Resources=Dictionary(Font=Dictionary(B=block_font(pdf)), **keys),
        )  # fmt: skip
        on = pdf.pages[PAGE - 1]
        named = on.add_resource(form, Name.XObject)
        on.contents_add(Stream(pdf, b"q"), prepend=True)
        on.contents_add(Stream(pdf, b"Q %s Do" % str(named).encode()))
        pdf.save(folder / "drawn.pdf")
    return folder / "drawn.pdf"


def _findings(path: Path, by: Profile) -> list[Finding]:
    """All but what the font of the test, whose letters are drawings, is accused of."""
    return [finding for finding in judge(measure(path), by).findings if finding.rule != "font-type3"]


def _only(folder: Path, book: tuple[str, str], content: bytes, **resources: Any) -> Finding:
    (finding,) = _findings(_drawn(folder, book, content, **resources), load_profile(book[1]))
    assert finding.pages == (PAGE,)
    return finding


def _passes(folder: Path, book: tuple[str, str], content: bytes, **resources: Any) -> bool:
    return not _findings(_drawn(folder, book, content, **resources), load_profile(book[1]))


def _separation(name: str) -> Array:
    tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[1, 0.5, 0, 0], N=1)
    return Array([Name.Separation, Name(f"/{name}"), Name.DeviceCMYK, tint])


LAB = Array([Name.Lab, Dictionary(WhitePoint=[0.9505, 1, 1.089], Range=[-128, 127, -128, 127])])
SPACES = {"ColorSpace": Dictionary(S=_separation("HarbourBlue"), A=_separation("All"), L=LAB)}


def _cmyk(share: int) -> Any:
    """A picture of 300 by 300 pixels, all four inks at ``share`` of 255."""

    def made(pdf: pikepdf.Pdf) -> Dictionary:
        image = picture(pdf, 300, 300, ColorSpace=Name.DeviceCMYK)
        image.write(bytes([share]) * 360_000)
        return Dictionary(P=image)

    return made


PLACED = b" q 72 0 0 72 150 250 cm /P Do Q "

FOREIGN = {
    "colour in a novel": (NOVEL, b"1 0 0 rg" + SQUARE, "colour", "lines or areas", "RGB"),
    "four inks in a novel": (NOVEL, b"0.6 0.4 0.4 1 k" + SQUARE, "colour", "lines or areas", "CMYK"),
    "a spot colour in a novel": (NOVEL, b"/S cs 1 scn" + SQUARE, "colour", "lines or areas", "colour (HarbourBlue)"),
    "Lab in a novel": (NOVEL, b"/L cs 50 20 20 scn" + SQUARE, "colour", "lines or areas", "Lab"),
    "coloured text in a novel": (NOVEL, b"1 0 0 rg BT /B 9 Tf 150 250 Td (A) Tj ET", "colour", "text", "RGB"),
    "a rich black of a text in a novel": (
        NOVEL, b"0.6 0.4 0.4 1 k BT /B 9 Tf 150 250 Td (A) Tj ET", "colour", "text", "CMYK",
    ),
    "RGB among four inks": (PLATES, b"1 0 0 rg" + SQUARE, "rgb", "lines or areas", "RGB"),
    "greys in RGB among four inks": (PLATES, b"0 0 0 rg BT /B 9 Tf 150 250 Td (A) Tj ET", "rgb", "text", "red, green"),
    "a spot colour among four inks": (PLATES, b"/S cs 1 scn" + SQUARE, "spot", "lines or areas", "(HarbourBlue)"),
    "Lab among four inks": (PLATES, b"/L cs 50 20 20 scn" + SQUARE, "lab", "lines or areas", "Lab"),
}  # fmt: skip


@pytest.mark.parametrize(("book", "content", "cause", "of", "told"), FOREIGN.values(), ids=FOREIGN.keys())
def test_colour_that_is_not_taken(
    tmp_path: Path, book: tuple[str, str], content: bytes, cause: str, of: str, told: str
) -> None:
    finding = _only(tmp_path, book, content, **SPACES)
    assert (finding.key, finding.weight) == (f"colour-space/{cause}", Weight.SPOILAGE)
    assert f"{of} on page {PAGE}" in finding.detail
    assert told in finding.detail
    assert finding.marks[0].box[:2] == pytest.approx((150, 250), abs=0.01 if book is NOVEL else 9)  # a bleed of 3 mm


TAKEN = {
    "grey": (NOVEL, b"0.4 g" + SQUARE),
    "grey of equal red, green and blue, for black alone": (NOVEL, b"0.4 0.4 0.4 rg" + SQUARE),
    "black of four inks' black": (NOVEL, b"0 0 0 1 k" + SQUARE),
    "the ink Black": (NOVEL, b"/K cs 1 scn" + SQUARE),
    "four inks": (PLATES, b"0.5 0.5 0.5 0.2 k" + SQUARE),
    "colour that does not print": (NOVEL, b"1 0 0 rg BT 3 Tr /B 9 Tf 150 250 Td (A) Tj ET"),
}


@pytest.mark.parametrize(("book", "content"), TAKEN.values(), ids=TAKEN.keys())
def test_colour_that_is_taken(tmp_path: Path, book: tuple[str, str], content: bytes) -> None:
    assert _passes(tmp_path, book, content, ColorSpace=Dictionary(K=_separation("Black")))


def test_pictures_in_colour_are_told_apart(tmp_path: Path) -> None:
    finding = _only(tmp_path, NOVEL, b"1 0 0 rg" + SQUARE + PLACED, XObject=_cmyk(40))
    assert f"lines or areas on page {PAGE}; pictures on page {PAGE} (RGB and CMYK)" in finding.detail
    assert [mark.text for mark in finding.marks] == ["lines or areas: RGB", "pictures: CMYK"]


def _coloured(number: int, *places: ColourPlace) -> Page:
    return page(number).model_copy(update={"coloured": places})


def _kinds(asked: str, *colours: str) -> list[str]:
    pages = [page(number) for number in range(1, 9)]
    places = [ColourPlace(colour=colour, of="drawing", box=(50, 50, 60, 60)) for colour in colours]
    pages[3] = _coloured(4, *places)
    return [finding.key for finding in judge(book(*pages), _asking(asked)).findings]


def test_what_each_printer_takes() -> None:
    every = ("rgb-gray", "rgb", "cmyk", "spot", "lab")
    assert _kinds("", *every) == []
    assert _kinds('spaces = ["gray"]', *every) == ["colour-space/colour"]
    assert _kinds('spaces = ["gray"]', "rgb-gray") == []
    assert _kinds('spaces = ["gray", "spot"]', "spot", "rgb-gray") == []
    assert _kinds('spaces = ["gray", "spot"]', "spot", "rgb") == ["colour-space/colour"]
    assert _kinds('spaces = ["cmyk"]', *every) == ["colour-space/" + cause for cause in ("rgb", "spot", "lab")]
    assert _kinds('spaces = ["cmyk", "spot", "gray"]', "cmyk", "spot") == []
    assert _kinds('spaces = ["rgb"]', "rgb", "cmyk") == ["colour-space/cmyk"]
    assert _kinds('spaces = ["rgb", "cmyk"]', "rgb", "rgb-gray", "cmyk") == []


def test_one_cause_is_one_finding_on_all_its_pages() -> None:
    place = ColourPlace(colour="rgb", of="text", box=(50, 50, 60, 60))
    pages = [_coloured(number, place) for number in range(1, 9)]
    (finding,) = judge(book(*pages), _asking('spaces = ["gray"]')).findings
    assert finding.pages == tuple(range(1, 9))
    assert "text on all pages" in finding.detail


@needs_ghostscript
def test_too_much_ink(tmp_path: Path) -> None:
    """A patch of which Ghostscript lays as much on the page as the finding says."""
    content = b"0.9 0.8 0.8 0.7 k" + SQUARE
    finding = _only(tmp_path, PLATES, content)
    assert (finding.key, finding.weight) == ("ink-coverage", Weight.REFUSAL)
    assert finding.measured is not None
    assert finding.required is not None
    with pikepdf.open(tmp_path / "drawn.pdf") as pdf, pikepdf.new() as one:
        one.pages.append(pdf.pages[PAGE - 1])
        one.save(tmp_path / "one.pdf")
    assert finding.measured.value == pytest.approx(heaviest(tmp_path / "one.pdf"), abs=1)
    assert (finding.required.value, finding.required.unit, finding.required.relation) == (280, "percent", "at-most")


def test_ink_within_what_is_taken(tmp_path: Path) -> None:
    assert _passes(tmp_path, PLATES, b"0.8 0.7 0.7 0.6 k" + SQUARE)


def test_a_picture_with_too_much_ink(tmp_path: Path) -> None:
    finding = _only(tmp_path, PLATES, PLACED, XObject=_cmyk(200))
    assert finding.key == "ink-coverage/picture"
    assert "asks for 314 percent" in finding.detail  # 4 × 200 / 255
    assert _passes(tmp_path, PLATES, PLACED, XObject=_cmyk(170))


def test_the_figure_is_said_to_be_a_bound_where_marks_lie_over_each_other(tmp_path: Path) -> None:
    over = b"0.9 0.8 0.8 0.7 k" + SQUARE + b"0 g 160 260 9 9 re f"
    assert "more or less" in _only(tmp_path, PLATES, over).detail
    assert "more or less" not in _only(tmp_path, PLATES, b"0.9 0.8 0.8 0.7 k" + SQUARE).detail


def test_inks_that_are_not_known_are_said_not_to_be() -> None:
    pages = [page(number) for number in range(1, 9)]
    pages[3] = _coloured(4, ColourPlace(colour="rgb", of="picture", box=(50, 50, 60, 60)))
    image = Image(page=6, box=(50, 50, 90, 90), pixels=(400, 400), ppi=(400, 400), colour="cmyk", bits=16)
    judgement = judge(book(*pages, images=(image,)), _asking("most_ink = 240"))
    why = {each.rule: each.why for each in judgement.not_checked}["ink-coverage"]
    assert "Page 4: colours in RGB or Lab" in why
    assert "Page 6: a picture in CMYK" in why
    assert "ink-coverage" not in {each.rule for each in judge(sound(), _asking("most_ink = 240")).not_checked}


def _text(colour: bytes, size: int) -> bytes:
    return colour + b" BT /B %d Tf 150 250 Td (A) Tj ET " % size


def test_black_text_of_several_inks(tmp_path: Path) -> None:
    finding = _only(tmp_path, PLATES, _text(b"0.6 0.4 0.4 1 k", 12) + _text(b"0.6 0.4 0.4 1 k", 9))
    assert (finding.key, finding.weight) == ("rich-black-text", Weight.SPOILAGE)
    assert "9 pt to 12 pt" in finding.detail
    assert "Cyan 60 %, Magenta 40 %, Yellow 40 %, Black 100 %" in finding.detail
    assert finding.measured is not None
    assert (finding.measured.value, finding.measured.unit) == (9, "pt")


NOT_RICH = {
    "black alone": _text(b"0 0 0 1 k", 9),
    "grey": _text(b"0 g", 9),
    "a blue": _text(b"1 0.8 0.1 0.3 k", 9),
    "in a large size": _text(b"0.6 0.4 0.4 1 k", 48),
    "a ground and no text": b"0.6 0.4 0.4 1 k" + SQUARE,
}


@pytest.mark.parametrize("content", NOT_RICH.values(), ids=NOT_RICH.keys())
def test_text_that_is_no_rich_black(tmp_path: Path, content: bytes) -> None:
    assert _passes(tmp_path, PLATES, content)


@pytest.mark.parametrize("book", [NOVEL, PLATES], ids=["of black alone", "of four inks"])
def test_text_in_registration_colour_is_one_finding(tmp_path: Path, book: tuple[str, str]) -> None:
    finding = _only(tmp_path, book, _text(b"/A cs 1 scn", 9), **SPACES)
    assert finding.key == "rich-black-text/registration"


def test_too_much_ink_of_a_rich_black_text_is_told_as_that(tmp_path: Path) -> None:
    assert _only(tmp_path, PLATES, _text(b"0.9 0.8 0.8 1 k", 9)).key == "rich-black-text"
    assert _only(tmp_path, PLATES, _text(b"0.9 0.8 0.8 1 k", 48)).key == "ink-coverage"


RULES = {
    "too thin": (b"0.2 w 150 250 m 250 250 l S", 0.2),
    "made thin by being placed small": (b"0.4 0 0 0.4 0 0 cm 0.5 w 400 650 m 700 650 l S", 0.2),
    "a filled sliver": (b"150 250 90 0.1 re f", 0.1),
    "without a width": (b"0 w 150 250 m 250 250 l S", 0.0),
}


@pytest.mark.parametrize(("content", "width"), RULES.values(), ids=RULES.keys())
def test_a_thin_rule(tmp_path: Path, content: bytes, width: float) -> None:
    finding = _only(tmp_path, NOVEL, content)
    assert (finding.key, finding.weight) == ("thin-rule", Weight.SPOILAGE)
    assert finding.measured is not None
    assert finding.measured.value == pytest.approx(width, abs=0.001)
    assert ("each machine" in finding.detail) == (width == 0)
    assert finding.marks[0].page == PAGE


def test_a_rule_of_the_least_width(tmp_path: Path) -> None:
    assert _passes(tmp_path, NOVEL, b"0.25 w 150 250 m 250 250 l S 0.249 w 150 260 m 250 260 l S")


OPAQUE = _asking("transparency = false")


def test_transparency_where_it_is_refused(tmp_path: Path) -> None:
    states = Dictionary(G=Dictionary(ca=0.5), M=Dictionary(BM=Name.Multiply))
    path = _drawn(tmp_path, NOVEL, b"/G gs" + SQUARE + b"/M gs" + SQUARE, ExtGState=states)
    found = [each for each in judge(measure(path), OPAQUE).findings if each.rule == "transparency"]
    assert [(each.weight, each.pages) for each in found] == [(Weight.REFUSAL, (PAGE,))]
    assert "less than full opacity" in found[0].detail
    assert "blends" in found[0].detail
    assert found[0].marks[0].box == pytest.approx((150, 250, 240, 340))
    assert _findings(path, load_profile("ternhaven-mono")) == []  # which takes it


def test_a_book_without_transparency(tmp_path: Path) -> None:
    path = _drawn(tmp_path, NOVEL, b"/G gs" + SQUARE, ExtGState=Dictionary(G=Dictionary(ca=1, BM=Name.Normal)))
    assert "transparency" not in {each.rule for each in judge(measure(path), OPAQUE).findings}


OFFSET = load_profile("ropewalk-offset")


def _offset(*intents: OutputIntent) -> Measurements:
    """The sound PDF/X-1a sample with these output intents."""
    sample = measure(SAMPLES / "tide-tables.pdf")
    return sample.model_copy(update={"document": sample.document.model_copy(update={"output_intents": intents})})


REGISTERED = OutputIntent(subtype="GTS_PDFX", condition="FOGRA29", registry="http://www.color.org")
RGB_INTENT = OutputIntent(subtype="GTS_PDFX", condition="Screen", profile_embedded=True, profile_components=3)


def _keys(measurements: Measurements, by: Profile) -> list[str]:
    return [finding.key for finding in judge(measurements, by).findings]


def test_output_intents_are_told_once() -> None:
    """What breaks PDF/X is told by the rule about it, whose finding has one export to mend all of it."""
    assert _keys(_offset(REGISTERED), OFFSET) == []
    assert _keys(_offset(), OFFSET) == ["pdfx-conformance/broken"]
    archive = REGISTERED.model_copy(update={"subtype": "GTS_PDFA1", "condition": "sRGB", "profile_components": 3})
    assert _keys(_offset(REGISTERED, archive), OFFSET) == ["output-intent/several"]
    assert _keys(_offset(REGISTERED, archive.model_copy(update=REGISTERED.model_dump())), OFFSET) == [
        "pdfx-conformance/broken"
    ]
    assert _keys(_offset(RGB_INTENT), OFFSET) == ["pdfx-conformance/broken"]


def test_output_intents_where_the_rule_about_pdfx_is_off() -> None:
    off = OFFSET.model_copy(update={"weights": {"pdfx-conformance": "off"}})
    assert _keys(_offset(), off) == ["output-intent/none"]
    assert _keys(_offset(RGB_INTENT), off) == ["output-intent/other-family"]
    assert _keys(_offset(REGISTERED, RGB_INTENT), off) == ["output-intent/several"]
    assert _keys(_offset(REGISTERED), off) == []


def test_a_profile_of_another_family_in_a_file_that_may_have_it() -> None:
    """PDF/X-4 may be meant for a device in RGB; a press of four inks is none."""
    facts = document(8, pdfx="PDF/X-4", output_intents=(RGB_INTENT,))
    rules = {"spaces": '["gray", "cmyk"]', "pdfx": '["PDF/X-4"]'}
    by = _asking(f"spaces = {rules['spaces']}", rest=f"[interior.file]\npdfx = {rules['pdfx']}\n")
    pages = sound().pages
    found = [each for each in judge(book(*pages, document=facts), by).findings if each.rule == "output-intent"]
    assert [(each.key, each.weight) for each in found] == [("output-intent/other-family", Weight.REFUSAL)]
    assert "this printer takes grey, CMYK" in found[0].detail


def test_nothing_is_asked_of_output_intents_without_pdfx() -> None:
    assert "output-intent" not in _keys(_offset(RGB_INTENT), load_profile("common-paperback"))
    judgement = judge(_offset(), load_profile("common-paperback"))
    assert "output-intent" not in {each.rule for each in judgement.not_checked}


@pytest.mark.parametrize("rule", ["colour-space", "ink-coverage", "rich-black-text", "thin-rule", "transparency"])
def test_a_page_that_could_not_be_read_is_named(rule: str) -> None:
    pages = [page(number) for number in range(1, 9)]
    pages[6] = pages[6].model_copy(update={"unread": "its content could not be read"})
    asked = 'spaces = ["gray", "cmyk"]\nmost_ink = 240\nleast_rule = "0.25 pt"\ntransparency = false'
    reasons = {each.rule: each.why for each in judge(book(*pages), _asking(asked)).not_checked}
    assert reasons[rule].startswith("Page 7 could not be read")
