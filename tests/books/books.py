"""Books set on the spot, of known geometry, by several producers.

Each setter takes a ``Plan`` and writes a PDF whose text block, on every page, is the one that the plan asks for.
Lengths are points.
"""

from __future__ import annotations

import io
import json
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from xml.sax.saxutils import escape

import pikepdf
import reportlab
import typst
from fpdf import FPDF
from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from sample_pdfs.finish import with_bleed
from sample_pdfs.prose import paragraphs

VERA = Path(reportlab.__file__).parent / "fonts/Vera.ttf"


@dataclass(frozen=True)
class Plan:
    """The geometry of a book: the trimmed page and its margins, bleed, and the pixels of a picture on each page."""

    trim: tuple[float, float] = (432, 648)
    inside: float = 63
    outside: float = 36
    head: float = 54
    foot: float = 60
    pages: int = 4
    mirrored: bool = True
    bleed: float = 0
    picture_ppi: float | None = None
    size: float = 11
    leading: float = 15

    def left(self, page: int) -> float:
        """The margin on the left of page ``page``, counted from 1."""
        return self.inside if page % 2 or not self.mirrored else self.outside

    def right(self, page: int) -> float:
        """The margin on the right of page ``page``."""
        return self.inside + self.outside - self.left(page)

    @property
    def measure(self) -> float:
        """The width of the text block."""
        return self.trim[0] - self.inside - self.outside

    @property
    def picture_size(self) -> tuple[float, float]:
        """Width and height of the picture that heads each page where ``picture_ppi`` is set."""
        return 144.0, 96.0

    def picture_pixels(self) -> tuple[int, int]:
        """The pixels of that picture."""
        assert self.picture_ppi
        width, height = self.picture_size
        return round(width * self.picture_ppi / 72), round(height * self.picture_ppi / 72)


def picture_file(plan: Plan, folder: Path) -> Path:
    """A grey PNG for the plan."""
    path = folder / "picture.png"
    Image.linear_gradient("L").resize(plan.picture_pixels()).save(path)
    return path


TYPST = """
#let plan = json(bytes(sys.inputs.plan))
#let pt(value) = value * 1pt
#set document(title: "A book set on the spot")
#set page(
  width: pt(plan.width + 2 * plan.bleed), height: pt(plan.height + 2 * plan.bleed), binding: left,
  margin: if plan.mirrored {
    (inside: pt(plan.inside + plan.bleed), outside: pt(plan.outside + plan.bleed),
     top: pt(plan.head + plan.bleed), bottom: pt(plan.foot + plan.bleed))
  } else {
    (left: pt(plan.inside + plan.bleed), right: pt(plan.outside + plan.bleed),
     top: pt(plan.head + plan.bleed), bottom: pt(plan.foot + plan.bleed))
  },
)
#set text(font: "Libertinus Serif", size: pt(plan.size), lang: "en", top-edge: "ascender", bottom-edge: "descender")
#set par(justify: true, leading: pt(plan.leading - plan.size), spacing: pt(plan.leading - plan.size))
#for number in range(plan.pages) {
  if number > 0 { pagebreak() }
  if plan.bleed > 0 {
    place(top + left, dx: pt(-plan.lefts.at(number) - plan.bleed), dy: pt(-plan.head - plan.bleed),
      rect(width: pt(plan.width + 2 * plan.bleed), height: pt(plan.bleed + 18), fill: luma(50%)))
  }
  if plan.picture != none { image(plan.picture, width: pt(plan.picture_width)) }
  block(height: 1fr, clip: true, plan.texts.at(number))
}
"""


def _texts(plan: Plan, seed: int = 5) -> list[str]:
    supply = paragraphs(seed)
    return [" ".join(islice(supply, 9)) for _ in range(plan.pages)]


