"""The colour of every mark as the file says it (ISO 32000-1 8.6 and 8.7), and where it first stands.

What has no other source follows from the clause that is named; poppler and PDFium are asked where they can tell.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from pikepdf import Array, Dictionary, Name, Stream, String

from tests.measure.build import Sheet, block_font, picture
from tests.measure.ghostscript import black_plate
from tests.measure.poppler import pdfimages
from tests.needs import needs_ghostscript, needs_poppler
from worker.measure import measure
from worker.measure.models import Page

SQUARE = b" 100 100 50 50 re f"
WHOLE = b" 0 0 432 648 re f"


def _page(folder: Path, content: bytes, sheet: Sheet | None = None, **resources: object) -> Page:
    return (sheet or Sheet()).page(content, resources=resources).measured(folder).pages[0]


def _tint(space: Name = Name.DeviceCMYK, to: tuple[float, ...] = (1, 0.5, 0, 0)) -> list[Any]:
    return [space, Dictionary(FunctionType=2, Domain=[0, 1], C0=[0] * len(to), C1=list(to), N=1)]


def _separation(name: str) -> Array:
    return Array([Name.Separation, Name(f"/{name}"), *_tint()])


def _device_n(*names: str, **attributes: Any) -> Array:
    more = [Dictionary(**attributes)] if attributes else []
    return Array([Name.DeviceN, Array([Name(f"/{name}") for name in names]), *_tint(), *more])


def _profiled(sheet: Sheet, count: int | None, header: bytes = b"", **keys: Any) -> Array:
    profile = Stream(sheet.pdf, bytes(16) + header.ljust(4) + bytes(108))
    if count is not None:
        profile["/N"] = count
    for key, value in keys.items():
        profile[f"/{key}"] = value
    return Array([Name.ICCBased, sheet.pdf.make_indirect(profile)])


LAB = Array([Name.Lab, Dictionary(WhitePoint=[0.9505, 1, 1.089], Range=[-128, 127, -128, 127])])
CAL = {"gray": Array([Name.CalGray, Dictionary(WhitePoint=[0.9505, 1, 1.089])]),
       "rgb": Array([Name.CalRGB, Dictionary(WhitePoint=[0.9505, 1, 1.089])])}  # fmt: skip

PALETTE = Array([Name.Indexed, Name.DeviceRGB, 1, String(b"\xff\0\0\x40\x40\x40")])
PROCESS = Dictionary(ColorSpace=Name.DeviceCMYK, Components=[Name.C, Name.M, Name.Y, Name.K])
SPACES = {
    "calibrated gray": (CAL["gray"], b"0.4", "gray"),
    "calibrated RGB": (CAL["rgb"], b"0.4 0 0", "rgb"),
    "equal calibrated RGB": (CAL["rgb"], b"0.4 0.4 0.4", "rgb-gray"),
    "Lab": (LAB, b"50 20 10", "lab"),
    "the ink Black": (_separation("Black"), b"1", "gray"),
    "the ink Cyan": (_separation("Cyan"), b"1", "cmyk"),
    "a spot ink": (_separation("HarbourBlue"), b"1", "spot"),
    "every plate": (_separation("All"), b"1", "registration"),
    "two process inks": (_device_n("Cyan", "Black"), b"0.5 0.5", "cmyk"),
    "two process inks, of which black is used": (_device_n("Cyan", "Black"), b"0 0.5", "gray"),
    "black and a spot ink": (_device_n("Black", "HarbourBlue"), b"0.5 0.5", "spot"),
    "black and a spot ink that is not used": (_device_n("Black", "HarbourBlue"), b"0.5 0", "gray"),
    "process inks by names of their own": (_device_n("C", "M", "Y", "K", Process=PROCESS), b"0 0 0 1", "gray"),
    "a palette": (PALETTE, b"0", "rgb"),
    "another colour of it": (PALETTE, b"1", "rgb-gray"),
    "a palette of Lab": (Array([Name.Indexed, LAB, 0, String(b"\x80\x90\x70")]), b"0", "lab"),
    "a palette of a spot ink": (Array([Name.Indexed, _separation("HarbourBlue"), 0, String(b"\xff")]), b"0", "spot"),
}  # fmt: skip


@pytest.mark.parametrize(("space", "values", "colour"), SPACES.values(), ids=SPACES.keys())
def test_special_spaces(tmp_path: Path, space: Array, values: bytes, colour: str) -> None:
    page = _page(tmp_path, b"/C cs " + values + b" sc" + SQUARE, ColorSpace=Dictionary(C=space))
    assert page.colours == (colour,)
    places = [place for place in page.coloured if place.colour == colour]
    assert [place.box for place in places] == ([] if colour == "gray" else [(100, 100, 150, 150)])


def test_a_spot_ink_goes_by_its_name(tmp_path: Path) -> None:
    content = b"/C cs 1 scn" + SQUARE + b" /D cs 0.2 1 scn 9 9 9 9 re f"
    spaces = Dictionary(C=_separation("Harbour#20Blue"), D=_device_n("Black", "Ochre"))
    (place,) = _page(tmp_path, content, ColorSpace=spaces).coloured
    assert place.inks == ("Harbour#20Blue", "Ochre")


def test_the_ink_none_prints_nothing(tmp_path: Path) -> None:
    """8.6.6.4: the colorant None marks no paper; all of a DeviceN's may be None."""
    for space in (_separation("None"), _device_n("None", "None")):
        assert _page(tmp_path, b"/C cs 1 1 scn" + SQUARE, ColorSpace=Dictionary(C=space)).blank


