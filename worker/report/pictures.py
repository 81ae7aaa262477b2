"""A page as a picture: the live area in outline, marks hatched in ink, measured distances on dimension lines.

A PDF is hostile, so this runs as a child process::

    python -m worker.report.pictures FILE PAGE OUT --request REQUEST.json

REQUEST.json holds a :class:`worker.report.drawing.Drawing`; the PNG is written under a temporary name, then renamed.
On failure the last line on standard output is a JSON object: ``{"limit": ...}`` with status 3 when memory ran out,
``{"fault": ..., "passes": ...}`` with status 1 otherwise; ``passes`` where it was the machine's doing.
"""

from __future__ import annotations

import argparse
import ctypes
import io
import json
import math
import os
import sys
import tempfile
from pathlib import Path

import pypdfium2 as pdfium
from PIL import Image
from pypdfium2 import raw

from worker.measure.models import Box
from worker.report.drawing import Drawing
from worker.report.overlay import Frame, draw_overlay

MOST_PIXELS = 4_000_000
LONGEST_SIDE = 4_000
LIMIT_STATUS = 3
SAME = 0.01
"""Sizes of a box that differ by a smaller share than this are one box seen by two readers."""


def draw_page(path: Path, page: int, *, drawing: Drawing, out: Path) -> None:
    """Write a PNG of ``page`` (from 1) to ``out``: the whole media where PDFium agrees on it, its crop otherwise.

    Raises ``pdfium.PdfiumError`` for a file that PDFium cannot open (an empty password is tried), and
    ``IndexError`` for a page that is not there.
    """
    document = pdfium.PdfDocument(path)
    try:
        picture = drawn(document, page, drawing)
    finally:
        document.close()
    _save(picture, out)


def drawn(document: pdfium.PdfDocument, page: int, drawing: Drawing) -> Image.Image:
    """``page`` (from 1) with its marks; raises as :func:`draw_page` does."""
    if not 1 <= page <= len(document):
        raise IndexError(f"there is no page {page} among the {len(document)} that the renderer finds")
    sheet = document[page - 1]
    try:
        shown = _show_media(sheet, drawing)
        picture = _rendered(sheet, shown, drawing.dpi)
    finally:
        sheet.close()
    return draw_overlay(picture, Frame(shown, picture.size), drawing)


def as_png(picture: Image.Image) -> bytes:
    """The picture's bytes, packed well."""
    data = io.BytesIO()
    picture.save(data, "PNG", optimize=True)
    return data.getvalue()


def _show_media(sheet: pdfium.PdfPage, drawing: Drawing) -> Box:
    """Widen what PDFium shows from the crop box to the media; returns the box that it then shows, as a reader sees it.

    PDFium draws the crop box cut to the media. Both boxes are known in the reader's frame, the crop in PDFium's own
    frame too; that gives the way from one to the other through Rotate and UserUnit.
    """
    crop, media = drawing.crop, drawing.media
    seen = seen_box(sheet)
    if seen is None or not alike(sheet.get_size(), crop):
        return crop
    back = to_own_frame(media, crop, seen, sheet.get_rotation())
    sheet.set_cropbox(*back)
    if alike(sheet.get_size(), media):
        return media
    sheet.set_cropbox(*seen)
    return crop


def seen_box(sheet: pdfium.PdfPage) -> Box | None:
    """The box that PDFium draws, in the page's own frame (inheritance and cutting to the media done); None where its
    sides are no numbers."""
    box = raw.FS_RECTF()
    raw.FPDF_GetPageBoundingBox(sheet, ctypes.byref(box))
    sides = (box.left, box.bottom, box.right, box.top)
    return sides if all(math.isfinite(side) for side in sides) else None


def alike(size: tuple[float, float], box: Box) -> bool:
    """Whether a size has the proportions of a box: a UserUnit makes the lengths differ."""
    width, height = box[2] - box[0], box[3] - box[1]
    if min(*size, width, height) <= 0:
        return False
    return abs(size[0] / size[1] / (width / height) - 1) < SAME


def to_own_frame(box: Box, crop: Box, seen: Box, rotation: int) -> Box:
    """``box`` of the reader's frame in the page's own frame, where ``crop`` there is ``seen`` here."""
    turned = rotation in (90, 270)
    unit = (seen[3] - seen[1] if turned else seen[2] - seen[0]) / (crop[2] - crop[0])
    left, foot, right, head = (
        (box[0] - crop[0]) * unit,
        (box[1] - crop[1]) * unit,
        (box[2] - crop[2]) * unit,
        (box[3] - crop[3]) * unit,
    )
    match rotation:
        case 90:
            left, foot, right, head = -head, left, -foot, right
        case 180:
            left, foot, right, head = -right, -head, -left, -foot
        case 270:
            left, foot, right, head = foot, -right, head, -left
    return (seen[0] + left, seen[1] + foot, seen[2] + right, seen[3] + head)


def _rendered(sheet: pdfium.PdfPage, shown: Box, dpi: float) -> Image.Image:
    """The page at ``dpi`` of the reader's inches, or as large as the bounds allow."""
    width, height = (max(side, 1e-3) for side in sheet.get_size())
    unit = (shown[2] - shown[0]) / width
    scale = unit * dpi / 72
    scale = min(scale, math.sqrt(MOST_PIXELS / (width * height)), LONGEST_SIDE / max(width, height))
    picture: Image.Image = sheet.render(scale=scale, fill_color=(255, 255, 255, 255)).to_pil()
    return picture.convert("RGB")


def _save(picture: Image.Image, out: Path) -> None:
    handle, name = tempfile.mkstemp(dir=out.parent, prefix=f".{out.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(as_png(picture))
        Path(name).replace(out)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def main(arguments: list[str] | None = None) -> int:
    """The child's entry; see the module's own words."""
    parser = argparse.ArgumentParser(prog="python -m worker.report.pictures")
    parser.add_argument("file", type=Path)
    parser.add_argument("page", type=int)
    parser.add_argument("out", type=Path)
    parser.add_argument("--request", type=Path, required=True)
    asked = parser.parse_args(arguments)
    try:
        drawing = Drawing.model_validate_json(asked.request.read_bytes())
        draw_page(asked.file, asked.page, drawing=drawing, out=asked.out)
    except MemoryError:
        _say({"limit": "memory", "page": asked.page, "message": f"drawing page {asked.page} takes too much memory"})
        return LIMIT_STATUS
    except (pdfium.PdfiumError, IndexError, OSError, ValueError) as error:
        passes = isinstance(error, OSError) and error.errno is not None  # a full disk, not Pillow's own complaint
        _say({"fault": str(error).rstrip("."), "passes": passes})
        return 1
    return 0


def _say(message: dict[str, object]) -> None:
    sys.stdout.write(json.dumps(message) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
