"""How much ink is asked for, of marks by what the file says and of pictures by their pixels. Ghostscript checks."""

from __future__ import annotations

import io
import zlib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pikepdf import Array, Dictionary, Name, Stream, String
from PIL import Image, ImageChops

from tests.measure.build import Sheet, picture
from tests.measure.ghostscript import heaviest
from tests.needs import needs_ghostscript
from worker.measure import measure, picture_inks
from worker.measure.colour import CMYK
from worker.measure.models import Page

SQUARE = b" 100 100 50 50 re f"
PLACED = b" q 144 0 0 96 72 72 cm /P Do Q"
"""300 by 200 pixels at 150 to the inch: two to each side of what 72 to the inch shows."""
WIDTH, HEIGHT = 300, 200


def _page(folder: Path, content: bytes, sheet: Sheet | None = None, **resources: object) -> Page:
    return (sheet or Sheet()).page(content, resources=resources).measured(folder).pages[0]


PATCHES = {
    "four inks": b"0.6 0.4 0.4 1 k",
    "near the limit of a press": b"0.75 0.68 0.67 0.9 k",
    "all": b"1 1 1 1 k",
    "one": b"0.3 0 0 0 k",
    "black": b"0 g",
    "half a grey": b"0.5 g",
    "text": b"0.7 0.6 0.5 0.4 k BT /B 90 Tf 200 300 Td (A) Tj ET 0 g",
}


@needs_ghostscript
@pytest.mark.parametrize("patch", PATCHES.values(), ids=PATCHES.keys())
def test_a_patch_has_the_ink_that_ghostscript_lays_on_it(tmp_path: Path, patch: bytes) -> None:
    path = Sheet().page(patch + SQUARE).save(tmp_path / "sheet.pdf")
    assert measure(path).pages[0].most_ink == pytest.approx(heaviest(path), abs=0.8)  # a byte an ink


def test_spot_inks_add_theirs(tmp_path: Path) -> None:
    tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[1, 0, 0, 0], N=1)
    space = Array([Name.DeviceN, Array([Name.Black, Name.HarbourBlue, Name("/None")]), Name.DeviceCMYK, tint])
    page = _page(tmp_path, b"/C cs 0.8 0.9 1 scn" + SQUARE, ColorSpace=Dictionary(C=space))
    assert page.most_ink == pytest.approx(170)
    (place,) = page.ink_places
    assert (place.of, place.inks, place.bound) == ("drawing", {"Black": 80, "HarbourBlue": 90}, False)


@given(st.lists(st.floats(-1, 2), min_size=4, max_size=4))
def test_a_sum_is_between_none_and_four_full_inks(values: list[float]) -> None:
    paint = CMYK.paint(values)
    assert paint.ink is not None
    assert 0 <= paint.ink <= 400
    assert paint.ink == pytest.approx(sum(share for _, share in paint.inks), abs=0.5)


def test_where_the_heaviest_of_each_kind_stands(tmp_path: Path) -> None:
    content = (
        b"0.5 0.5 0.5 0 k" + SQUARE + b" 0.9 0.9 0.9 0 k 200 300 9 9 re f 1 1 0 0.5 k BT /B 9 Tf 72 500 Td (A) Tj ET"
    )
    places = {place.of: place for place in _page(tmp_path, content).ink_places}
    assert places["drawing"].box == (200, 300, 209, 309)
    assert places["drawing"].percent == pytest.approx(270)
    assert places["text"].box == pytest.approx((72, 500, 81, 509))
    assert not places["drawing"].bound


BOUNDS = {
    "under another": (b"1 1 0 0 k" + SQUARE + b" 0 g 120 120 9 9 re f", True),
    "over another": (b"0 g 120 120 9 9 re f 1 1 0 0 k" + SQUARE, True),
    "under a text": (b"1 1 0 0 k" + SQUARE + b" 0 g BT /B 9 Tf 120 120 Td (A) Tj ET", True),
    "beside another": (b"1 1 0 0 k" + SQUARE + b" 0 g 150 100 9 9 re f", False),
    "overprinting": (b"/G gs 1 1 0 0 k" + SQUARE, True),
}


@pytest.mark.parametrize(("content", "bound"), BOUNDS.values(), ids=BOUNDS.keys())
def test_a_figure_is_a_bound_where_marks_lie_over_each_other(tmp_path: Path, content: bytes, bound: bool) -> None:
    (place,) = _page(tmp_path, content, ExtGState=Dictionary(G=Dictionary(OP=True))).ink_places
    assert place.percent == pytest.approx(200)
    assert place.bound is bound