PROFILES = {
    "one number": (1, b"GRAY", {}, b"0.5", "gray"),
    "three": (3, b"RGB ", {}, b"0.5 0 0", "rgb"),
    "four": (4, b"CMYK", {}, b"0.5 0 0 0", "cmyk"),
    "three of Lab": (3, b"Lab ", {"Alternate": LAB}, b"50 20 20", "lab"),
    "no number, an alternate": (None, b"", {"Alternate": Name.DeviceCMYK}, b"0.5 0 0 0", "cmyk"),
    "no number, a header": (None, b"CMYK", {}, b"0.5 0 0 0", "cmyk"),
    "no number, a header of RGB": (None, b"RGB ", {}, b"0.5 0 0", "rgb"),
}


@pytest.mark.parametrize(("count", "header", "keys", "values", "colour"), PROFILES.values(), ids=PROFILES.keys())
def test_profiles(
    tmp_path: Path, count: int | None, header: bytes, keys: dict[str, Any], values: bytes, colour: str
) -> None:
    """8.6.5.5, and the colour space signatures of ICC.1 7.2.6."""
    sheet = Sheet()
    space = _profiled(sheet, count, header, **keys)
    assert _page(tmp_path, b"/C cs " + values + b" sc" + SQUARE, sheet, ColorSpace=Dictionary(C=space)).colours == (
        colour,
    )


def test_default_spaces_stand_for_those_of_devices(tmp_path: Path) -> None:
    """8.6.5.6: DefaultGray may be any space of one component."""
    spaces = Dictionary(DefaultGray=_separation("HarbourBlue"), DefaultRGB=CAL["rgb"])
    for content in (b"1 g" + SQUARE, b"/DeviceGray cs 1 sc" + SQUARE, b"1 G 9 w 50 50 m 90 90 l S"):
        assert _page(tmp_path, content, ColorSpace=spaces).colours == ("spot",)
    assert _page(tmp_path, b"1 0 0 rg" + SQUARE, ColorSpace=spaces).colours == ("rgb",)
    wrong = Dictionary(DefaultGray=LAB)
    assert _page(tmp_path, b"0 g" + SQUARE, ColorSpace=wrong).colours == ("gray",)


