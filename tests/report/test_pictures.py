"""Pictures of pages: what is drawn over a page lies where the page has it, whatever its boxes, rotation and unit.

Each page holds one red square. PDFium draws the square; the mark over it is placed by the facts of the page, worked
out by hand from ISO 32000-1 14.11.2 (boxes), 8.3.2.3 (UserUnit) and Table 30 (Rotate). The two must coincide.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any, NamedTuple

import pikepdf
import pypdfium2 as pdfium
import pytest
from PIL import Image

from worker.measure.models import Box
from worker.report.drawing import Drawing, DrawnMark
from worker.report.overlay import INK, VERDIGRIS
from worker.report.pictures import LONGEST_SIDE, MOST_PIXELS, draw_page, main

SQUARE = (60, 100, 100, 160)
"""Where the red square lies in the page's own frame: 40 wide, 60 high."""
DPI = 144.0


class Case(NamedTuple):
    """A page as written, and as a reader sees it: its boxes and its square, by hand."""

    media: tuple[float, float, float, float]
    keys: dict[str, object]
    seen: Box
    crop: Box
    trim: Box
    square: Box


CASES = {
    "plain": Case((0, 0, 200, 300), {}, (0, 0, 200, 300), (0, 0, 200, 300), (0, 0, 200, 300), (60, 100, 100, 160)),
    # 9 pt of bleed all round: the trimmed corner is the origin.
    "bleed": Case(
        (-9, -9, 209, 309),
        {"TrimBox": [0, 0, 200, 300], "BleedBox": [-9, -9, 209, 309]},
        (-9, -9, 209, 309),
        (-9, -9, 209, 309),
        (0, 0, 200, 300),
        (60, 100, 100, 160),
    ),
    # Turned clockwise: a point (x, y) of a page 200 wide is seen at (y, 200 - x).
    "rotate 90": Case(
        (0, 0, 200, 300), {"Rotate": 90}, (0, 0, 300, 200), (0, 0, 300, 200), (0, 0, 300, 200), (100, 100, 160, 140)
    ),
    "rotate 180": Case(
        (0, 0, 200, 300), {"Rotate": 180}, (0, 0, 200, 300), (0, 0, 200, 300), (0, 0, 200, 300), (100, 140, 140, 200)
    ),
    # (x, y) of a page 300 high is seen at (300 - y, x).
    "rotate 270": Case(
        (0, 0, 200, 300), {"Rotate": 270}, (0, 0, 300, 200), (0, 0, 300, 200), (0, 0, 300, 200), (140, 60, 200, 100)
    ),
    "user unit 2": Case(
        (0, 0, 200, 300), {"UserUnit": 2}, (0, 0, 400, 600), (0, 0, 400, 600), (0, 0, 400, 600), (120, 200, 200, 320)
    ),
    # The crop hides 20 on the left and 10 at the foot; the picture shows them all the same.
    "crop within media": Case(
        (0, 0, 200, 300),
        {"CropBox": [20, 10, 190, 280]},
        (-20, -10, 180, 290),
        (0, 0, 170, 270),
        (0, 0, 170, 270),
        (40, 90, 80, 150),
    ),
    # Turned and cropped and enlarged: own (x, y) is seen at (2 (y - 10), 2 (190 - x)).
    "everything at once": Case(
        (0, 0, 200, 300),
        {"CropBox": [20, 10, 190, 280], "Rotate": 90, "UserUnit": 2},
        (-20, -20, 580, 380),
        (0, 0, 540, 340),
        (0, 0, 540, 340),
        (180, 180, 300, 260),
    ),
    # (x, y) is seen at (280 - y, x - 20).
    "rotate 270, cropped": Case(
        (0, 0, 200, 300),
        {"CropBox": [20, 10, 190, 280], "Rotate": 270},
        (-20, -20, 280, 180),
        (0, 0, 270, 170),
        (0, 0, 270, 170),
        (120, 40, 180, 80),
    ),
    # (x, y) is seen at (190 - x, 280 - y).
    "rotate 180, cropped": Case(
        (0, 0, 200, 300),
        {"CropBox": [20, 10, 190, 280], "Rotate": 180},
        (-10, -20, 190, 280),
        (0, 0, 170, 270),
        (0, 0, 170, 270),
        (90, 120, 130, 180),
    ),
}


def write(case: Case, path: Path, **save: Any) -> Path:
    x0, y0, x1, y1 = SQUARE
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        page = pdf.pages[0].obj
        page.MediaBox = list(case.media)
        for key, value in case.keys.items():
            page[f"/{key}"] = value
        page.Contents = pdf.make_stream(f"1 0 0 rg {x0} {y0} {x1 - x0} {y1 - y0} re f".encode())
        pdf.save(path, **save)
    return path


