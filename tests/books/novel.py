"""A whole novel that is set by its numbers: what a person types in a program, so that the numbers of a report can be
typed in and the book set again. Typst and LibreOffice set it; lengths are points from the trimmed edge.

``header`` and ``footer`` go to the nearer edge of the running head and of the folio; ``folio_start`` is the number of
the file's first page.
"""

from __future__ import annotations

import json
import random
import re
import shutil
import subprocess
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import typst
from PIL import Image

from sample_pdfs.prose import chapters
from worker.report.margins import MARGINS
from worker.report.models import Setting
from worker.words import told

TITLE, AUTHOR = "The Salt Road", "Ottilie Varne"
PICTURE_PIXELS = (900, 600)


@dataclass(frozen=True)
class Novel:
    """What is typed, and how long the book is."""

    trim: tuple[float, float] = (432, 648)
    inside: float = 68
    outside: float = 40
    head: float = 62
    foot: float = 62
    header: float = 36
    footer: float = 36
    mirrored: bool = True
    folio_start: int = -1
    picture_width: float | None = None
    size: float = 11
    leading: float = 15
    chapters: int = 22
    words: int = 3600
    rectos: bool = False
    justified: bool = True

    def texts(self) -> list[list[str]]:
        """The paragraphs of each chapter; chapters differ in length by up to a third."""
        lengths = [self.words * (8 + 5 * number % 9) // 12 for number in range(self.chapters)]
        return [_paragraphs(words, random.Random(41 + number)) for number, words in enumerate(lengths)]

    def typed(self, settings: Iterable[Setting]) -> Novel:
        """The book with every number typed that a report says to type, and mirroring turned on where it says so."""
        numbers = {each.name: each.set for each in settings if each.set is not None}
        width, height = numbers.pop("paper-width", None), numbers.pop("paper-height", None)
        numbers.pop("gutter", None)  # a part of the inside margin, for programs that ask for it apart
        changed: dict[str, Any] = {name.replace("-", "_"): value for name, value in numbers.items()}
        if "image_width" in changed:
            changed["picture_width"] = changed.pop("image_width")
        if "folio_start" in changed:
            changed["folio_start"] = int(changed["folio_start"])
        if any(told("setup.notes.turn-on") in (each.note or "") for each in settings):
            changed["mirrored"] = True
        return replace(self, **changed, trim=(width or self.trim[0], height or self.trim[1]))


TYPST, ODT = (Path(__file__).with_name(f"novel.{form}") for form in ("typ", "fodt"))


def _paragraphs(words: int, draw: random.Random) -> list[str]:
    """Sentences of our prose put together anew, one to nine a paragraph: no two are of one length, as in a novel."""
    (paragraphs,) = chapters(1, words=words, seed=draw.randrange(10**6))
    sentences = re.split(r"(?<=[.!?])\s+(?=[A-Z])", " ".join(paragraphs))
    draw.shuffle(sentences)
    made = []
    while sentences:
        count = draw.randint(1, 9)
        made.append(" ".join(sentences[:count]))
        del sentences[:count]
    return made


def set_by_typst(novel: Novel, folder: Path) -> Path:
    source = folder / "novel.typ"
    shutil.copy(TYPST, source)
    names = (*MARGINS, "trim", "header", "footer", "mirrored", "folio_start", "size",
             "leading", "rectos", "justified", "picture_width")  # fmt: skip
    facts = {name: getattr(novel, name) for name in names} | {
        "title": TITLE,
        "author": AUTHOR,
        "texts": novel.texts(),
        "picture": _picture(folder).name if novel.picture_width else None,
    }
    inputs = {"book": json.dumps(facts)}
    data = typst.compile(str(source), format="pdf", ignore_system_fonts=True, sys_inputs=inputs, pdf_tags=False)
    assert isinstance(data, bytes)
    path = folder / "typst.pdf"
    path.write_bytes(data)
    return path


def _picture(folder: Path) -> Path:
    path = folder / "picture.png"
    Image.linear_gradient("L").resize(PICTURE_PIXELS).save(path)
    return path


FOLIO = '<text:p text:style-name="Small"><text:page-number text:select-page="current">1</text:page-number></text:p>'
LINE = 9.0
"""The height of a header's line."""


def set_by_libreoffice(novel: Novel, folder: Path) -> Path:
    """Without pictures; chapters open on any side."""
    body = [_p("Display", TITLE), _p("Imprint", f"Copyright © 2026 {AUTHOR}. First edition.")]
    for number, paragraphs in enumerate(novel.texts(), 1):
        body += [
            _p("First" if number == 1 else "Heading", f"The {number}th Tide"),
            *(_p("Standard", text) for text in paragraphs),
        ]
    source = folder / "novel.fodt"
    source.write_text(
        ODT.read_text("utf-8").format(
            **{
                name: getattr(novel, name)
                for name in ("inside", "outside", "head", "foot", "header", "footer", "size", "leading")
            },
            width=novel.trim[0],
            height=novel.trim[1],
            usage="mirrored" if novel.mirrored else "all",
            header_height=max(LINE, novel.head - novel.header),
            footer_height=max(LINE, novel.foot - novel.footer),
            footer_gap=max(0.0, novel.foot - novel.footer - LINE),
            first_number=novel.folio_start + 2,
            title=TITLE,
            folio=FOLIO,
            body="".join(body),
        ),
        "utf-8",
    )
    profile = folder / "profile"
    command = [
        "soffice",
        f"-env:UserInstallation={profile.as_uri()}",
        "--headless",
        "--convert-to",
        "pdf",
        "--outdir",
        str(folder),
        str(source),
    ]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    return folder / "novel.pdf"


def _p(style: str, text: str) -> str:
    return f'<text:p text:style-name="{style}">{escape(text)}</text:p>'
