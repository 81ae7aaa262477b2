"""Words for a picture, set in PDFium's own serif, so that a picture looks the same on a machine without fonts."""

from __future__ import annotations

import ctypes

import pypdfium2 as pdfium
from PIL import Image
from pypdfium2 import raw

FACE = b"Times-Roman"
"""One of the 14 standard fonts, which PDFium carries within it."""


def lettering(text: str, size: float) -> Image.Image:
    """``text`` as a mask (mode ``L``, 255 is ink), ``size`` pixels to the em, cut to its ink with a pixel around.

    The face has the letters of Windows-1252; any other becomes a question mark.
    """
    document = pdfium.PdfDocument.new()
    try:
        words = _text_object(document, text, size)
        left, bottom, right, top = _bounds(words)
        width, height = max(1.0, right - left) + 2, max(1.0, top - bottom) + 2
        page = document.new_page(width, height)
        raw.FPDFPageObj_Transform(words, 1, 0, 0, 1, 1 - left, 1 - bottom)
        raw.FPDFPage_InsertObject(page, words)
        raw.FPDFPage_GenerateContent(page)
        drawn: Image.Image = page.render(scale=1, grayscale=True).to_pil().convert("L")
        return Image.eval(drawn, lambda value: 255 - value)
    finally:
        document.close()


def _text_object(document: pdfium.PdfDocument, text: str, size: float) -> raw.FPDF_PAGEOBJECT:
    known = text.encode("cp1252", "replace").decode("cp1252", "replace")
    font = raw.FPDFText_LoadStandardFont(document, FACE)
    words = raw.FPDFPageObj_CreateTextObj(document, font, size)
    encoded = ctypes.create_string_buffer(known.encode("utf-16-le") + b"\0\0")
    raw.FPDFText_SetText(words, ctypes.cast(encoded, raw.FPDF_WIDESTRING))
    return words


def _bounds(words: raw.FPDF_PAGEOBJECT) -> tuple[float, float, float, float]:
    sides = [ctypes.c_float() for _ in range(4)]
    raw.FPDFPageObj_GetBounds(words, *(ctypes.byref(side) for side in sides))
    left, bottom, right, top = (side.value for side in sides)
    return left, bottom, right, top