def red(picture: Image.Image) -> tuple[int, int, int, int]:
    """The pixels that are more red than anything else: left, top, right, bottom."""
    bands = picture.convert("RGB").split()
    others = Image.merge("RGB", (bands[1], bands[2], bands[2])).convert("L")
    strong = bands[0].point(lambda value: 255 if value > 190 else 0)
    weak = others.point(lambda value: 255 if value < 70 else 0)
    both = Image.composite(strong, Image.new("L", picture.size, 0), weak)
    found = both.getbbox()
    assert found is not None, "no red square in the picture"
    return found


def of_colour(picture: Image.Image, colour: tuple[int, int, int]) -> tuple[int, int, int, int]:
    """The box of the pixels that are almost of one colour."""
    bands = picture.convert("RGB").split()
    masks = [
        band.point(lambda value, wanted=wanted: 255 if abs(value - wanted) < 12 else 0)
        for band, wanted in zip(bands, colour, strict=True)
    ]
    clear = Image.new("L", picture.size, 0)
    found = Image.composite(Image.composite(masks[0], clear, masks[1]), clear, masks[2]).getbbox()
    assert found is not None, "nothing of that colour in the picture"
    return found


def drawing(case: Case, **more: object) -> Drawing:
    return Drawing.model_validate({"media": case.seen, "crop": case.crop, "trim": case.trim, "dpi": DPI} | more)


def picture(case: Case, folder: Path, **more: object) -> Image.Image:
    path = write(case, folder / "page.pdf")
    draw_page(path, 1, drawing=drawing(case, **more), out=folder / "page.png")
    return Image.open(folder / "page.png")


def near(one: tuple[int, ...], other: tuple[float, ...], within: float) -> bool:
    return all(abs(a - b) <= within for a, b in zip(one, other, strict=True))


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_the_picture_shows_the_whole_media_at_the_readers_inch(case: Case, tmp_path: Path) -> None:
    drawn = picture(case, tmp_path)
    x0, y0, x1, y1 = case.seen
    assert near(drawn.size, ((x1 - x0) * DPI / 72, (y1 - y0) * DPI / 72), 1)


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_the_square_is_where_the_facts_say(case: Case, tmp_path: Path) -> None:
    """The expectation itself: PDFium's own pixels of the square against the box worked out by hand."""
    x0, _, _, y1 = case.seen
    left, foot, right, head = case.square
    expected = tuple(side * DPI / 72 for side in (left - x0, y1 - head, right - x0, y1 - foot))
    assert near(red(picture(case, tmp_path)), expected, 1.5)


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_a_mark_lies_on_what_it_marks(case: Case, tmp_path: Path) -> None:
    """The outline of the mark, and the live area drawn around the square, against PDFium's pixels of the square."""
    square = red(picture(case, tmp_path))
    marked = picture(case, tmp_path, live_area=case.square)
    assert near(of_colour(marked, VERDIGRIS), square, 3)
    left, top, right, bottom = square
    hatched = picture(case, tmp_path, marks=[DrawnMark(page=1, box=case.square, text="")]).convert("RGB")
    inked = of_colour(hatched.crop((left - 8, top - 8, right + 8, bottom + 8)), INK)
    assert inked[2] - inked[0] >= right - left - 3
    assert inked[3] - inked[1] >= bottom - top - 3


def test_plain_rendering_agrees_with_pdfium_alone(tmp_path: Path) -> None:
    """With nothing to draw over it, the picture is PDFium's own, pixel by pixel."""
    case = CASES["rotate 90"]
    drawn = picture(case, tmp_path)
    alone = pdfium.PdfDocument(tmp_path / "page.pdf")[0].render(scale=DPI / 72).to_pil().convert("RGB")
    assert drawn.tobytes() == alone.tobytes()


def test_a_distance_is_drawn_from_the_trimmed_edge_to_the_ink(tmp_path: Path) -> None:
    case = CASES["plain"]
    mark = DrawnMark(page=1, box=case.square, text="60 pt", edge="left")
    marked = picture(case, tmp_path, marks=[mark]).convert("RGB")
    y = round((300 - 130) * DPI / 72)
    row = marked.crop((4, y, round(60 * DPI / 72), y + 1))
    assert max(row.tobytes()) < 120, "the line is broken between the edge and the ink"


def _pixels(left: float, top: float, right: float, foot: float) -> tuple[int, int, int, int]:
    scale = DPI / 72
    return round(left * scale), round(top * scale), round(right * scale), round(foot * scale)


def test_what_passes_the_live_area_alone_is_hatched(tmp_path: Path) -> None:
    case = CASES["plain"]
    live = (80.0, 20.0, 180.0, 280.0)
    marked = picture(case, tmp_path, live_area=live, marks=[DrawnMark(page=1, box=case.square, text="")])
    inside = marked.convert("RGB").crop(_pixels(83, 145, 98, 195))
    assert inside.getcolors() == [(inside.width * inside.height, (255, 0, 0))]
    outside = marked.convert("RGB").crop(_pixels(62, 145, 78, 195))
    assert min(outside.convert("L").tobytes()) < 60