def test_mixed_text_is_told_by_inks_and_sizes(tmp_path: Path) -> None:
    content = (
        b"0.6 0.4 0.4 1 k BT /B 20 Tf 72 500 Td (A) Tj /B 9 Tf 0 50 Td (A) Tj ET 0 0 0 1 k BT /B 5 Tf 9 9 Td (A) Tj ET"
    )
    (text,) = _page(tmp_path, content).mixed_text
    assert text.inks == {"Cyan": 60, "Magenta": 40, "Yellow": 40, "Black": 100}
    assert text.sizes == pytest.approx((9, 20))
    assert text.box == pytest.approx((72, 550, 81, 559))


def _photograph() -> Image.Image:
    """Dark at one corner and light at the other, in four inks, without noise; the heaviest is 1 0.8 0.6 0.7."""
    ramp = Image.linear_gradient("L").resize((WIDTH, HEIGHT))
    return Image.merge(
        "CMYK", [ramp.point(lambda ink, share=share: round(ink * share)) for share in (1, 0.8, 0.6, 0.7)]
    )


def _jpeg(inks: Image.Image) -> bytes:
    """Pillow writes what Adobe programs do: an Adobe marker, samples turned round."""
    out = io.BytesIO()
    inks.save(out, "JPEG", quality=95)
    return out.getvalue()


TURNED = [1, 0] * 4
CMYK_PICTURES: dict[str, tuple[bytes, dict[str, Any]]] = {
    "plain": (_photograph().tobytes(), {}),
    "deflated": (zlib.compress(_photograph().tobytes()), {"Filter": Name.FlateDecode}),
    "turned round": (ImageChops.invert(_photograph()).tobytes(), {"Decode": TURNED}),
    "JPEG as Adobe programs write it": (_jpeg(_photograph()), {"Filter": Name.DCTDecode, "Decode": TURNED}),
    "JPEG, not turned round": (_jpeg(ImageChops.invert(_photograph())), {"Filter": Name.DCTDecode}),
}


def _picture(sheet: Sheet, data: bytes, width: int = WIDTH, height: int = HEIGHT, **keys: Any) -> Stream:
    image = picture(sheet.pdf, width, height, **{"ColorSpace": Name.DeviceCMYK, **keys})
    image.write(data, filter=keys.get("Filter"))
    return image


def _placed(folder: Path, data: bytes, content: bytes = PLACED, **keys: Any) -> Path:
    sheet = Sheet()
    resources = {"XObject": Dictionary(P=_picture(sheet, data, **keys))}
    return sheet.page(content, resources=resources).save(folder / "sheet.pdf")


@needs_ghostscript
@pytest.mark.parametrize(("data", "keys"), CMYK_PICTURES.values(), ids=CMYK_PICTURES.keys())
def test_a_picture_has_the_ink_that_ghostscript_lays_on_it(tmp_path: Path, data: bytes, keys: dict[str, Any]) -> None:
    """Ghostscript takes a pixel of those that fall on one spot, and this their mean: within 3 percent of each other."""
    path = _placed(tmp_path, data, **keys)
    measured = measure(path)
    (image,) = measured.images
    assert image.ink == pytest.approx(heaviest(path), abs=3)
    (place,) = measured.pages[0].ink_places
    assert (place.of, place.percent, place.bound) == ("picture", image.ink, False)
    assert measured.pages[0].most_ink == image.ink


