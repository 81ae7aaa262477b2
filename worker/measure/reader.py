"""The whole reading: open the file, go through its pages, gather the facts."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pikepdf

from worker.measure.annotations import page_annotations, printed_appearances
from worker.measure.boxes import PageBoxes, page_boxes
from worker.measure.document import document_facts, page_has_javascript
from worker.measure.fonts import Font
from worker.measure.geometry import Box
from worker.measure.interpreter import Interpreter
from worker.measure.layers import Layers
from worker.measure.limits import LimitReached, WorkLimits
from worker.measure.lines import reading_lines
from worker.measure.marks import PageMarks, Run
from worker.measure.models import (
    Annotation,
    Document,
    File,
    Image,
    Link,
    Margins,
    Measurements,
    Page,
    Place,
    Reach,
    Side,
    Unreadable,
)
from worker.measure.models import Font as FontFacts
from worker.measure.pagetree import pages_with_inheritance
from worker.measure.pdfobjects import get, name, stream_bytes
from worker.measure.resources import ResourceShelf
from worker.measure.version import READER_VERSION

_CHUNK = 1 << 20
MOST_PLACES = 12
"""Pages on which a font's first place is kept: as many as a finding shows."""
_UNREADABLE_PAGE = "its content could not be read"


def read(path: Path, *, name: str, progress: Callable[[int, int], None] | None = None) -> Measurements:
    """See ``worker.measure.measure``."""
    file = _file_facts(path, name)
    try:
        pdf = pikepdf.open(path, suppress_warnings=True, inherit_page_attributes=False)
    except pikepdf.PasswordError:
        return _unreadable(file, "password", "it opens only with a password")
    except (pikepdf.PdfError, RuntimeError, ValueError) as error:
        return _unreadable(file, "damaged", str(error).rsplit(": ", 1)[-1][:200])
    with pdf:
        return _Reading(pdf, file, WorkLimits.from_environment()).read(progress)


def _file_facts(path: Path, name: str) -> File:
    digest = hashlib.sha256()
    with path.open("rb") as stream:
        while chunk := stream.read(_CHUNK):
            digest.update(chunk)
        size = stream.tell()
    return File(name=name, sha256=digest.hexdigest(), bytes=size)


def _unreadable(file: File, reason: Any, detail: str) -> Measurements:
    document = Document(pages=0, encrypted=reason == "password", unreadable=Unreadable(reason=reason, detail=detail))
    return Measurements(reader=READER_VERSION, file=file, document=document)


@dataclass
class _FontSeen:
    """A font and where it paints glyphs, in the order of pages; sizes in points."""

    font: Font
    pages: list[int] = field(default_factory=list)
    places: list[Place] = field(default_factory=list)
    least: float = math.inf
    most: float = 0.0

    def note(self, page: int, run: Run) -> None:
        if not self.pages or self.pages[-1] != page:
            self.pages.append(page)
            if len(self.places) < MOST_PLACES:
                self.places.append(Place(page=page, box=run.box))
        self.least, self.most = min(self.least, run.size), max(self.most, run.size)