def _cell(sheet: Sheet, content: bytes, **keys: Any) -> Stream:
    cell = Stream(sheet.pdf, content)
    given: dict[str, Any] = {
        "PatternType": 1,
        "PaintType": 1,
        "TilingType": 1,
        "XStep": 9,
        "YStep": 9,
        "Resources": Dictionary(),
    } | keys
    cell.stream_dict = Dictionary(Type=Name.Pattern, BBox=[0, 0, 9, 9], **given)
    return sheet.pdf.make_indirect(cell)


PATTERNS = {
    "of its own colours": (b"1 0 0 rg 0 0 3 3 re f 0 0 0 1 k 4 4 3 3 re f", {}, b"/Pattern cs /P scn", {"rgb", "gray"}),
    "of the colour under it": (b"0 0 3 3 re f", {"PaintType": 2}, b"/U cs 1 0 0 0 /P scn", {"cmyk"}),
    "empty": (b"", {}, b"/Pattern cs /P scn", set()),
    "white": (b"1 g 0 0 3 3 re f", {}, b"/Pattern cs /P scn", set()),
}


@pytest.mark.parametrize(("cell", "keys", "colour", "found"), PATTERNS.values(), ids=PATTERNS.keys())
def test_tiling_patterns(tmp_path: Path, cell: bytes, keys: dict[str, Any], colour: bytes, found: set[str]) -> None:
    """Whether there is ink at all PDFium says of what is no text."""
    for painted in (SQUARE, b" BT /B 40 Tf 100 100 Td (A) Tj ET"):
        sheet = Sheet()
        resources = {"Pattern": Dictionary(P=_cell(sheet, cell, **keys)),
                     "ColorSpace": Dictionary(U=Array([Name.Pattern, Name.DeviceCMYK]))}  # fmt: skip
        path = sheet.page(colour + painted, resources=resources).save(tmp_path / "sheet.pdf")
        page = measure(path).pages[0]
        assert set(page.colours) == found
        with pypdfium2.PdfDocument(path) as document:
            lightest, _ = document[0].render(scale=2, grayscale=True).to_pil().getextrema()
        if painted is SQUARE:  # PDFium fills letters of Type 3 with something of its own
            assert page.blank == (lightest == 255)
        else:
            assert page.blank == (not found)


GLYPHS = {
    "colours of its own": (b"1000 0 d0 1 0 0 rg 0 0 500 500 re f", {"rgb", "gray"}),
    "the current colour": (b"1000 0 d0 0 0 500 500 re f", {"gray"}),
    "none, whatever it says": (b"1000 0 0 0 1000 1000 d1 1 0 0 rg 0 0 500 500 re f", {"gray"}),
}


@pytest.mark.parametrize(("glyph", "colours"), GLYPHS.values(), ids=GLYPHS.keys())
def test_glyphs_of_type_3_may_have_colours(tmp_path: Path, glyph: bytes, colours: set[str]) -> None:
    """9.6.5; on each page on which they are shown."""
    sheet = Sheet()
    font = block_font(sheet.pdf)
    font.CharProcs.A = sheet.pdf.make_indirect(Stream(sheet.pdf, glyph))
    shared = {"Font": Dictionary(B=sheet.pdf.make_indirect(font))}
    for _ in range(2):
        sheet.page(b"0.4 g BT /B 9 Tf 72 72 Td (A) Tj ET", resources=shared)
    first, second = sheet.measured(tmp_path).pages
    assert set(first.colours) == set(second.colours) == colours
    assert [place.of for place in second.coloured] == ["text"] * (len(colours) - 1)


def _axial(space: Any, function: Any) -> Dictionary:
    return Dictionary(ShadingType=2, ColorSpace=space, Coords=[0, 0, 432, 0], Function=function, Extend=[True, True])


def _between(*colours: tuple[float, ...]) -> Dictionary:
    """Straight from each colour to the next."""
    steps = [Dictionary(FunctionType=2, Domain=[0, 1], C0=list(a), C1=list(b), N=1) for a, b in pairwise(colours)]
    if len(steps) == 1:
        return steps[0]
    bounds = [at / len(steps) for at in range(1, len(steps))]
    return Dictionary(FunctionType=3, Domain=[0, 1], Functions=steps, Bounds=bounds, Encode=[0, 1] * len(steps))


