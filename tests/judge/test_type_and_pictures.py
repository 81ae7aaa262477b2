"""Fonts that may not be embedded or are drawings, missing letters, and pictures finer than print can show.

Each rule passes a sound book and fails one that is flawed in just that; files are held against poppler and fontTools.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
import reportlab
from fontTools.ttLib import TTFont
from pikepdf import Dictionary
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont as ReportlabFont
from reportlab.pdfgen.canvas import Canvas

from tests.judge.factory import PROFILE, book, profile, sound
from tests.measure.build import Sheet, picture
from tests.measure.poppler import pdfimages
from tests.needs import needs_poppler
from worker.judge import judge
from worker.judge.models import Finding, Weight
from worker.measure import measure
from worker.measure.models import Font, Image, Measurements, MissingGlyphs, Place
from worker.profiles import Profile, parse_profile_toml

VERA = Path(reportlab.__file__).parent / "fonts/Vera.ttf"
FINE = parse_profile_toml(PROFILE.replace("line_art_ppi = 600", "line_art_ppi = 600\nmost_ppi = 450"))
PLACE = Place(page=2, box=(50, 300, 60, 310))


def font(name: str = "Skerry", **facts: object) -> Font:
    plain = {"kind": "truetype", "embedded": True, "subset": True, "restricted": False, "pages": (2, 5),
             "sizes": (9, 12), "places": (PLACE,)}  # fmt: skip
    return Font(name=name, **plain | facts)


def with_fonts(*fonts: Font) -> Measurements:
    return book(*sound().pages, fonts=fonts)


def only(measurements: Measurements, by: Profile | None = None) -> Finding:
    (finding,) = judge(measurements, by or profile()).findings
    return finding


def of(measurements: Measurements, rule: str) -> list[Finding]:
    return [finding for finding in judge(measurements, profile()).findings if finding.rule == rule]


def why_not(measurements: Measurements, rule: str) -> str | None:
    return next((each.why for each in judge(measurements, profile()).not_checked if each.rule == rule), None)


def test_sound_fonts() -> None:
    assert judge(with_fonts(font()), profile()).findings == ()
    assert why_not(with_fonts(font()), "font-restricted") is None


def test_a_font_that_forbids_embedding() -> None:
    finding = only(with_fonts(font(), font("Lochside", restricted=True, pages=(3,))))
    assert (finding.rule, finding.weight, finding.pages) == ("font-restricted", Weight.SPOILAGE, (3,))
    assert finding.detail.endswith(": Lochside.")
    assert finding.marks[0].text == "Lochside"


def test_a_restricted_font_that_is_not_embedded_breaks_no_licence() -> None:
    assert only(with_fonts(font(restricted=True, embedded=False))).rule == "font-not-embedded"


def test_a_font_that_does_not_say_is_neither_accused_nor_passed() -> None:
    silent = with_fonts(font(), font("Quill", restricted=None), font("unnamed", restricted=None, kind="type3"))
    assert of(silent, "font-restricted") == []
    assert why_not(silent, "font-restricted") == "Whether these fonts may be embedded is not said in the file: Quill."


@pytest.mark.parametrize(("fs_type", "accused"), [(0, False), (2, True), (4, False), (8, False)])
def test_a_book_in_a_font_of_that_permission(tmp_path: Path, fs_type: int, accused: bool) -> None:
    """fsType of OpenType's OS/2 table, set by fontTools: 2 is restricted, 4 is for preview and print."""
    changed = TTFont(VERA)
    changed["OS/2"].fsType = fs_type
    for record in [record for record in changed["name"].names if record.nameID == 6]:
        record.string = f"Vera{fs_type}judged"  # ReportLab keeps fonts by this name
    changed.save(tmp_path / "font.ttf")
    found = of(measure(_set(tmp_path, tmp_path / "font.ttf", f"Vera{fs_type}judged", "Low light")), "font-restricted")
    assert bool(found) is accused


def _set(folder: Path, file: Path, name: str, *pages: str) -> Path:
    pdfmetrics.registerFont(ReportlabFont(name, file))
    canvas = Canvas(str(folder / "book.pdf"), pagesize=(432, 648), initialFontName=name)
    for text in pages:
        canvas.setFont(name, 20)
        canvas.drawString(72, 500, text)
        canvas.showPage()
    canvas.save()
    return folder / "book.pdf"


def test_letters_that_are_drawings() -> None:
    finding = only(with_fonts(font("unnamed", kind="type3", restricted=None), font("Skerry")))
    assert (finding.rule, finding.weight, finding.pages) == ("font-type3", Weight.POLISH, (2, 5))
    assert "a font without a name" in finding.detail