def test_a_long_text_and_a_mark_off_the_page_stay_on_the_picture(tmp_path: Path) -> None:
    case = CASES["plain"]
    marks = [
        DrawnMark(page=1, box=(-50, -50, -20, -20), text="far off " * 40),
        DrawnMark(page=1, box=(190, 290, 260, 340), text="\x1b[1m<b>中", edge="right"),
    ]
    drawn = picture(case, tmp_path, marks=marks)
    assert near(drawn.size, (400, 600), 1)


def test_an_absurd_page_is_drawn_within_bounds(tmp_path: Path) -> None:
    """14,400 units is the format's largest side (ISO 32000-1 Annex C, from memory); here with a UserUnit of ten."""
    for width, height in ((14400, 14400), (14400, 3), (3, 14400)):
        seen = (0.0, 0.0, width * 10.0, height * 10.0)
        case = Case((0, 0, width, height), {"UserUnit": 10}, seen, seen, seen, (600, 1000, 1000, 1600))
        drawn = picture(case, tmp_path, live_area=(0, 0, 30, 30))
        assert drawn.width * drawn.height <= MOST_PIXELS * 1.01
        assert max(drawn.size) <= LONGEST_SIDE + 1


def test_facts_that_do_not_fit_the_page_leave_its_own_proportions(tmp_path: Path) -> None:
    """Where another reader took another box than PDFium does, the picture is still one of the page, undistorted."""
    drawn = picture(CASES["plain"]._replace(seen=(0, 0, 500, 100), crop=(0, 0, 500, 100)), tmp_path)
    assert drawn.width / drawn.height == pytest.approx(200 / 300, rel=0.01)
    left, top, right, bottom = red(drawn)
    assert (right - left) / (bottom - top) == pytest.approx(40 / 60, rel=0.05)


def test_a_file_with_an_owner_password_alone_is_drawn(tmp_path: Path) -> None:
    case = CASES["plain"]
    path = write(case, tmp_path / "locked.pdf", encryption=pikepdf.Encryption(owner="tide", user="", R=6))
    draw_page(path, 1, drawing=drawing(case), out=tmp_path / "page.png")
    assert near(red(Image.open(tmp_path / "page.png")), (120, 280, 200, 400), 1.5)


def run_child(folder: Path, file: Path, page: int, request: str) -> subprocess.CompletedProcess[str]:
    (folder / "request.json").write_text(request)
    command: list[str | Path] = [sys.executable, "-m", "worker.report.pictures", file, str(page), folder / "out.png"]
    return subprocess.run(
        [*command, "--request", folder / "request.json"], capture_output=True, text=True, check=False, timeout=60
    )


def test_the_child_draws_and_leaves_no_temporary_file(tmp_path: Path) -> None:
    case = CASES["bleed"]
    path = write(case, tmp_path / "page.pdf")
    done = run_child(tmp_path, path, 1, drawing(case).model_dump_json())
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert sorted(found.name for found in tmp_path.iterdir()) == ["out.png", "page.pdf", "request.json"]
    assert Image.open(tmp_path / "out.png").format == "PNG"


@pytest.mark.parametrize(
    ("content", "page", "request_"),
    [
        (b"%PDF-1.7\nnothing more", 1, None),
        (None, 2, None),
        (None, 0, None),
        (None, 1, "{"),
    ],
    ids=["damaged", "past the last page", "page nought", "a request that is none"],
)
def test_a_fault_is_one_line_of_json_and_no_picture(
    content: bytes | None, page: int, request_: str | None, tmp_path: Path
) -> None:
    case = CASES["plain"]
    path = write(case, tmp_path / "page.pdf")
    if content is not None:
        path.write_bytes(content)
    done = run_child(tmp_path, path, page, request_ if request_ is not None else drawing(case).model_dump_json())
    assert done.returncode == 1
    told = json.loads(done.stdout.splitlines()[-1])
    assert (set(told), told["passes"]) == ({"fault", "passes"}, False)
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "out.png").exists()


def test_a_fault_of_the_machine_is_said_to_pass(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case = CASES["plain"]
    path, request = write(case, tmp_path / "page.pdf"), tmp_path / "request.json"
    request.write_text(drawing(case).model_dump_json())
    assert main([str(path), "1", str(tmp_path / "gone" / "out.png"), "--request", str(request)]) == 1
    assert json.loads(capsys.readouterr().out)["passes"] is True


def test_the_report_is_made_without_loading_pdfium() -> None:
    """PDFium reads hostile files, so it stays in the child: nothing else of the report may load it."""
    asked = (
        "import sys, worker.report.html, worker.report.text, worker.report.compose; print('pypdfium2' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.strip() == "False"