SHADINGS = {
    "from white to red": (Name.DeviceRGB, _between((1, 1, 1), (1, 0, 0)), {"rgb"}, None),
    "greys in RGB": (Name.DeviceRGB, _between((1, 1, 1), (0, 0, 0)), {"rgb-gray"}, 100),
    "two inks": (Name.DeviceCMYK, _between((0, 0, 0, 0), (1, 0.8, 0, 0)), {"cmyk"}, 180),
    "the heaviest in the middle": (
        Name.DeviceCMYK, _between((1, 0, 0, 0), (0.9, 0.8, 0.7, 0.5), (0, 0, 0, 1)), {"cmyk", "gray"}, 290,
    ),
    "a function for each ink": (
        Name.DeviceCMYK, Array([_between((0,), (share,)) for share in (0.5, 0.4, 0.3, 0.2)]), {"cmyk"}, 140,
    ),
}  # fmt: skip


@pytest.mark.parametrize(("space", "function", "colours", "most"), SHADINGS.values(), ids=SHADINGS.keys())
def test_shadings(tmp_path: Path, space: Name, function: Any, colours: set[str], most: float | None) -> None:
    """As a ground (sh) and as a pattern; white at one end is no colour of its own."""
    shading = _axial(space, function)
    patterns = Dictionary(P=Dictionary(PatternType=2, Shading=shading))
    for content in (b"q 100 100 50 50 re W n /S sh Q", b"/Pattern cs /P scn" + SQUARE):
        page = _page(tmp_path, content, Shading=Dictionary(S=shading), Pattern=patterns)
        assert set(page.colours) - {"rgb-gray", "gray"} == colours - {"rgb-gray", "gray"}
        assert colours <= set(page.colours)
        if most is not None:
            assert page.most_ink == pytest.approx(most, abs=0.1)


def test_a_shading_of_a_small_program_is_of_its_space(tmp_path: Path) -> None:
    sheet = Sheet()
    program = Stream(sheet.pdf, b"{ dup dup 1 exch sub }")
    program.stream_dict = Dictionary(FunctionType=4, Domain=[0, 1], Range=[0, 1] * 4)
    shading = _axial(Name.DeviceCMYK, sheet.pdf.make_indirect(program))
    page = _page(tmp_path, b"/S sh", sheet, Shading=Dictionary(S=shading))
    assert (page.colours, page.most_ink) == (("cmyk",), None)


@needs_poppler
def test_poppler_sees_the_same_colours_of_pictures(tmp_path: Path) -> None:
    """Its words for an image's space: gray, rgb, cmyk, icc, index, sep, devn."""
    sheet = Sheet()
    separations = {"sep": _separation("HarbourBlue"), "devn": _device_n("Black", "HarbourBlue")}
    spaces = {"gray": Name.DeviceGray, "rgb": Name.DeviceRGB, "cmyk": Name.DeviceCMYK} | separations
    pictures: dict[str, Any] = {
        f"P{at}": picture(sheet.pdf, 30, 20, ColorSpace=space) for at, space in enumerate(spaces.values())
    }
    for image, count in zip(pictures.values(), (1, 3, 4, 1, 2), strict=True):
        image.write(b"\x10" * (600 * count))
    content = b" ".join(b"q 72 0 0 48 9 %d cm /P%d Do Q" % (60 * at, at) for at in range(len(pictures)))
    path = sheet.page(content, resources={"XObject": Dictionary(**pictures)}).save(tmp_path / "sheet.pdf")
    ours = [image.colour for image in measure(path).images]
    assert ours == ["spot" if row.colour in ("sep", "devn") else row.colour for row in pdfimages(path)]


WHITES = {
    "four inks": (b"0 0 0 0 k", {"OPM": 1}, False),
    "four inks, mode 0": (b"0 0 0 0 k", {"OPM": 0}, True),
    "grey": (b"1 g", {"OPM": 1}, True),
    "a spot ink": (b"/S cs 0 scn", {"OPM": 0}, False),
    "no overprint": (b"0 0 0 0 k", {"OPM": 1, "op": False}, True),
}


