"""Page boxes against hand-computed values (ISO 32000-1 7.9.5 and 14.11.2) and against ``pdfinfo -box``.

Boxes are as a reader sees the page, with their origin at the lower-left corner of the trimmed page.
"""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.corpora import corpus_parameters
from tests.hostile.raw import CATALOGUE, LINE, PAGE, raw, stream
from tests.measure.build import Sheet, measured_page, size
from tests.measure.poppler import pdfinfo_boxes, seen_by_reader
from tests.measured import facts_of
from tests.needs import needs_poppler, needs_qpdf
from worker.measure import measure

WITHIN = 0.01

# (what is written, then what a reader sees: media, crop, trim; rotate, user unit)
ROWS: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "un-normalised rectangles": (
        {"media": (612, 792, 0, 0), "TrimBox": [600, 780, 12, 12]},
        {"media": (-12, -12, 600, 780), "trim": (0, 0, 588, 768)},
    ),
    "user unit": (
        {"media": (0, 0, 216, 324), "UserUnit": 2, "TrimBox": [4.5, 4.5, 211.5, 319.5]},
        {"media": (-9, -9, 423, 639), "trim": (0, 0, 414, 630), "user_unit": 2},
    ),
    "user unit 10, the size of a poster": (
        {"media": (0, 0, 1800, 3600), "UserUnit": 10},
        {"trim": (0, 0, 18000, 36000), "user_unit": 10},
    ),
    "rotate 90": ({"Rotate": 90}, {"trim": (0, 0, 648, 432), "rotate": 90}),
    "rotate 450": ({"Rotate": 450}, {"trim": (0, 0, 648, 432), "rotate": 90}),
    "rotate -90": ({"Rotate": -90}, {"trim": (0, 0, 648, 432), "rotate": 270}),
    "rotate 45 is no rotation": ({"Rotate": 45}, {"trim": (0, 0, 432, 648), "rotate": 0}),
    "crop larger than media": (
        {"CropBox": [-20, -20, 500, 700]},
        {"crop": (0, 0, 432, 648), "trim": (0, 0, 432, 648)},
    ),
    "trim larger than media is cut to it": (
        {"TrimBox": [-9, -9, 441, 657]},
        {"trim": (0, 0, 432, 648), "media": (0, 0, 432, 648)},
    ),
    "negative origin": (
        {"media": (-9, -9, 441, 657), "TrimBox": [0, 0, 432, 648]},
        {"media": (-9, -9, 441, 657), "trim": (0, 0, 432, 648)},
    ),
    "crop alone": (
        {"media": (0, 0, 450, 666), "CropBox": [9, 9, 441, 657]},
        {"crop": (0, 0, 432, 648), "trim": (0, 0, 432, 648), "bleed": (0, 0, 432, 648), "media": (-9, -9, 441, 657)},
    ),
    "four decimals": (
        {"media": (0, 0, 450, 666), "TrimBox": [9.0042, 9, 441, 657]},
        {"trim": (0, 0, 431.9958, 648), "media": (-9.0042, -9, 440.9958, 657)},
    ),
    "bleed on three sides, turned by a quarter": (
        {"media": (0, 0, 441, 666), "TrimBox": [0, 9, 432, 657], "BleedBox": [0, 0, 441, 666], "Rotate": 90},
        {"trim": (0, 0, 648, 432), "bleed": (-9, -9, 657, 432)},
    ),
    "turned by a half": (
        {"media": (0, 0, 441, 666), "TrimBox": [0, 9, 432, 657], "Rotate": 180},
        {"trim": (0, 0, 432, 648), "media": (-9, -9, 432, 657)},
    ),
}


@pytest.mark.parametrize(("written", "seen"), ROWS.values(), ids=ROWS.keys())
def test_boxes_as_a_reader_sees_them(tmp_path: Path, written: dict[str, Any], seen: dict[str, Any]) -> None:
    page = measured_page(tmp_path, **written)
    for name, value in seen.items():
        assert getattr(page, name) == pytest.approx(value, abs=1e-4), name


