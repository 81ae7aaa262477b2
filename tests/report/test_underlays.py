"""Pictures under the marks of a plate: a mark lies on the ink of its page, whatever its boxes, rotation and unit.

The pages are those of :mod:`tests.report.test_pictures`, each with one red square whose place was worked out by hand
from ISO 32000-1. PDFium draws the square; the mark over it stands where the plate's drawing puts it.
"""

from __future__ import annotations

import io
import json
import re
import subprocess
import sys
from pathlib import Path

import pikepdf
import pytest
from PIL import Image, ImageChops, ImageStat

from tests.report.test_pictures import CASES, Case, red, write
from worker.measure import measure
from worker.measure.models import Box, Measurements
from worker.report.drawing import DrawnMark
from worker.report.plate import plate
from worker.report.underlay import LARGEST_PICTURE, PictureOrder, Wanted, place_of, wanted_of
from worker.report.underlays import draw_pages, packed

PIXEL = 2.0
"""Units of a plate that are one CSS pixel."""


def drawn(path: Path, *wanted: Wanted) -> dict[int, bytes]:
    """What the child leaves."""
    draw_pages(path, PictureOrder(pages=wanted), path.parent)
    return {int(found.stem): found.read_bytes() for found in path.parent.glob("*.webp")}


def wanted_from(measurements: Measurements, page: int = 1) -> Wanted:
    found = wanted_of(measurements.pages[page - 1])
    assert found is not None
    return found


def marked(measurements: Measurements, box: Box) -> tuple[float, ...]:
    """The outline of a mark on the plate of the first page: left, top, right, bottom in units."""
    mark = DrawnMark(page=1, box=box, text="")
    outline = re.search(
        r'class="hatch" d="M(\S+) (\S+)H(\S+)V(\S+)H',
        plate(measurements.pages[0], (), None, [mark], 14.0, pictured=True),
    )
    assert outline is not None
    return tuple(float(side) for side in outline.groups())


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_a_mark_lies_on_the_ink_of_the_picture(case: Case, tmp_path: Path) -> None:
    measurements = measure(write(case, tmp_path / "page.pdf"))
    (data,) = drawn(tmp_path / "page.pdf", wanted_from(measurements)).values()
    picture, place = Image.open(io.BytesIO(data)), place_of(measurements.pages[0])
    assert place is not None
    left, top, right, bottom = red(picture)
    across, down = place.width / picture.width, place.height / picture.height
    inked = (place.x + left * across, place.y + top * down, place.x + right * across, place.y + bottom * down)
    assert inked == pytest.approx(marked(measurements, case.square), abs=PIXEL)


def test_a_picture_has_two_pixels_for_one_of_the_plate(tmp_path: Path) -> None:
    """A unit of the plate is half a CSS pixel: a pixel of the picture each, so that fine screens show it sharp."""
    measurements = measure(write(CASES["plain"], tmp_path / "page.pdf"))
    (data,) = drawn(tmp_path / "page.pdf", wanted_from(measurements)).values()
    place = place_of(measurements.pages[0])
    assert place is not None
    assert Image.open(io.BytesIO(data)).size == (round(place.width), round(place.height))


def test_a_page_that_is_seen_otherwise_has_none(tmp_path: Path) -> None:
    """Another reader's box: it is not known where on the picture the marks would have to stand."""
    wanted = wanted_from(measure(write(CASES["plain"], tmp_path / "page.pdf")))
    assert drawn(tmp_path / "page.pdf", wanted.model_copy(update={"crop": (0.0, 0.0, 500.0, 100.0)})) == {}


def test_a_page_that_the_renderer_does_not_find_costs_itself(tmp_path: Path) -> None:
    wanted = wanted_from(measure(write(CASES["plain"], tmp_path / "page.pdf")))
    absent = [wanted.model_copy(update={"page": page}) for page in (0, 2, 999)]
    assert set(drawn(tmp_path / "page.pdf", *absent, wanted)) == {1}