@needs_ghostscript
@pytest.mark.parametrize(("white", "keys", "prints"), WHITES.values(), ids=WHITES.keys())
def test_white_that_overprints_vanishes(tmp_path: Path, white: bytes, keys: dict[str, Any], prints: bool) -> None:
    """8.6.7. Ghostscript says how much black is left where white is laid over it."""
    state = Dictionary(OP=True, **keys)
    content = b"0 0 0 1 k" + WHOLE + b" /G gs " + white + b" BT /B 300 Tf 60 200 Td (A) Tj ET"
    resources = {"ExtGState": Dictionary(G=state), "ColorSpace": Dictionary(S=_separation("HarbourBlue"))}
    path = Sheet().page(content, resources=resources).save(tmp_path / "sheet.pdf")
    assert (black_plate(path) < 99) is prints
    assert (measure(path).pages[0].text is not None) is prints


def test_a_white_that_knocks_out_does_so_whenever_overprint_is_set(tmp_path: Path) -> None:
    """The parameters hold for the colour that is set before them too, and only while they hold."""
    over = Dictionary(OP=True, OPM=1)
    start = b"0 g" + WHOLE + b" 0 0 0 0 k q /G gs "
    text = b"BT /B 50 Tf 60 200 Td (A) Tj ET "
    assert _page(tmp_path, start + text, ExtGState=Dictionary(G=over)).text is None
    assert _page(tmp_path, start + b"Q " + text, ExtGState=Dictionary(G=over)).text is not None


KINDS = {
    "an alpha": (b"/G gs", Dictionary(ca=0.5), "alpha"),
    "a blend mode": (b"/G gs", Dictionary(BM=Array([Name.Multiply, Name.Normal])), "blend"),
    "a soft mask": (b"/G gs", Dictionary(SMask=Dictionary(S=Name.Luminosity)), "soft-mask"),
    "an alpha of strokes alone": (b"/G gs", Dictionary(CA=0.5), None),
    "set and not used": (b"q /G gs Q", Dictionary(ca=0.5), None),
    "a blend mode that nobody knows": (b"/G gs", Dictionary(BM=Name.Tern), None),
    "a list that begins with Normal": (b"/G gs", Dictionary(BM=Array([Name.Normal, Name.Multiply])), None),
}


@pytest.mark.parametrize(("before", "state", "kind"), KINDS.values(), ids=KINDS.keys())
def test_transparency_and_its_place(tmp_path: Path, before: bytes, state: Dictionary, kind: str | None) -> None:
    content = b"9 9 9 9 re f " + before + SQUARE + b" BT /B 9 Tf 72 72 Td (A) Tj ET"
    page = _page(tmp_path, content, ExtGState=Dictionary(G=state))
    assert page.transparency == (kind is not None)
    found = [(place.kind, place.box[0]) for place in page.transparency_places]
    assert found in ([], [(kind, 72)], [(kind, 100)])
    assert bool(found) == page.transparency


def _group(sheet: Sheet, content: bytes, **resources: Any) -> Stream:
    form = Stream(sheet.pdf, content)
    group = Dictionary(S=Name.Transparency)
    form.stream_dict = Dictionary(
        Type=Name.XObject, Subtype=Name.Form, BBox=[100, 100, 150, 150], Group=group, Resources=Dictionary(**resources)
    )
    return sheet.pdf.make_indirect(form)