def test_inherited_boxes_and_rotation(tmp_path: Path) -> None:
    sheet = Sheet().page(media=None).inherit(MediaBox=[0, 0, 450, 666], CropBox=[9, 9, 441, 657], Rotate=90)
    page = sheet.measured(tmp_path).pages[0]
    assert page.trim == pytest.approx((0, 0, 648, 432))
    assert page.media == pytest.approx((-9, -9, 657, 441))
    assert set(page.declared) == {"media", "crop"}


def test_trim_and_user_unit_are_not_inherited(tmp_path: Path) -> None:
    sheet = Sheet().page(media=(0, 0, 450, 666)).inherit(TrimBox=[9, 9, 441, 657], UserUnit=2)
    page = sheet.measured(tmp_path).pages[0]
    assert page.trim == pytest.approx((0, 0, 450, 666))
    assert page.user_unit == 1
    assert set(page.declared) == {"media"}


@pytest.mark.parametrize(
    "written",
    [
        {"media": (0, 0, 0, 0)},
        {"CropBox": [1000, 1000, 1100, 1100]},
    ],
    ids=["media of no size", "crop outside the media"],
)
def test_boxes_that_leave_no_page_cost_that_page_alone(tmp_path: Path, written: dict[str, Any]) -> None:
    measurements = Sheet().page(**written).page().measured(tmp_path)
    assert len(measurements.pages) == 2
    assert all(side > 0 for side in size(measurements.pages[0].trim))
    assert measurements.pages[0].unread or measurements.document.repaired
    assert measurements.pages[1].unread is None
    assert size(measurements.pages[1].trim) == pytest.approx((432, 648))


def test_a_trim_outside_the_media_counts_as_none(tmp_path: Path) -> None:
    page = measured_page(tmp_path, media=(0, 0, 450, 666), CropBox=[9, 9, 441, 657], TrimBox=[999, 999, 1100, 1100])
    assert page.trim == pytest.approx((0, 0, 432, 648))
    assert "trim" in page.declared


def test_a_page_without_media_box_does_not_pass_for_a_letter_page(tmp_path: Path) -> None:
    """qpdf would put in a Letter media box on saving, so the bytes are written raw."""
    bare = PAGE.replace(b"/MediaBox [0 0 432 648]", b"")
    pages = b"<< /Type /Pages /Kids [3 0 R 5 0 R] /Count 2 >>"
    measurements = measure(raw(tmp_path / "sheet.pdf", [CATALOGUE, pages, bare, stream(LINE), PAGE]))
    assert "media" not in measurements.pages[0].declared
    assert measurements.pages[0].unread or measurements.document.repaired
    assert measurements.pages[1].trim == pytest.approx((0, 0, 432, 648))


@needs_poppler
@pytest.mark.parametrize("path", corpus_parameters())
def test_boxes_agree_with_pdfinfo_on_real_files(path: Path) -> None:
    """Every page; ``pdfinfo -box`` applies inheritance, defaults and clipping, but neither Rotate nor UserUnit."""
    measurements = facts_of(path)
    found = pdfinfo_boxes(path)
    assert len(found) == measurements.document.pages
    with pikepdf.open(path) as pdf:
        units = [float(page.obj.get("/UserUnit", 1)) for page in pdf.pages]
    for page, (boxes, rotate), unit in zip(measurements.pages, found, units, strict=True):
        if page.unread:
            continue
        assert page.rotate == rotate
        for name, box in boxes.items():
            assert getattr(page, name) == pytest.approx(seen_by_reader(box, boxes["trim"], rotate, unit), abs=WITHIN), (
                page.page,
                name,
            )