def test_a_palette_of_four_inks(tmp_path: Path) -> None:
    """The entries that are used count."""
    table = String(bytes((255, 255, 255, 255, 255, 128, 0, 0, 0, 0, 0, 255)))
    space = Array([Name.Indexed, Name.DeviceCMYK, 2, table])
    path = _placed(tmp_path, b"\x01\x02" * (WIDTH * HEIGHT // 2), ColorSpace=space)
    assert measure(path).images[0].ink == pytest.approx(150.2, abs=0.1)


def test_one_stray_pixel_makes_no_spot_of_ink(tmp_path: Path) -> None:
    """At about 72 pixels to the inch; nor is a picture that is placed larger than that reduced at all."""
    stray = bytes((255,) * 4) + bytes((25,) * 4) * (WIDTH * HEIGHT - 1)
    assert measure(_placed(tmp_path, stray)).images[0].ink == pytest.approx((400 + 3 * 39.2) / 4, abs=1)
    large = b"q 300 0 0 200 72 72 cm /P Do Q"
    assert measure(_placed(tmp_path, stray, large)).images[0].ink == pytest.approx(400)


def test_a_picture_that_is_cut_or_masked_is_a_bound(tmp_path: Path) -> None:
    dark = b"\xc0" * (4 * WIDTH * HEIGHT)
    cut = b"80 80 40 40 re W n " + PLACED
    assert measure(_placed(tmp_path, dark, cut)).pages[0].ink_places[0].bound
    sheet = Sheet()
    image = _picture(sheet, dark, SMask=picture(sheet.pdf))
    page = _page(tmp_path, PLACED, sheet, XObject=Dictionary(P=image))
    assert page.ink_places[0].bound
    assert [place.kind for place in page.transparency_places] == ["soft-mask"]


NOT_READ: dict[str, tuple[bytes, dict[str, Any]]] = {
    "JPEG 2000": (b"\xc0" * 99, {"Filter": Name.JPXDecode}),
    "a JPEG of another size": (_jpeg(_photograph()), {"Filter": Name.DCTDecode, "Width": 299}),
    "a JPEG that is cut off": (_jpeg(_photograph())[:300], {"Filter": Name.DCTDecode}),
    "an unusual Decode": (b"\xc0" * 240_000, {"Decode": [0, 0.5] * 4}),
    "samples that are missing": (b"\xc0" * 9, {}),
    "16 bits": (b"\xc0" * 480_000, {"BitsPerComponent": 16}),
    "larger than is looked into": (b"\xc0" * 9, {"Width": 60_000, "Height": 60_000}),
}


@pytest.mark.parametrize(("data", "keys"), NOT_READ.values(), ids=NOT_READ.keys())
def test_what_cannot_be_read_is_not_known(tmp_path: Path, data: bytes, keys: dict[str, Any]) -> None:
    page = measure(_placed(tmp_path, data, **keys))
    assert page.images[0].ink is None
    assert page.pages[0].colours == ("cmyk",)
    assert page.pages[0].most_ink is None


def test_a_page_has_only_so_much_looked_into(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(picture_inks, "MOST_A_PAGE", 3 * 4 * WIDTH * HEIGHT)
    dark = b"\xc0" * (4 * WIDTH * HEIGHT)
    inks = [image.ink for image in measure(_placed(tmp_path, dark, PLACED * 4)).images]
    assert [ink is None for ink in inks] == [False] * 3 + [True]


def _jpeg_in_rgb(colour: tuple[int, int, int]) -> bytes:
    out = io.BytesIO()
    ramp = Image.linear_gradient("L").resize((WIDTH, HEIGHT))
    scan = Image.merge("RGB", [ramp.point(lambda light, share=share: light * share // 255) for share in colour])
    scan.save(out, "JPEG", quality=80)
    return out.getvalue()


def _palette(colour: bytes) -> dict[str, Any]:
    return {"ColorSpace": Array([Name.Indexed, Name.DeviceRGB, 0, String(colour)])}


RGB: dict[str, tuple[bytes, dict[str, Any], str]] = {
    "equal samples": (b"\x80" * (3 * WIDTH * HEIGHT), {}, "rgb-gray"),
    "one that differs": (b"\x80" * (3 * WIDTH * HEIGHT - 3) + b"\x80\0\0", {}, "rgb"),
    "a grey scan as JPEG": (_jpeg_in_rgb((255, 255, 255)), {"Filter": Name.DCTDecode}, "rgb-gray"),
    "a brown one": (_jpeg_in_rgb((255, 220, 200)), {"Filter": Name.DCTDecode}, "rgb"),
    "a palette of greys": (bytes(WIDTH * HEIGHT), _palette(b"\x33\x33\x33"), "rgb-gray"),
    "a palette of colours": (bytes(WIDTH * HEIGHT), _palette(b"\x33\x33\x99"), "rgb"),
}


@pytest.mark.parametrize(("data", "keys", "colour"), RGB.values(), ids=RGB.keys())
def test_a_picture_in_rgb_may_be_grey(tmp_path: Path, data: bytes, keys: dict[str, Any], colour: str) -> None:
    measured = measure(_placed(tmp_path, data, **{"ColorSpace": Name.DeviceRGB, **keys}))
    assert measured.pages[0].colours == (colour,)
    assert measured.images[0].colour in ("rgb", "indexed-rgb")
