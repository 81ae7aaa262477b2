"""One page after another, from the file's objects to facts."""

from __future__ import annotations

from typing import Any

import pikepdf

from worker.measure import whereabouts
from worker.measure.annotations import PageNotes, page_annotations, printed_appearances
from worker.measure.boxes import PageBoxes, page_boxes
from worker.measure.colour_facts import colour_facts
from worker.measure.fonts import Font
from worker.measure.gathered import FontSeen, Gathered
from worker.measure.geometry import Box
from worker.measure.interpreter import Interpreter
from worker.measure.layers import Layers
from worker.measure.limits import LimitReached, WorkLimits
from worker.measure.lines import reading_lines
from worker.measure.marks import PageMarks
from worker.measure.models import Image, Margins, Page, Reach, Side
from worker.measure.pagetree import PageNode
from worker.measure.paper import Paper
from worker.measure.pdfobjects import get, name, stream_bytes
from worker.measure.picture_inks import PictureInks
from worker.measure.resources import ResourceShelf

_DAMAGED = "its content is damaged"
_NOT_FOLLOWED = "its content cannot be followed"
_LOST_PAGE = "the file names it and has no such page"


class PageReader:
    """Reads pages of one open file; what they have in common is taken up once. What it finds is in ``gathered``."""

    def __init__(self, pdf: pikepdf.Pdf, limits: WorkLimits) -> None:
        self._limits = limits
        self._layers = Layers(pdf.Root)
        self._shelf = ResourceShelf()
        self._paper = Paper()
        self._inks = PictureInks()
        self._right_bound = name(get(get(pdf.Root, "/ViewerPreferences"), "/Direction")) == "R2L"
        self.gathered = Gathered()

    def read(self, node: PageNode, number: int) -> None:
        """Read one page; one that crosses a limit of a page is left unread. Raises ``LimitReached`` for memory."""
        whereabouts.at(number)
        page, inherited = node.page, node.inherited
        boxes = page_boxes(page, inherited)
        marks = PageMarks(
            media=boxes.seen("media"),
            trim=boxes.seen("trim"),
            is_white=self._paper.is_white,
            pixels_of=self._inks.pixels_of,
        )
        self._paper.turn_page()
        self._inks.turn_page()
        unread = boxes.fault
        if node.lost:
            unread = _LOST_PAGE
            self.gathered.repairs.append(f"page {number} is named in the page tree and is not there")
        notes = PageNotes([], [], [])
        try:
            notes = page_annotations(page, number, boxes.view)
            self._draw(page, inherited, boxes, marks)
        except MemoryError as error:
            raise LimitReached("memory", f"page {number} needs more memory than is allowed", number) from error
        except LimitReached as error:
            unread = str(error)
            self.gathered.crossed.append(LimitReached(error.limit, f"page {number}: {error}", number))
        except Exception as error:  # whatever a page does that nobody thought of costs that page, not the book
            unread = _unreadable(error)
        self.gathered.links += notes.links
        self.gathered.annotations += notes.others
        self.gathered.acting += notes.acting
        self._keep_fonts(marks, number)
        self._keep_images(marks, number)
        self.gathered.pages.append(self._page(number, boxes, marks, unread))

    def _draw(self, page: Any, inherited: dict[str, Any], boxes: PageBoxes, marks: PageMarks) -> None:
        own = page.get("/Resources")
        resources = inherited.get("/Resources") if own is None else own
        interpreter = Interpreter(marks, self._shelf, self._layers, self._limits)
        interpreter.begin(resources, boxes.view, marks.media)
        interpreter.follow(stream_bytes(page.get("/Contents")))
        for appearance, matrix in printed_appearances(page):
            interpreter.draw_appearance(appearance, boxes.view, matrix, marks.media)

    def _keep_fonts(self, marks: PageMarks, number: int) -> None:
        fonts = self.gathered.fonts
        for run in marks.runs:
            seen = fonts.get(run.font.key) or self._first_seen(run.font)
            seen.note(number, run.box, run.size)
        for lacking in marks.lacking:
            seen = fonts.get(lacking.font.key) or self._first_seen(lacking.font)
            seen.note(number, lacking.box, lacking.size)
            seen.missing.note(number, lacking.box, lacking.letter)

    def _first_seen(self, font: Font) -> FontSeen:
        seen = FontSeen(font.name, font.kind, font.embedded, font.subset, font.restricted)
        self.gathered.fonts[font.key] = seen
        return seen

    def _keep_images(self, marks: PageMarks, number: int) -> None:
        inks = {id(seen.picture): seen.pixels.ink for seen in marks.seen if seen.picture.space.family != "gray"}
        for picture in marks.pictures:
            facts = picture._asdict()
            del facts["source"], facts["space"], facts["masked"]
            facts["ppi"] = _rounded(picture.ppi)
            facts["mask_ppi"] = _rounded(picture.mask_ppi) if picture.mask_ppi else None
            self.gathered.images.append(Image(page=number, ink=inks.get(id(picture)), **facts))

    def _page(self, number: int, boxes: PageBoxes, marks: PageMarks, unread: str | None) -> Page:
        """The facts of a page, or of its boxes alone where its marks make none."""
        try:
            return self._facts(number, boxes, marks, unread)
        except Exception as error:
            nothing = PageMarks(media=boxes.seen("media"), trim=boxes.seen("trim"))
            return self._facts(number, boxes, nothing, unread or _unreadable(error))

    def _facts(self, number: int, boxes: PageBoxes, marks: PageMarks, unread: str | None) -> Page:
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
            thinnest_rule=marks.thinnest_rule[0] if marks.thinnest_rule else None,
            thinnest_rule_box=marks.thinnest_rule[1] if marks.thinnest_rule else None,
            **colour_facts(marks),
            reach=Reach(**marks.reach),
            lines=reading_lines(marks.runs),
            unread=unread,
        )


def _unreadable(error: Exception) -> str:
    return _DAMAGED if isinstance(error, pikepdf.PdfError) else f"{_NOT_FOLLOWED} ({type(error).__name__})"


def _rounded(ppi: tuple[float, float]) -> tuple[float, float]:
    return round(ppi[0], 3), round(ppi[1], 3)


def _margins(text: Box | None, trim: Box, side: Side) -> Margins | None:
    if text is None:
        return None
    x0, y0, x1, y1 = text
    left, right = x0, trim[2] - x1
    inside, outside = (left, right) if side == "recto" else (right, left)
    return Margins(inside=inside, outside=outside, head=trim[3] - y1, foot=y0)