_coordinate = st.floats(min_value=0, max_value=40).map(lambda value: round(value, 3))


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    inset=st.tuples(_coordinate, _coordinate, _coordinate, _coordinate),
    origin=st.tuples(_coordinate, _coordinate),
    rotate=st.sampled_from([0, 90, 180, 270, 360, -90]),
    unit=st.sampled_from([1, 2, 0.5]),
    flipped=st.booleans(),
)
def test_trim_inside_media_keeps_its_size_and_place(
    tmp_path: Path,
    *,
    inset: tuple[float, float, float, float],
    origin: tuple[float, float],
    rotate: int,
    unit: float,
    flipped: bool,
) -> None:
    """Whatever the origin, the corner order, the rotation and the unit: the trim is where it was put."""
    x, y = origin
    media = (x, y, x + 432, y + 648)
    trim = (x + inset[0], y + inset[1], x + 432 - inset[2], y + 648 - inset[3])
    written = (trim[2], trim[3], trim[0], trim[1]) if flipped else trim
    page = measured_page(tmp_path, media=media, TrimBox=list(written), Rotate=rotate, UserUnit=unit)
    assert page.trim == pytest.approx(seen_by_reader(trim, trim, rotate % 360, unit), abs=1e-3)
    assert page.media == pytest.approx(seen_by_reader(media, trim, rotate % 360, unit), abs=1e-3)


@pytest.mark.parametrize(
    ("written", "beyond"),
    [
        ({"TrimBox": [-9, -9, 441, 657]}, {"trim": (-9, -9, 441, 657)}),
        ({"TrimBox": [0, 0, 432, 648], "BleedBox": [-9, -9, 441, 657]}, {"bleed": (-9, -9, 441, 657)}),
        ({"CropBox": [-20, -20, 500, 700]}, {"crop": (-20, -20, 500, 700)}),
        ({"ArtBox": [999, 999, 1100, 1100]}, {"art": (999, 999, 1100, 1100)}),
        ({"TrimBox": [441, 657, -9, -9], "Rotate": 90}, {"trim": (-9, -9, 657, 441)}),
        ({"TrimBox": [-9, -9, 432, 648], "UserUnit": 2}, {"trim": (-18, -18, 864, 1296)}),
        ({"TrimBox": [9, 9, 423, 639], "BleedBox": [0, 0, 432, 648]}, {}),
    ],
)
def test_boxes_beyond_the_media_are_kept_as_written(
    tmp_path: Path, written: dict[str, Any], beyond: dict[str, tuple[float, ...]]
) -> None:
    """ISO 32000-1 14.11.2.1: boxes that extend beyond the media box are reduced to their intersection with it."""
    page = measured_page(tmp_path, **written)
    assert set(page.beyond_media) == set(beyond)
    for name, box in beyond.items():
        assert page.beyond_media[name] == pytest.approx(box), name  # type: ignore[index]
        assert getattr(page, name) == pytest.approx(intersected(box, page.media)), name


def intersected(box: tuple[float, ...], media: tuple[float, ...]) -> tuple[float, ...]:
    """The part of the box within the media; the media where there is none (the defaults of Table 30)."""
    cut = (max(box[0], media[0]), max(box[1], media[1]), min(box[2], media[2]), min(box[3], media[3]))
    return cut if cut[0] < cut[2] and cut[1] < cut[3] else media


@needs_qpdf
def test_what_is_written_is_what_qpdf_finds_in_the_file(tmp_path: Path) -> None:
    """``qpdf --json`` lists the page's dictionary untouched."""
    path = Sheet().page(TrimBox=[-9, -9, 441, 657], BleedBox=[-18, -18, 450, 666]).save(tmp_path / "sheet.pdf")
    told = subprocess.run(["qpdf", "--json", "--json-key=qpdf", path], capture_output=True, check=True, text=True)
    objects = json.loads(told.stdout)["qpdf"][1].values()
    (dictionary,) = [each["value"] for each in objects if "/TrimBox" in str(each.get("value"))]
    page = measure(path).pages[0]
    assert page.beyond_media["trim"] == pytest.approx(dictionary["/TrimBox"])
    assert page.beyond_media["bleed"] == pytest.approx(dictionary["/BleedBox"])