def set_by_typst(plan: Plan, folder: Path) -> Path:
    """A book by Typst: justified, CFF fonts as CID fonts, TJ arrays; with a bleed band at the head if asked."""
    source = folder / "book.typ"
    source.write_text(TYPST, "utf-8")
    facts = {
        **{name: getattr(plan, name) for name in ("inside", "outside", "head", "foot", "pages", "mirrored", "bleed")},
        "width": plan.trim[0],
        "height": plan.trim[1],
        "size": plan.size,
        "leading": plan.leading,
        "lefts": [plan.left(page) for page in range(1, plan.pages + 1)],
        "texts": _texts(plan),
        "picture": picture_file(plan, folder).name if plan.picture_ppi else None,
        "picture_width": plan.picture_size[0],
    }
    data = typst.compile(
        str(source), format="pdf", ignore_system_fonts=True, sys_inputs={"plan": json.dumps(facts)}, pdf_tags=False
    )
    assert isinstance(data, bytes)
    path = folder / "typst.pdf"
    path.write_bytes(with_bleed(data, plan.bleed) if plan.bleed else data)
    return path


def _block_lines(plan: Plan, width_of: Callable[[str], float], seed: int = 7) -> list[str]:
    """Prose broken into lines no wider than the measure."""
    words = " ".join(islice(paragraphs(seed), 40)).split()
    lines, line = [], ""
    for word in words:
        longer = f"{line} {word}".strip()
        if width_of(longer) > plan.measure:
            lines.append(line)
            longer = word
        line = longer
    return lines


