"""Books that use much of what a page can hold, by producers that are installed: for how exactly pages are measured.

What they say is the sample books' prose; what they show besides is drawn for the purpose: tables, rules with dashes
and caps, curves, turned and spaced and stroked text, notes, columns, lists, pictures, several scripts.
"""

from __future__ import annotations

import random
import subprocess
from collections.abc import Iterator
from html import escape
from itertools import islice
from pathlib import Path

from reportlab.lib import colors
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, PageBreak, Paragraph, SimpleDocTemplate, Spacer, Table

from sample_pdfs.prose import chapters, paragraphs
from tests.books.books import VERA
from tests.needs import chromium

CSS = """
@page { size: 6in 9in; margin: 54pt 45pt 60pt 63pt }
body { font: 10.5pt/14pt "Liberation Serif", serif; text-align: justify; margin: 0 }
h1 { font-size: 22pt; line-height: 26pt; break-before: page; letter-spacing: .06em; text-transform: uppercase }
h1 + p::first-letter { font-size: 34pt; float: left; line-height: 28pt; padding-right: 3pt }
blockquote { border-left: 3pt double #555; margin: 10pt 0 10pt 14pt; padding-left: 8pt; font-style: italic }
table { border-collapse: collapse; width: 100%; font: 8pt/11pt "DejaVu Sans", sans-serif; break-inside: avoid }
td, th { border: .4pt solid #333; padding: 2pt 4pt; text-align: left }
.dashed { border: 1.5pt dashed #444; padding: 6pt; border-radius: 9pt; margin: 8pt 0 }
.turned { float: right; width: 60pt; margin: 14pt; transform: rotate(-17deg); border: 1pt dotted #222 }
.upright { writing-mode: vertical-rl; float: left; height: 90pt; margin-right: 8pt; background: #ddd }
.columns { columns: 2; column-gap: 14pt }
.hollow { font-size: 24pt; line-height: 30pt; -webkit-text-stroke: .6pt #333; color: #eee }
.dark { background: #222; color: #fff; padding: 5pt; width: 70% }
.faint { opacity: .4 }
sup { font-size: 65% } u { text-decoration: underline dotted }
"""
DRAWING = """<svg width="220" height="90" viewBox="0 0 220 90">
<path d="M5 80 C 40 -30, 90 140, 130 20 S 200 70, 215 8" fill="none" stroke="#333" stroke-width="3"/>
<path d="M10 70 L 60 85 L 15 88" fill="none" stroke="#000" stroke-width="4" stroke-linejoin="miter"/>
<path d="M80 70 L 130 85" stroke="#000" stroke-width="5" stroke-linecap="round"/>
<path d="M140 70 L 190 85" stroke="#000" stroke-width="5" stroke-linecap="square" stroke-dasharray="7 9"/>
<ellipse cx="110" cy="45" rx="30" ry="14" fill="#999" transform="rotate(24 110 45)"/></svg>"""