@pytest.mark.parametrize(("alpha", "kind"), [(1, "group"), (0.5, "alpha"), (0, None)])
def test_a_group_is_laid_on_as_a_whole(tmp_path: Path, alpha: float, kind: str | None) -> None:
    """11.6.6: within it the alpha begins anew; one that is drawn with no opacity is not seen (so PDFium)."""
    sheet = Sheet()
    states: dict[str, Any] = {"G": Dictionary(ca=alpha), "O": Dictionary(ca=1)}
    form = _group(sheet, b"/O gs" + SQUARE, ExtGState=Dictionary(O=states["O"]))
    resources = {"XObject": Dictionary(F=form), "ExtGState": Dictionary(**states)}
    path = sheet.page(b"/G gs /F Do", resources=resources).save(tmp_path / "sheet.pdf")
    page = measure(path).pages[0]
    assert [(place.kind, place.box) for place in page.transparency_places] == (
        [(kind, (100, 100, 150, 150))] if kind else []
    )
    with pypdfium2.PdfDocument(path) as document:
        lightest, _ = document[0].render(grayscale=True).to_pil().getextrema()
    assert page.blank == (lightest == 255)


def test_places_tell_text_drawings_and_pictures_apart(tmp_path: Path) -> None:
    sheet = Sheet()
    image = picture(sheet.pdf, 30, 20, ColorSpace=Name.DeviceCMYK)
    image.write(b"\x80" * 2400)
    content = (
        b"1 0 0 rg BT /B 9 Tf 72 72 Td (A) Tj 0 50 Td (A) Tj ET" + SQUARE + b" q 72 0 0 48 200 200 cm /P Do Q"
        b" 0 1 0 rg 300 300 9 9 re f"
    )
    page = _page(tmp_path, content, sheet, XObject=Dictionary(P=image))
    assert [(place.colour, place.of) for place in page.coloured] == [
        ("rgb", "text"), ("rgb", "drawing"), ("cmyk", "picture"),
    ]  # fmt: skip
    assert [place.box[:2] for place in page.coloured] == [pytest.approx((72, 72)), (100, 100), (200, 200)]


def test_marks_beside_the_trimmed_page_are_no_colour_of_the_book(tmp_path: Path) -> None:
    """A printer's crop marks and colour bars."""
    content = b"/C cs 1 scn 5 5 9 0.3 re f 1 0 0 0 k 30 5 20 9 re f 0 g 100 100 9 9 re f"
    sheet = Sheet().page(
        content, resources={"ColorSpace": Dictionary(C=_separation("All"))}, TrimBox=[20, 20, 400, 600]
    )
    page = sheet.measured(tmp_path).pages[0]
    assert page.colours == ("cmyk", "gray", "registration")
    assert page.coloured == ()
    assert page.ink_places == ()


def test_the_thinnest_rule_has_its_place(tmp_path: Path) -> None:
    page = _page(tmp_path, b"1 w 50 50 m 200 50 l S 0.3 w 50 80 m 200 80 l S")
    assert page.thinnest_rule_box == pytest.approx((50, 79.85, 200, 80.15))


def test_pages_that_are_drawn_in_a_hostile_way_are_read(tmp_path: Path) -> None:
    """Loops and nonsense where a colour should be."""
    sheet = Sheet()
    loop = sheet.pdf.make_indirect(Array([Name.Indexed]))
    loop.append(loop)
    cell = _cell(sheet, b"/Pattern cs /P scn 0 0 9 9 re f")
    cell.Resources = Dictionary(Pattern=Dictionary(P=cell))
    spaces: dict[str, Any] = {"A": loop, "B": Array([Name.Indexed, Name.DeviceRGB, 1]), "C": Array([Name.DeviceN])}
    spaces |= {"D": Array([Name.ICCBased, 5]), "E": 7}
    drawn = b" ".join(b"/%s cs 1 1 1 1 scn" % key.encode() + SQUARE for key in spaces)
    content = drawn + b" /Pattern cs /P scn" + SQUARE + b" /None scn" + SQUARE + b" /S sh /T sh"
    shadings = Dictionary(S=Dictionary(ShadingType=2, Function=loop), T=3)
    page = _page(
        tmp_path, content, sheet, ColorSpace=Dictionary(**spaces), Pattern=Dictionary(P=cell), Shading=shadings
    )
    assert page.unread is None
    assert isinstance(page.most_ink, float | None)