def test_absurd_pages_have_small_pictures_or_none(tmp_path: Path) -> None:
    """14,400 units is the format's largest side (ISO 32000-1 Annex C, from memory); here with a UserUnit of ten."""
    for width, height in ((14400, 14400), (14400, 3), (3, 14400)):
        seen = (0.0, 0.0, width * 10.0, height * 10.0)
        case = Case((0, 0, width, height), {"UserUnit": 10}, seen, seen, seen, (600, 1000, 1000, 1600))
        found = wanted_of(measure(write(case, tmp_path / "page.pdf")).pages[0])
        assert found is not None
        assert max(found.size) <= 700
        for data in drawn(tmp_path / "page.pdf", found).values():
            assert Image.open(io.BytesIO(data)).size == found.size


def test_a_file_with_an_owner_password_alone_is_pictured(tmp_path: Path) -> None:
    path = write(CASES["plain"], tmp_path / "locked.pdf", encryption=pikepdf.Encryption(owner="tide", user="", R=6))
    assert set(drawn(path, wanted_from(measure(path)))) == {1}


def test_greys_stay_within_a_sixteenth_and_colour_stays_colour() -> None:
    """Pillow's own reading of what was packed, against what it was made of."""
    grey = Image.linear_gradient("L").convert("RGB")
    data = packed(grey)
    assert (data[:4], data[8:12]) == (b"RIFF", b"WEBP"), "RFC 9649, 2.4"
    again = Image.open(io.BytesIO(data)).convert("RGB")
    assert max(ImageChops.difference(grey, again).tobytes()) <= 255 / 15 / 2 + 1
    red_, green, blue = again.split()
    assert red_.tobytes() == green.tobytes() == blue.tobytes()
    colour = Image.merge(
        "RGB", (Image.linear_gradient("L"), Image.radial_gradient("L"), Image.new("L", (256, 256), 90))
    )
    coded = Image.open(io.BytesIO(packed(colour))).convert("RGB")
    assert max(ImageStat.Stat(ImageChops.difference(colour, coded)).rms) < 8


def test_noise_has_no_picture_that_is_too_large(tmp_path: Path) -> None:
    """A page that no format packs well: it may have a picture of the size allowed, or none."""
    noise = Image.effect_noise((1200, 1800), 120).convert("RGB")
    noise.save(tmp_path / "noise.pdf", resolution=200)
    found = drawn(tmp_path / "noise.pdf", wanted_from(measure(tmp_path / "noise.pdf")))
    assert all(len(data) <= LARGEST_PICTURE for data in found.values())
    assert set(found) <= {1}


def run_child(folder: Path, file: Path, request: str) -> subprocess.CompletedProcess[str]:
    (folder / "request.json").write_text(request)
    paths = [str(file), str(folder), "--request", str(folder / "request.json")]
    command = [sys.executable, "-m", "worker.report.underlays", *paths]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)


def test_the_child_says_how_far_it_is(tmp_path: Path) -> None:
    path = write(CASES["bleed"], tmp_path / "page.pdf")
    done = run_child(tmp_path, path, PictureOrder(pages=(wanted_from(measure(path)),)).model_dump_json())
    assert (done.returncode, done.stderr) == (0, "")
    assert [json.loads(line) for line in done.stdout.splitlines()] == [{"done": 0, "total": 1}, {"done": 1, "total": 1}]
    assert sorted(found.name for found in tmp_path.iterdir()) == ["1.webp", "page.pdf", "request.json"]


@pytest.mark.parametrize(
    ("content", "request_"),
    [(b"%PDF-1.7\nnothing more", '{"pages": []}'), (None, "{")],
    ids=["damaged", "a request that is none"],
)
def test_a_fault_is_one_line_of_json(content: bytes | None, request_: str, tmp_path: Path) -> None:
    path = write(CASES["plain"], tmp_path / "page.pdf")
    if content is not None:
        path.write_bytes(content)
    done = run_child(tmp_path, path, request_)
    assert done.returncode == 1
    told = json.loads(done.stdout.splitlines()[-1])
    assert (set(told), told["passes"]) == ({"fault", "passes"}, False)
    assert "Traceback" not in done.stderr
    assert not list(tmp_path.glob("*.webp"))