def set_by_reportlab(plan: Plan, folder: Path) -> Path:
    """A book by ReportLab: a TrueType subset, one string a line, an unembedded Helvetica selected and not used."""
    pdfmetrics.registerFont(TTFont("Vera", str(VERA)))
    width, height = plan.trim
    path = folder / "reportlab.pdf"
    canvas = Canvas(str(path), pagesize=(width + 2 * plan.bleed, height + 2 * plan.bleed))
    canvas.setTitle("A book set on the spot")
    lines = _block_lines(plan, lambda text: pdfmetrics.stringWidth(text, "Vera", plan.size))
    for page in range(1, plan.pages + 1):
        canvas.translate(plan.bleed, plan.bleed)
        canvas.setFont("Vera", plan.size)
        top = height - plan.head - plan.size
        if plan.picture_ppi:
            picture = ImageReader(str(picture_file(plan, folder)))
            canvas.drawImage(picture, plan.left(page), height - plan.head - plan.picture_size[1], *plan.picture_size)
            top -= plan.picture_size[1]
        rows = int((top - plan.foot) // plan.leading)
        for row in range(rows + 1):
            canvas.drawString(plan.left(page), top - row * plan.leading, lines[row % len(lines)])
        canvas.showPage()
    canvas.save()
    if plan.bleed:
        path.write_bytes(with_bleed(path.read_bytes(), plan.bleed))
    return path


def set_by_fpdf2(plan: Plan, folder: Path) -> Path:
    """A book by fpdf2: cells justified by word spacing, a TrueType font as a CID font."""
    book = FPDF(unit="pt", format=plan.trim)
    book.set_title("A book set on the spot")
    book.add_font("Vera", "", str(VERA))
    book.set_font("Vera", size=plan.size)
    book.set_auto_page_break(False)
    book.c_margin = 0
    for page, text in enumerate(_texts(plan), start=1):
        book.add_page()
        book.set_margins(plan.left(page), plan.head, plan.right(page))
        book.set_xy(plan.left(page), plan.head)
        if plan.picture_ppi:
            book.image(str(picture_file(plan, folder)), w=plan.picture_size[0])
        room = int((plan.trim[1] - plan.foot - book.get_y()) // plan.leading)
        lines = book.multi_cell(plan.measure, plan.leading, text, dry_run=True, output="LINES")
        assert isinstance(lines, list)
        book.multi_cell(plan.measure, plan.leading, " ".join(lines[:room]), align="J")
    path = folder / "fpdf2.pdf"
    book.output(str(path))
    return path


FODT = """<?xml version="1.0" encoding="UTF-8"?>
<office:document xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"
 xmlns:fo="urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0"
 xmlns:svg="urn:oasis:names:tc:opendocument:xmlns:svg-compatible:1.0"
 office:version="1.3" office:mimetype="application/vnd.oasis.opendocument.text">
 <office:font-face-decls>
  <style:font-face style:name="Body" svg:font-family="'Liberation Serif'"/>
 </office:font-face-decls>
 <office:styles>
  <style:default-style style:family="paragraph">
   <style:paragraph-properties fo:orphans="0" fo:widows="0" fo:line-height="{leading}pt"/>
   <style:text-properties style:font-name="Body" fo:font-size="{size}pt" fo:language="en" fo:country="GB"/>
  </style:default-style>
  <style:style style:name="Standard" style:family="paragraph">
   <style:paragraph-properties fo:text-align="justify" fo:margin-top="0pt" fo:margin-bottom="0pt"/>
  </style:style>
  <style:style style:name="Next" style:family="paragraph" style:parent-style-name="Standard">
   <style:paragraph-properties fo:break-before="page"/>
  </style:style>
 </office:styles>
 <office:automatic-styles>
  <style:page-layout style:name="Layout" style:page-usage="{usage}">
   <style:page-layout-properties fo:page-width="{width}pt" fo:page-height="{height}pt" fo:margin-left="{inside}pt"
    fo:margin-right="{outside}pt" fo:margin-top="{head}pt" fo:margin-bottom="{foot}pt"/>
  </style:page-layout>
 </office:automatic-styles>
 <office:master-styles><style:master-page style:name="Standard" style:page-layout-name="Layout"/></office:master-styles>
 <office:body><office:text>{body}</office:text></office:body>
</office:document>
"""


def set_by_libreoffice(plan: Plan, folder: Path) -> Path:
    """A book by LibreOffice Writer, from flat OpenDocument with mirrored page layout; TrueType subsets."""
    styles = ["Standard"] + ["Next"] * (plan.pages - 1)
    rows = int((plan.trim[1] - plan.head - plan.foot) // plan.leading)
    texts = [" ".join(text.split()[: rows * 9]) for text in _texts(plan)]
    body = "".join(
        f'<text:p text:style-name="{style}">{escape(text)}</text:p>' for style, text in zip(styles, texts, strict=True)
    )
    source = folder / "libreoffice.fodt"
    source.write_text(
        FODT.format(
            width=plan.trim[0], height=plan.trim[1], inside=plan.inside, outside=plan.outside, head=plan.head,
            foot=plan.foot, size=plan.size, leading=plan.leading, body=body,
            usage="mirrored" if plan.mirrored else "all",
        ),
        "utf-8",
    )  # fmt: skip
    command = ["soffice", f"-env:UserInstallation={(folder / 'office-profile').as_uri()}", "--headless"]
    command += ["--convert-to", "pdf", "--outdir", str(folder), str(source)]
    subprocess.run(command, check=True, capture_output=True, timeout=180)
    return folder / "libreoffice.pdf"


def long_novel(path: Path, pages: int = 720) -> Path:
    """A novel of exactly ``pages`` pages by Typst: 6 × 9 in, mirrored, justified."""
    plan = Plan(inside=68.4, pages=1)
    supply = paragraphs(3)
    facts = {
        **{name: getattr(plan, name) for name in ("inside", "outside", "head", "foot", "mirrored", "bleed")},
        "width": plan.trim[0],
        "height": plan.trim[1],
        "size": plan.size,
        "leading": plan.leading,
        "texts": ["\n".join(islice(supply, 13 * pages // 2))],
        "pages": 1,
    }
    source = path.with_suffix(".typ")
    head, _, _ = TYPST.partition("#for number")
    source.write_text(head + '#for text in plan.texts.first().split("\\n") { par(text) }', "utf-8")
    data = typst.compile(
        str(source), format="pdf", ignore_system_fonts=True, sys_inputs={"plan": json.dumps(facts)}, pdf_tags=False
    )
    assert isinstance(data, bytes)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert len(pdf.pages) >= pages, len(pdf.pages)
        del pdf.pages[pages:]
        pdf.remove_unreferenced_resources()
        pdf.save(path, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return path