@needs_poppler
def test_poppler_sees_the_same_kind_of_font(tmp_path: Path) -> None:
    path = Sheet().page(b"BT /B 20 Tf 100 300 Td (A) Tj ET").page().save(tmp_path / "sheet.pdf")
    assert "Type 3" in subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout
    (finding,) = of(measure(path), "font-type3")
    assert finding.pages == (1,)


def missing(count: int, *pages: int, letters: tuple[str, ...] = ()) -> MissingGlyphs:
    places = tuple(Place(page=page, box=(50, 300, 60, 310)) for page in pages)
    return MissingGlyphs(count=count, pages=pages, places=places, letters=letters)


def test_missing_letters() -> None:
    finding = only(with_fonts(font(missing=missing(3, 2, 5, letters=("ő", "ű"))), font("Lochside")))
    assert (finding.rule, finding.weight, finding.pages) == ("missing-glyph", Weight.SPOILAGE, (2, 5))
    assert "3 times" in finding.detail
    assert "(ő, ű)" in finding.detail
    assert "Skerry" in finding.detail
    assert "Lochside" not in finding.detail
    assert [(mark.page, mark.text) for mark in finding.marks] == [(2, "Skerry"), (5, "Skerry")]


def test_letters_missing_of_several_fonts_are_one_finding() -> None:
    finding = only(with_fonts(font("A", missing=missing(1, 5)), font("B", missing=missing(1, 2))))
    assert finding.pages == (2, 5)
    assert [mark.page for mark in finding.marks] == [2, 5]
    assert finding.measured is not None
    assert finding.measured.value == 2


def test_a_book_with_a_letter_that_its_font_has_not(tmp_path: Path) -> None:
    """Vera has no ő, by fontTools; ReportLab then shows glyph 0."""
    assert ord("ő") not in TTFont(VERA).getBestCmap()
    (finding,) = of(measure(_set(tmp_path, VERA, "Vera", "fine", "erdő")), "missing-glyph")
    assert finding.pages == (2,)
    assert of(measure(_set(tmp_path, VERA, "Vera", "fine", "erdö")), "missing-glyph") == []


def image(finest: float, **facts: object) -> Image:
    plain = {"page": 3, "box": (50, 50, 338, 482), "pixels": (round(4 * finest), round(6 * finest)), "colour": "gray",
             "bits": 8, "ppi": (finest, finest)}  # fmt: skip
    return Image(**plain | facts)


def keys(*images: Image, by: Profile = FINE) -> list[str]:
    return [finding.key for finding in judge(book(*sound().pages, images=images), by).findings]


# Above 450 ppi pictures in tones gain nothing, above 2400 line art (common practice, no source), but for rounding.
LINE_ART = {"bits": 1, "line_art": True}


@pytest.mark.parametrize(
    ("picture", "key"),
    [
        (image(450.4), None),
        (image(451), "image-oversampled"),
        (image(900, ppi=(900, 440)), None),
        (image(1200, **LINE_ART), None),
        (image(2401, **LINE_ART), "image-oversampled/line-art"),
        (image(1200, colour="mask", bits=1), None),
        (image(600, mask_ppi=(600, 600)), None),
        (image(600, pixels=(2, 2)), None),
    ],
)
def test_pictures_finer_than_print_can_show(picture: Image, key: str | None) -> None:
    assert keys(picture) == ([key] if key else [])
    assert keys(picture, by=profile()) == []  # asks no most_ppi


def test_the_pixels_to_set() -> None:
    """4 × 6 in at 450 pixels an inch are 1800 × 2700."""
    finding = only(book(*sound().pages, images=(image(900), image(500, page=5))), FINE)
    assert (finding.weight, finding.pages) == (Weight.POLISH, (3, 5))
    assert "900 pixels an inch" in finding.detail
    assert "1800 × 2700 pixels" in finding.remedy


def test_a_fine_mask_is_told_in_its_own_pixels() -> None:
    """A mask of 3000 pixels an inch over 4 × 6 in; at 2400 they are 9600 × 14400."""
    layered = image(3000, pixels=(400, 600), mask_ppi=(3000, 3000))
    assert "9600 × 14400 pixels" in only(book(*sound().pages, images=(layered,)), FINE).remedy


@needs_poppler
def test_poppler_sees_the_same_resolution(tmp_path: Path) -> None:
    """300 × 200 pixels on 36 × 24 pt are 600 ppi; at 450 they are 225 × 150."""
    sheet = Sheet()
    sheet.page(b"q 36 0 0 24 100 300 cm /P Do Q", resources={"XObject": Dictionary(P=picture(sheet.pdf))})
    path = sheet.save(tmp_path / "sheet.pdf")
    assert [row.ppi for row in pdfimages(path)] == [(600, 600)]
    (finding,) = [each for each in judge(measure(path), FINE).findings if each.rule == "image-oversampled"]
    assert finding.measured is not None
    assert finding.measured.value == pytest.approx(600)
    assert "225 × 150 pixels" in finding.remedy
