"""Colours as declared, the sum of inks, thin rules and transparency, by ISO 32000-1 and arithmetic."""

from __future__ import annotations

from pathlib import Path

import pytest
from pikepdf import Array, Dictionary, Name

from tests.measure.build import Sheet, picture
from worker.measure.models import Page

SQUARE = b" 100 100 50 50 re f"


def _page(folder: Path, content: bytes, **resources: object) -> Page:
    return Sheet().page(content, resources=resources).measured(folder).pages[0]


COLOURS = {
    "nothing said is black": (SQUARE, ("gray",)),
    "gray": (b"0.5 g" + SQUARE, ("gray",)),
    "grey written in RGB": (b"0.5 0.5 0.5 rg" + SQUARE, ("rgb-gray",)),
    "black written in RGB": (b"0 0 0 rg BT /H 9 Tf 72 72 Td (Tern) Tj ET", ("rgb-gray",)),
    "RGB": (b"0.5 0 0 rg" + SQUARE, ("rgb",)),
    "CMYK": (b"1 0 0 0 k" + SQUARE, ("cmyk",)),
    "stroked": (b"1 0 0 RG 5 w 100 100 m 200 200 l S", ("rgb",)),
    "set and not used": (b"1 0 0 rg 0 g" + SQUARE, ("gray",)),
    "restored": (b"q 1 0 0 rg Q" + SQUARE, ("gray",)),
    "two": (b"1 0 0 rg 50 50 9 9 re f 0 g" + SQUARE, ("gray", "rgb")),
}


@pytest.mark.parametrize(("content", "colours"), COLOURS.values(), ids=COLOURS.keys())
def test_colours_of_what_is_painted(tmp_path: Path, content: bytes, colours: tuple[str, ...]) -> None:
    assert set(_page(tmp_path, content).colours) == set(colours)


def _separation(name: str) -> Array:
    function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[1, 0.5, 0, 0], N=1)
    return Array([Name.Separation, Name(f"/{name}"), Name.DeviceCMYK, function])


SPACES = {
    "spot": _separation("HarbourBlue"),
    "registration": _separation("All"),
    "lab": Array([Name.Lab, Dictionary(WhitePoint=[0.9505, 1, 1.089])]),
}


@pytest.mark.parametrize("colour", SPACES)
def test_special_spaces(tmp_path: Path, colour: str) -> None:
    values = b"50 20 10" if colour == "lab" else b"1"
    page = _page(tmp_path, b"/C cs " + values + b" sc" + SQUARE, ColorSpace=Dictionary(C=SPACES[colour]))
    assert page.colours == (colour,)


def test_a_picture_counts(tmp_path: Path) -> None:
    sheet = Sheet()
    image = picture(sheet.pdf, 30, 20, ColorSpace=Name.DeviceCMYK)
    image.write(b"\x80" * (30 * 20 * 4))
    page = sheet.page(b"q 72 0 0 48 9 9 cm /P Do Q", resources={"XObject": Dictionary(P=image)})
    assert page.measured(tmp_path).pages[0].colours == ("cmyk",)


# Sums of percentages: C + M + Y + K.
INKS = {
    "all four": (b"1 1 1 1 k", 400),
    "a rich black": (b"0.6 0.4 0.4 1 k", 240),
    "near the limit of a press": (b"0.75 0.68 0.67 0.9 k", 300),
    "black alone": (b"0 g", 100),
    "half a grey": (b"0.5 g", 50),
}


@pytest.mark.parametrize(("colour", "most"), INKS.values(), ids=INKS.keys())
def test_most_ink(tmp_path: Path, colour: bytes, most: float) -> None:
    assert _page(tmp_path, colour + SQUARE).most_ink == pytest.approx(most, abs=0.1)


def test_a_blank_page_has_no_ink(tmp_path: Path) -> None:
    assert _page(tmp_path, b"").most_ink is None


RULES = {
    "a stroke": (b"0.25 w 50 50 m 200 50 l S", 0.25),
    "halved by the matrix": (b"0.5 0 0 0.5 0 0 cm 0.25 w 50 50 m 200 50 l S", 0.125),
    "level under a matrix that squeezes": (b"2 0 0 0.5 0 0 cm 1 w 50 50 m 150 50 l S", 0.5),
    "upright under the same": (b"2 0 0 0.5 0 0 cm 1 w 50 50 m 50 150 l S", 2.0),
    "a filled sliver": (b"50 50 90 0.1 re f", 0.1),
    "a width of 0": (b"0 w 50 50 m 200 50 l S", 0.0),
    "the thinnest of two": (b"1 w 50 50 m 200 50 l S 0.3 w 50 80 m 200 80 l S", 0.3),
}


@pytest.mark.parametrize(("content", "width"), RULES.values(), ids=RULES.keys())
def test_thinnest_rule(tmp_path: Path, content: bytes, width: float) -> None:
    """The width across the line: line width x scale normal to the stroke (ISO 32000-1 8.4.3.2)."""
    assert _page(tmp_path, content).thinnest_rule == pytest.approx(width, abs=0.001)


def test_a_width_that_is_not_stroked_is_nothing(tmp_path: Path) -> None:
    assert _page(tmp_path, b"0.1 w 1 w 50 50 m 200 50 l S").thinnest_rule == pytest.approx(1)
    assert _page(tmp_path, b"BT /H 9 Tf 72 72 Td (Tern) Tj ET").thinnest_rule is None


TRANSPARENT = {
    "fill alpha": Dictionary(ca=0.5),
    "stroke alpha": Dictionary(CA=0.5),
    "blend mode": Dictionary(BM=Name.Multiply),
}


@pytest.mark.parametrize("state", TRANSPARENT.values(), ids=TRANSPARENT.keys())
def test_transparency(tmp_path: Path, state: Dictionary) -> None:
    content = b"/G gs 100 100 50 50 re B"
    assert _page(tmp_path, content, ExtGState=Dictionary(G=state)).transparency


@pytest.mark.parametrize("state", [Dictionary(ca=1, CA=1), Dictionary(BM=Name.Normal), Dictionary(SMask=Name("/None"))])
def test_opaque(tmp_path: Path, state: Dictionary) -> None:
    content = b"/G gs 100 100 50 50 re B"
    assert not _page(tmp_path, content, ExtGState=Dictionary(G=state)).transparency


def test_a_soft_mask_is_transparency(tmp_path: Path) -> None:
    sheet = Sheet()
    masked = picture(sheet.pdf, SMask=picture(sheet.pdf, 30, 20))
    page = sheet.page(b"q 72 0 0 48 9 9 cm /P Do Q", resources={"XObject": Dictionary(P=masked)})
    assert page.measured(tmp_path).pages[0].transparency
