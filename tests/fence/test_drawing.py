"""A page's picture comes over the fence, or one line that says why not."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from worker.fence import LimitCrossed, MeasuringFailed, draw_fenced
from worker.limits import Limits
from worker.report.drawing import Drawing

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
