"""A page's picture comes over the fence, or one line that says why not; so do those of a report's plates."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from tests.fence.child import WEBP
from worker.fence import Cancelled, LimitCrossed, MeasuringFailed, draw_fenced, picture_fenced
from worker.limits import Limits
from worker.report.drawing import Drawing
from worker.report.underlay import PictureOrder, Wanted

SIX_BY_NINE = (0.0, 0.0, 432.0, 648.0)
PLAIN = Drawing(media=SIX_BY_NINE, crop=SIX_BY_NINE, trim=SIX_BY_NINE, dpi=72)


def test_a_page_is_drawn_at_its_size(sample_pdfs: Path, tmp_path: Path) -> None:
    """At 72 dpi a point is a pixel (ISO 32000-1 8.3.2.3: the default unit is 1/72 in)."""
    out = tmp_path / "page.png"
    draw_fenced(sample_pdfs / "keeper-of-the-low-light.pdf", 9, drawing=PLAIN, out=out, limits=Limits())
    with Image.open(out) as picture:
        assert picture.format == "PNG"
        assert picture.size == (432, 648)


def test_a_page_that_is_not_there_is_told(sample_pdfs: Path, tmp_path: Path) -> None:
    out = tmp_path / "page.png"
    with pytest.raises(MeasuringFailed, match="page 999") as failed:
        draw_fenced(sample_pdfs / "keeper-of-the-low-light.pdf", 999, drawing=PLAIN, out=out, limits=Limits())
    assert failed.value.page == 999
    assert not out.exists()


def test_what_is_no_pdf_is_told(tmp_path: Path) -> None:
    (tmp_path / "x.pdf").write_bytes(b"%PDF-1.7 nothing else")
    with pytest.raises(MeasuringFailed):
        draw_fenced(tmp_path / "x.pdf", 1, drawing=PLAIN, out=tmp_path / "page.png", limits=Limits())


def test_drawing_has_limits_too(sample_pdfs: Path, tmp_path: Path) -> None:
    with pytest.raises(LimitCrossed) as crossed:
        draw_fenced(
            sample_pdfs / "keeper-of-the-low-light.pdf",
            9,
            drawing=PLAIN,
            out=tmp_path / "page.png",
            limits=Limits(seconds=1),
            module=("tests.fence.child", "sleeps"),
        )
    assert (crossed.value.limit, crossed.value.page) == ("seconds", 9)


def order(*pages: int) -> PictureOrder:
    """Pages of 6 × 9 in as they stand on plates."""
    return PictureOrder(
        pages=tuple(Wanted(page=page, crop=SIX_BY_NINE, view=SIX_BY_NINE, size=(440, 660)) for page in pages)
    )


def test_all_pages_of_an_order_are_pictured(sample_pdfs: Path) -> None:
    heard: list[tuple[int, int]] = []
    made = picture_fenced(
        sample_pdfs / "keeper-of-the-low-light.pdf",
        order(9, 3, 999),
        limits=Limits(),
        on_progress=lambda done, total: heard.append((done, total)),
    )
    assert (set(made.pictures), made.trouble) == ({3, 9}, None)  # the book has fewer pages than 999
    assert heard == [(0, 3), (1, 3), (2, 3), (3, 3)]
    for picture in made.pictures.values():
        with Image.open(io.BytesIO(picture)) as opened:
            assert (opened.format, opened.size) == ("WEBP", (440, 660))


def test_nothing_wanted_starts_nothing(tmp_path: Path) -> None:
    made = picture_fenced(tmp_path / "not-there.pdf", order(), limits=Limits())
    assert (made.pictures, made.trouble) == ({}, None)


def test_a_page_that_ends_the_child_costs_itself_so_often_at_most(tmp_path: Path) -> None:
    """A crash at each second page: the third child is the last."""
    made = picture_fenced(
        tmp_path / "book.pdf",
        order(*range(1, 9)),
        limits=Limits(),
        module=("tests.fence.child", "pictures-every-other"),
    )
    assert made.pictures == dict.fromkeys((1, 3, 5), WEBP)
    assert isinstance(made.trouble, MeasuringFailed)
    assert not made.trouble.passes


@pytest.mark.parametrize(
    ("behaviour", "kind"), [("sleeps", LimitCrossed), ("raises", MeasuringFailed), ("babbles", MeasuringFailed)]
)
def test_trouble_is_told_beside_the_pictures(behaviour: str, kind: type[Exception], tmp_path: Path) -> None:
    module = ("tests.fence.child", behaviour)
    made = picture_fenced(tmp_path / "book.pdf", order(1, 2), limits=Limits(seconds=1), module=module)
    assert made.pictures == {}
    assert isinstance(made.trouble, kind)


def test_a_damaged_file_has_no_pictures(tmp_path: Path) -> None:
    (tmp_path / "x.pdf").write_bytes(b"%PDF-1.7 nothing else")
    made = picture_fenced(tmp_path / "x.pdf", order(1, 2), limits=Limits())
    assert (made.pictures, made.trouble is not None) == ({}, True)


def test_nobody_wants_them_any_more(tmp_path: Path) -> None:
    module = ("tests.fence.child", "sleeps")
    made = picture_fenced(tmp_path / "book.pdf", order(1), limits=Limits(), cancelled=lambda: True, module=module)
    assert isinstance(made.trouble, Cancelled)
    assert made.trouble.passes


def test_what_is_no_picture_stays_behind_the_fence(tmp_path: Path) -> None:
    module = ("tests.fence.child", "leaves-what-is-no-picture")
    made = picture_fenced(tmp_path / "book.pdf", order(1, 2, 3, 4, 5), limits=Limits(), module=module)
    assert made.pictures == {5: WEBP}