class _Reading:
    """One file being read; what it gathers becomes the measurements."""

    def __init__(self, pdf: pikepdf.Pdf, file: File, limits: WorkLimits) -> None:
        self._pdf = pdf
        self._file = file
        self._limits = limits
        self._layers = Layers(pdf.Root)
        self._shelf = ResourceShelf()
        self._fonts: dict[int, _FontSeen] = {}
        self._images: list[Image] = []
        self._links: list[Link] = []
        self._annotations: list[Annotation] = []
        self._pages: list[Page] = []
        self._scripted = False
        self._right_bound = name(get(get(pdf.Root, "/ViewerPreferences"), "/Direction")) == "R2L"

    def read(self, progress: Callable[[int, int], None] | None) -> Measurements:
        tree = list(pages_with_inheritance(self._pdf))
        if len(tree) > self._limits.pages:
            raise LimitReached("pages", f"the file has {len(tree):,} pages; this service reads {self._limits.pages:,}")
        if not tree:
            return _unreadable(self._file, "damaged", "it has no pages")
        for number, (page, inherited) in enumerate(tree, 1):
            self._pages.append(self._read_page(page, inherited, number))
            if progress:
                progress(number, len(tree))
        return Measurements(
            reader=READER_VERSION,
            file=self._file,
            document=document_facts(self._pdf, len(tree), self._layers.names, scripted_page=self._scripted),
            fonts=self._font_facts(),
            images=tuple(self._images),
            links=tuple(self._links),
            annotations=tuple(self._annotations),
            pages=tuple(self._pages),
        )

    def _read_page(self, page: Any, inherited: dict[str, Any], number: int) -> Page:
        boxes = page_boxes(page, inherited)
        trim = boxes.seen("trim")
        marks = PageMarks(media=boxes.seen("media"), trim=trim)
        unread = boxes.fault
        try:
            self._draw(page, inherited, boxes, marks)
        except MemoryError as error:
            raise LimitReached("memory", f"page {number} needs more memory than is allowed", number) from error
        except LimitReached as error:
            raise LimitReached(error.limit, f"page {number}: {error}", number) from error
        except (pikepdf.PdfError, ValueError, TypeError, KeyError, OverflowError, RecursionError) as error:
            unread = f"{_UNREADABLE_PAGE} ({type(error).__name__})"
        links, annotations = page_annotations(page, number, boxes.view)
        self._links += links
        self._scripted = self._scripted or page_has_javascript(page)
        self._annotations += annotations
        self._keep(marks, number)
        return self._page_facts(number, boxes, marks, unread)

    def _draw(self, page: Any, inherited: dict[str, Any], boxes: PageBoxes, marks: PageMarks) -> None:
        own = page.get("/Resources")
        resources = inherited.get("/Resources") if own is None else own
        interpreter = Interpreter(marks, self._shelf, self._layers, self._limits)
        interpreter.begin(resources, boxes.view, marks.media)
        interpreter.follow(stream_bytes(page.get("/Contents")))
        for appearance, matrix in printed_appearances(page):
            interpreter.draw_appearance(appearance, boxes.view, matrix, marks.media)

    def _keep(self, marks: PageMarks, number: int) -> None:
        for run in marks.runs:
            seen = self._fonts.get(id(run.font))
            if seen is None:
                seen = self._fonts[id(run.font)] = _FontSeen(run.font)
            seen.note(number, run)
        self._images.extend(
            Image(page=number, **{**picture._asdict(), "ppi": _rounded(picture.ppi), "mask_ppi":
                  _rounded(picture.mask_ppi) if picture.mask_ppi else None})
            for picture in marks.pictures
        )  # fmt: skip

    def _page_facts(self, number: int, boxes: PageBoxes, marks: PageMarks, unread: str | None) -> Page:
        ink, text = marks.ink, marks.text
        side: Side = "recto" if (number % 2 == 1) != self._right_bound else "verso"
        smallest = min(marks.runs, key=lambda run: run.size, default=None)
        return Page(
            page=number,
            side=side,
            media=boxes.seen("media"),
            crop=boxes.seen("crop"),
            bleed=boxes.seen("bleed"),
            trim=boxes.seen("trim"),
            art=boxes.seen("art"),
            declared=boxes.declared,
            beyond_media=boxes.seen_beyond_media(),
            rotate=boxes.rotate,
            user_unit=boxes.user_unit,
            blank=ink is None and unread is None,
            ink=ink,
            text=text,
            margins=_margins(text, marks.trim, side),
            smallest_type=smallest.size if smallest else None,
            smallest_type_box=smallest.box if smallest else None,
            thinnest_rule=marks.thinnest_rule,
            colours=tuple(sorted(marks.colours)),
            most_ink=marks.most_ink,
            transparency=marks.transparency,
            reach=Reach(**marks.reach),
            lines=reading_lines(marks.runs),
            unread=unread,
        )

    def _font_facts(self) -> tuple[FontFacts, ...]:
        facts = [
            FontFacts(
                name=seen.font.name,
                kind=seen.font.kind,
                embedded=seen.font.embedded,
                subset=seen.font.subset,
                restricted=seen.font.restricted,
                pages=tuple(seen.pages),
                sizes=(seen.least, seen.most),
                places=tuple(seen.places),
            )
            for seen in self._fonts.values()
        ]
        return tuple(sorted(facts, key=lambda font: (font.name, font.pages)))


def _rounded(ppi: tuple[float, float]) -> tuple[float, float]:
    return round(ppi[0], 3), round(ppi[1], 3)


def _margins(text: Box | None, trim: Box, side: Side) -> Margins | None:
    if text is None:
        return None
    x0, y0, x1, y1 = text
    left, right = x0, trim[2] - x1
    inside, outside = (left, right) if side == "recto" else (right, left)
    return Margins(inside=inside, outside=outside, head=trim[3] - y1, foot=y0)