def html_book(pages: int, *, level: bool = False) -> str:
    """A book in HTML of at least so many pages; the paper is in its style sheet. ``level`` leaves out text that is
    turned, hangs or is drawn twice, of which every tool makes other words."""
    draw = random.Random(11)
    body = [f"<h1>Chapter {number}</h1>" + "".join(_blocks(chapter, draw, level))
            for number, chapter in enumerate(chapters(max(1, pages // 5), words=1500, seed=21), start=1)]  # fmt: skip
    return (
        f'<!doctype html><meta charset="utf-8"><html lang="en"><title>A rich book</title><style>{CSS}</style>'
        + "".join(body)
    )


def _blocks(chapter: list[str], draw: random.Random, level: bool) -> Iterator[str]:
    for text in chapter:
        words = escape(text).split()
        marked = draw.randrange(len(words))
        words[marked] = f"<b>{words[marked]}</b><sup>{marked}</sup>"
        block = _block(" ".join(words), draw)
        if not (level and any(f'class="{kind}"' in block for kind in ("turned", "upright", "hollow"))):
            yield block


def _block(text: str, draw: random.Random) -> str:
    few = " ".join(text.split()[:6])
    cells = "".join(f"<td>{word}</td>" for word in text.split()[:5])
    return draw.choice(
        [f"<p>{text}</p>"] * 7
        + [
            f"<blockquote>{text}</blockquote>",
            f"<table><tr>{cells}</tr><tr>{cells}</tr></table>",
            f'<div class="dashed">{text}</div>',
            f'<div class="turned">{few}</div><p>{text}</p>',
            f'<div class="upright">{few}</div><p>{text}</p>',
            f'<div class="columns">{text}</div>',
            f'<p class="hollow">{few}</p>',
            f'<p class="dark">{text}</p>',
            f'<p class="faint">{text}</p>',
            f"<p>Ελληνικά, кириллица, naïve façade, ﬁne ﬂow, “quoted” — and <u>{few}</u>.</p>",
            f"<ol><li>{few}</li><li>{few}</li></ol><ul><li>{text}</li></ul>",
            f"<figure>{DRAWING}<figcaption>{few}</figcaption></figure>",
        ]
    )


def set_by_browser(pages: int, folder: Path, *, level: bool = False) -> Path:
    """The book in HTML, as Chromium prints it to PDF."""
    source, path = folder / "browser.html", folder / "browser.pdf"
    source.write_text(html_book(pages, level=level), "utf-8")
    command = [chromium() or "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    command += [f"--user-data-dir={folder / 'browser'}", f"--print-to-pdf={path}", source.as_uri()]
    subprocess.run(command, check=True, capture_output=True, timeout=180)
    return path


def set_by_weasyprint(pages: int, folder: Path, *, level: bool = False) -> Path:
    """The book in HTML, as WeasyPrint sets it."""
    from weasyprint import HTML

    path = folder / "weasyprint.pdf"
    HTML(string=html_book(pages, level=level)).write_pdf(path)
    return path


def rewritten_by_ghostscript(book: Path, folder: Path, pages: int) -> Path:
    """The first ``pages`` of ``book``, written anew by Ghostscript."""
    path = folder / f"ghostscript-{book.name}"
    command = ["gs", "-q", "-dBATCH", "-dNOPAUSE", "-sDEVICE=pdfwrite", f"-dLastPage={pages}", f"-sOutputFile={path}"]
    subprocess.run([*command, str(book)], check=True, capture_output=True, timeout=240)
    return path


class _Figure(Flowable):  # type: ignore[misc]
    """Lines of every cap, join and dash, curves, and text that is turned, slanted, raised, spaced and stroked."""

    def __init__(self, seed: int) -> None:
        super().__init__()
        self.width, self.height = 300, 130
        self._draw = random.Random(seed)

    def draw(self) -> None:
        canvas, draw = self.canv, self._draw
        for _ in range(6):
            self._line(canvas, draw)
        canvas.bezier(10, 10, draw.uniform(0, 90), 150, draw.uniform(90, 300), -30, 290, 100)
        for angle in (draw.uniform(5, 85), -30):
            canvas.saveState()
            canvas.translate(draw.uniform(40, 200), draw.uniform(20, 90))
            canvas.rotate(angle)
            canvas.skew(draw.choice([0, 12]), 0)
            words = canvas.beginText(0, 0)
            words.setFont("Vera", draw.uniform(7, 16))
            words.setCharSpace(draw.choice([0, 1.5]))
            words.setTextRenderMode(draw.choice([0, 1, 2]))
            words.setHorizScale(draw.choice([70, 100, 130]))
            words.textOut("Low water ")
            words.setRise(4)
            words.textOut("slack")
            canvas.drawText(words)
            canvas.restoreState()

    @staticmethod
    def _line(canvas: Canvas, draw: random.Random) -> None:
        canvas.saveState()
        canvas.setLineWidth(draw.choice([0, 0.3, 1, 4, 7]))
        canvas.setLineCap(draw.randrange(3))
        canvas.setLineJoin(draw.randrange(3))
        canvas.setDash(*draw.choice([([], 0), ([5, 4], 2), ([9, 3, 1, 3], 0)]))
        path = canvas.beginPath()
        path.moveTo(draw.uniform(0, 300), draw.uniform(0, 130))
        for _ in range(draw.randrange(1, 4)):
            path.lineTo(draw.uniform(0, 300), draw.uniform(0, 130))
        canvas.drawPath(path, stroke=1, fill=0)
        canvas.restoreState()


def set_rich_by_reportlab(pages: int, folder: Path, *, level: bool = False) -> Path:
    """A book by ReportLab's page layout: paragraphs, tables, and on every other page a drawing unless it is level."""
    pdfmetrics.registerFont(TTFont("Vera", str(VERA)))
    path = folder / "reportlab-rich.pdf"
    style = ParagraphStyle("body", fontName="Vera", fontSize=9.5, leading=13, alignment=4, spaceAfter=4)
    story: list[Flowable] = []
    supply = paragraphs(31)
    grid = [("GRID", (0, 0), (-1, -1), 0.5, colors.black), ("FONT", (0, 0), (-1, -1), "Vera", 7)]
    for page in range(pages):
        texts = list(islice(supply, 3))
        story += [Paragraph(escape(text), style) for text in texts]
        story.append(
            _Figure(page) if page % 2 and not level else Table([text.split()[:5] for text in texts], style=grid)
        )
        story += [Spacer(1, 6), PageBreak()]
    SimpleDocTemplate(str(path), pagesize=(432, 648), leftMargin=63, rightMargin=45).build(story)
    return path
