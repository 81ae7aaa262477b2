"""Many pages of one file as pictures: those of a report's plates, nothing drawn over them, or pages with their marks.

A PDF is hostile, so this runs as a child process::

    python -m worker.report.underlays FILE FOLDER --request REQUEST.json

REQUEST.json holds a :class:`worker.report.underlay.PictureOrder`. Each picture is written whole to FOLDER as
``PAGE.webp``, or ``PAGE.png`` with its marks, in the order asked for, so that what ends the child costs only those that
it has not come to. At the start and after each page standard output has a JSON line ``{"done": ..., "total": ...}``;
faults are told as :mod:`worker.report.pictures` tells them.

**Why WebP.** Mean of 18 pages of six books at this size: 12 kB without loss in 16 greys, at a root mean square error of
1.6 of 255; with loss 21 kB at an error of 2.4 in WebP, 30 kB at 3.8 in JPEG. Photographs are smaller with loss, in grey
and in colour.
"""

from __future__ import annotations

import argparse
import io
import json
import sys
from pathlib import Path

import pypdfium2 as pdfium
from PIL import Image, ImageChops
from pypdfium2 import raw

from worker.report.drawing import PageDrawing
from worker.report.pictures import LIMIT_STATUS, alike, as_png, drawn, seen_box, to_own_frame
from worker.report.underlay import PictureOrder, Wanted, file_of, is_picture

GREYS = 16
LOSSLESS_ENOUGH = 30_000
"""Bytes beyond which a page in greys is tried with loss too."""
QUALITY = 60
GREY = 8
"""Channels of a pixel that differ by no more than this, of 255, are a grey."""


def draw_pages(path: Path, order: PictureOrder, folder: Path) -> None:
    """Write the picture of each page that can be drawn where its facts say it is."""
    document = pdfium.PdfDocument(path)
    try:
        _say({"done": 0, "total": len(order.pages)})
        for done, wanted in enumerate(order.pages, start=1):
            picture = _with_marks(document, wanted) if isinstance(wanted, PageDrawing) else _plain(document, wanted)
            if picture is not None and is_picture(picture, wanted):
                _write(picture, folder / file_of(wanted))
            _say({"done": done, "total": len(order.pages)})
    finally:
        document.close()


def _with_marks(document: pdfium.PdfDocument, wanted: PageDrawing) -> bytes | None:
    """The page with its marks as PNG; None where PDFium does not find it, or cannot read it."""
    try:
        return as_png(drawn(document, wanted.page, wanted.drawing))
    except (IndexError, pdfium.PdfiumError):
        return None


def _plain(document: pdfium.PdfDocument, wanted: Wanted) -> bytes | None:
    """The page as WebP; None where PDFium does not find it, or finds another box than the facts have."""
    if not 1 <= wanted.page <= len(document):
        return None
    try:
        sheet = document[wanted.page - 1]
    except pdfium.PdfiumError:  # this page alone is damaged
        return None
    try:
        return packed(_rendered(sheet, wanted.size)) if _show(sheet, wanted) else None
    finally:
        sheet.close()


def _show(sheet: pdfium.PdfPage, wanted: Wanted) -> bool:
    """Have PDFium show the view and nothing else; whether it does."""
    seen = seen_box(sheet)
    if seen is None or not alike(sheet.get_size(), wanted.crop):
        return False
    sheet.set_cropbox(*to_own_frame(wanted.view, wanted.crop, seen, sheet.get_rotation()))
    return alike(sheet.get_size(), wanted.view)


def _rendered(sheet: pdfium.PdfPage, size: tuple[int, int]) -> Image.Image:
    """All that the page shows, on white, stretched to exactly ``size`` pixels."""
    width, height = size
    bitmap = pdfium.PdfBitmap.new_native(width, height, raw.FPDFBitmap_BGR)
    try:
        raw.FPDFBitmap_FillRect(bitmap, 0, 0, width, height, 0xFFFFFFFF)
        raw.FPDF_RenderPageBitmap(bitmap, sheet, 0, 0, width, height, 0, raw.FPDF_ANNOT)
        picture: Image.Image = bitmap.to_pil()
        return picture.convert("RGB")
    finally:
        bitmap.close()


def packed(picture: Image.Image) -> bytes:
    """The picture (RGB) as WebP, in greys where it is grey; without loss where that is small enough."""
    if not _is_grey(picture):
        return _with_loss(picture)
    grey = picture.convert("L")
    step = 255 / (GREYS - 1)
    few = grey.point([round(round(value / step) * step) for value in range(256)])
    exact = _saved(few, lossless=True, quality=60, method=2)
    return exact if len(exact) <= LOSSLESS_ENOUGH else min(exact, _with_loss(grey), key=len)


def _is_grey(picture: Image.Image) -> bool:
    red, green, blue = picture.split()
    apart = (ImageChops.difference(red, green), ImageChops.difference(green, blue))
    return all(sum(band.histogram()[GREY + 1 :]) == 0 for band in apart)


def _with_loss(picture: Image.Image) -> bytes:
    return _saved(picture, quality=QUALITY, method=4)


def _saved(picture: Image.Image, **how: int) -> bytes:
    data = io.BytesIO()
    picture.save(data, "WEBP", **how)
    return data.getvalue()


def _write(data: bytes, out: Path) -> None:
    beside = out.with_name(f".{out.name}")
    beside.write_bytes(data)
    beside.replace(out)


def main(arguments: list[str] | None = None) -> int:
    """The child's entry; see the module's own words."""
    parser = argparse.ArgumentParser(prog="python -m worker.report.underlays")
    parser.add_argument("file", type=Path)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--request", type=Path, required=True)
    asked = parser.parse_args(arguments)
    try:
        draw_pages(asked.file, PictureOrder.model_validate_json(asked.request.read_bytes()), asked.folder)
    except MemoryError:
        _say({"limit": "memory", "message": "drawing the pages takes too much memory"})
        return LIMIT_STATUS
    except (pdfium.PdfiumError, OSError, ValueError) as error:
        passes = isinstance(error, OSError) and error.errno is not None  # a full disk, not Pillow's own complaint
        _say({"fault": str(error).rstrip("."), "passes": passes})
        return 1
    return 0


def _say(message: dict[str, object]) -> None:
    sys.stdout.write(json.dumps(message) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
