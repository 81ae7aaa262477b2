"""A second opinion on ink: the text of a page as PDFium draws it in grey at 600 dpi."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

import pypdfium2
import pypdfium2.raw as pdfium

DPI = 600
_PAPER = 250  # lighter than this is paper; the anti-aliased edges of ink are darker
_TEXT_OR_FORM = {pdfium.FPDF_PAGEOBJ_TEXT, pdfium.FPDF_PAGEOBJ_FORM}

Box = tuple[float, float, float, float]


def ink_box(page: pypdfium2.PdfPage) -> Box | None:
    """The box of everything darker than paper, in points from the lower-left corner of the drawn page.

    PDFium draws the crop box, turned as a reader sees it; annotations are left out. None where nothing is inked.
    """
    grey = page.render(scale=DPI / 72, grayscale=True, draw_annots=False, may_draw_forms=False).to_pil()
    found = grey.point(lambda value: 255 if value < _PAPER else 0).getbbox()
    if found is None:
        return None
    left, top, right, bottom = (pixels * 72 / DPI for pixels in found)
    height = grey.height * 72 / DPI
    return left, height - bottom, right, height - top


def _take_off_all_but_text(page: pypdfium2.PdfPage) -> None:
    """Remove paths, pictures and shadings from the page in memory."""
    for item in list(page.get_objects(max_depth=1)):
        if item.type not in _TEXT_OR_FORM:
            page.remove_obj(item)


def text_boxes(path: Path, pages: Iterable[int] | None = None) -> Iterator[tuple[int, Box | None]]:
    """For each of ``pages`` (counted from 1; all by default) the box of its text's ink.

    A page with anything but text inside a form is left out, for its text cannot be drawn alone.
    """
    with pypdfium2.PdfDocument(path) as document:
        for number in pages or range(1, len(document) + 1):
            page = document[number - 1]
            _take_off_all_but_text(page)
            if {item.type for item in page.get_objects(max_depth=8)} <= _TEXT_OR_FORM:
                yield number, ink_box(page)
