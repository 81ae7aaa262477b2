"""PDFs of a few lines each, with every key as the test writes it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream

from worker.measure import measure
from worker.measure.models import Measurements, Page

Box = tuple[float, float, float, float]

SIX_BY_NINE: Box = (0, 0, 432, 648)


def helvetica() -> Dictionary:
    """One of the standard 14 fonts, not embedded (ISO 32000-1 9.6.2.2)."""
    return Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica, Encoding=Name.WinAnsiEncoding)


def block_font(pdf: pikepdf.Pdf) -> Dictionary:
    """A Type 3 font whose only glyph, ``A``, is a full square of 1 em standing on the baseline: its ink is known."""
    square = Stream(pdf, b"1000 0 0 0 1000 1000 d1 0 0 1000 1000 re f")
    return Dictionary(
        Type=Name.Font,
        Subtype=Name.Type3,
        FontBBox=[0, 0, 1000, 1000],
        FontMatrix=[0.001, 0, 0, 0.001, 0, 0],
        CharProcs=Dictionary(A=pdf.make_indirect(square)),
        Encoding=Dictionary(Type=Name.Encoding, Differences=[65, Name.A]),
        FirstChar=65,
        LastChar=65,
        Widths=[1000],
        Resources=Dictionary(),
    )


def picture(pdf: pikepdf.Pdf, width: int = 300, height: int = 200, **keys: Any) -> Stream:
    """An 8-bit grey picture of ``width`` by ``height`` pixels."""
    image = Stream(pdf, bytes(width * height))
    image.stream_dict = Dictionary(
        Type=Name.XObject,
        Subtype=Name.Image,
        Width=width,
        Height=height,
        ColorSpace=Name.DeviceGray,
        BitsPerComponent=8,
    )
    for key, value in keys.items():
        image[f"/{key}"] = value
    return pdf.make_indirect(image)


def block_text(box: Box, *, em: float = 10) -> bytes:
    """Two blocks of ``/B`` whose ink spans exactly ``box``: one at its lower-left corner, one at its upper-right."""
    x0, y0, x1, y1 = box
    return f"BT /B {em} Tf 1 0 0 1 {x0} {y0} Tm (A) Tj 1 0 0 1 {x1 - em} {y1 - em} Tm (A) Tj ET ".encode()


class Sheet:
    """A PDF in the making; ``page`` adds one, ``measured`` writes and measures it."""

    def __init__(self) -> None:
        self.pdf = pikepdf.new()

    def page(
        self,
        content: bytes = b"",
        *,
        resources: Mapping[str, Any] | None = None,
        media: Box | None = SIX_BY_NINE,
        **keys: Any,
    ) -> Sheet:
        """Add a page. ``keys`` are written as they are (``TrimBox=[...]``, ``Rotate=90``, ``UserUnit=2``)."""
        shared = Dictionary(Font=Dictionary(H=helvetica(), B=block_font(self.pdf)))
        for key, value in (resources or {}).items():
            shared[f"/{key}"] = value
        page = Dictionary(Type=Name.Page, Resources=shared, Contents=Stream(self.pdf, content))
        if media is not None:
            page.MediaBox = Array(media)
        for key, value in keys.items():
            page[f"/{key}"] = value
        self.pdf.pages.append(pikepdf.Page(self.pdf.make_indirect(page)))
        return self

    def inherit(self, **keys: Any) -> Sheet:
        """Write ``keys`` into the root of the page tree."""
        for key, value in keys.items():
            self.pdf.Root.Pages[f"/{key}"] = value
        return self

    def save(self, path: Path) -> Path:
        self.pdf.save(path)
        return path

    def measured(self, folder: Path) -> Measurements:
        return measure(self.save(folder / "sheet.pdf"))


def measured_page(folder: Path, content: bytes = b"", **keys: Any) -> Page:
    """The one page of a sheet made of ``content`` and ``keys``, measured."""
    return Sheet().page(content, **keys).measured(folder).pages[0]


def size(box: Sequence[float]) -> tuple[float, float]:
    """Width and height."""
    return box[2] - box[0], box[3] - box[1]
