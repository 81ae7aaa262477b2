"""What Typst leaves undone: page boxes, PDF/X identification, and the faults of the flawed book."""

from __future__ import annotations

import io
from collections.abc import Callable

import pikepdf
from pikepdf import Array, Dictionary, Name, String
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

MM = 72 / 25.4
MADE = "D:20260901120000Z"
"""The time that all sample books bear."""


def _saved(pdf: pikepdf.Pdf, **options: object) -> bytes:
    out = io.BytesIO()
    pdf.save(out, deterministic_id=True, compress_streams=True, **options)  # type: ignore[arg-type]
    return out.getvalue()


def with_bleed(data: bytes, bleed: float) -> bytes:
    """Declare on every page the trim, ``bleed`` points inside the media, and the bleed, the whole media."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for page in pdf.pages:
            x0, y0, x1, y1 = (float(value) for value in page.mediabox)
            page.obj.BleedBox = Array([round(value, 4) for value in (x0, y0, x1, y1)])
            page.obj.TrimBox = Array([round(value, 4) for value in (x0 + bleed, y0 + bleed, x1 - bleed, y1 - bleed)])
        return _saved(pdf)


def _device_gray(pdf: pikepdf.Pdf) -> None:
    """Say DeviceGray wherever Typst says grey by an ICC profile, which PDF/X-1a does not take."""

    def is_icc_gray(space: object) -> bool:
        return isinstance(space, Array) and space[0] == Name.ICCBased and space[1].N == 1

    for item in pdf.objects:
        if isinstance(item, pikepdf.Stream) and is_icc_gray(item.get("/ColorSpace")):
            item.ColorSpace = Name.DeviceGray
    for page in pdf.pages:
        spaces = page.obj.Resources.get("/ColorSpace", Dictionary())
        for name in [name for name in spaces.keys() if is_icc_gray(spaces[name])]:  # noqa: SIM118
            spaces[name] = Name.DeviceGray


def as_pdfx_1a(data: bytes, *, condition: str) -> bytes:
    """Identify a grey or CMYK PDF 1.4 file as PDF/X-1a:2003 (ISO 15930-4).

    ``condition`` names a characterised printing condition of the registry at color.org, so no profile is embedded.
    Trim boxes, one output intent, Trapped, dates, title and file identifier are set.
    """
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for page in pdf.pages:
            page.obj.TrimBox = Array(page.mediabox)
            for key in ("/Group", "/Tabs"):
                if key in page.obj:
                    del page.obj[key]
        _device_gray(pdf)
        intent = Dictionary(
            Type=Name.OutputIntent,
            S=Name.GTS_PDFX,
            OutputConditionIdentifier=String(condition),
            OutputCondition=String("Offset, uncoated white paper"),
            RegistryName=String("http://www.color.org"),
            Info=String("Offset, uncoated white paper"),
        )
        pdf.Root.OutputIntents = Array([pdf.make_indirect(intent)])
        with pdf.open_metadata(set_pikepdf_as_editor=False) as xmp:
            xmp["pdf:Trapped"] = "False"
            xmp["xmp:CreateDate"] = xmp["xmp:ModifyDate"] = "2026-09-01T12:00:00Z"
        pdf.docinfo["/GTS_PDFXVersion"] = String("PDF/X-1a:2003")
        pdf.docinfo["/Trapped"] = Name("/False")
        pdf.docinfo["/CreationDate"] = pdf.docinfo["/ModDate"] = String(MADE)
        return _saved(
            pdf, force_version="1.4", object_stream_mode=pikepdf.ObjectStreamMode.disable, normalize_content=False
        )


def _helvetica_page(size: tuple[float, float]) -> bytes:
    """A page of type in Helvetica, one of the standard fonts, which ReportLab does not embed."""
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=size, invariant=1)
    canvas.setFont("Helvetica", 11)
    for number, line in enumerate(
        (
            "Notice to members",
            "",
            "The press will be moved on the first dry day of the month.",
            "Bring planks. Bring buckets. Do not bring advice.",
            "",
            "The Committee",
        )
    ):
        canvas.drawString(54, size[1] - 120 - 16 * number, line)
    canvas.save()
    return out.getvalue()


def _put_helvetica(pdf: pikepdf.Pdf) -> None:
    with pikepdf.open(io.BytesIO(_helvetica_page((432, 648)))) as other:
        pdf.pages[14] = other.pages[0]


def _turn(pdf: pikepdf.Pdf) -> None:
    pdf.pages[16].obj.Rotate = 90


def _pin_note(pdf: pikepdf.Pdf) -> None:
    note = Dictionary(
        Type=Name.Annot, Subtype=Name.Text, Rect=[60, 560, 78, 578], Contents=String("Is this still true of the slip?"),
        T=String("I. C."), F=4,
    )  # fmt: skip
    pdf.pages[8].obj.Annots = Array([pdf.make_indirect(note)])


def _make_line_art(pdf: pikepdf.Pdf) -> None:
    """Typst writes every picture with 8 bits a colour; the tide curve is line art of 1 bit."""
    (curve,) = pdf.pages[12].get_images().values()
    assert isinstance(curve, pikepdf.Stream)
    bitmap = pikepdf.PdfImage(curve).as_pil_image().convert("1", dither=Image.Dither.NONE)
    curve.write(bitmap.tobytes())
    curve.ColorSpace = Name.DeviceGray
    curve.BitsPerComponent = 1
    if "/SMask" in curve:
        del curve["/SMask"]


def _forget_title(pdf: pikepdf.Pdf) -> None:
    for key in ("/Title", "/Author"):
        if key in pdf.docinfo:
            del pdf.docinfo[key]


FAULTS: tuple[Callable[[pikepdf.Pdf], None], ...] = (_put_helvetica, _turn, _pin_note, _make_line_art, _forget_title)


def with_faults(data: bytes) -> bytes:
    """The flawed book with the faults that Typst cannot make: pages 9, 13, 15 and 17, and no title."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for fault in FAULTS:
            fault(pdf)
        return _saved(pdf)
