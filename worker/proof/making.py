"""The whole making of a proof. Runs in the fenced child: the file is hostile."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

import pikepdf
from pikepdf import Array, Dictionary, Name

from worker.measure.geometry import Box
from worker.measure.pagetree import PageNode, page_nodes
from worker.proof.frame import PageFrame, frame_of
from worker.proof.layer import add_layer
from worker.proof.letters import FACES
from worker.proof.notes import Notes
from worker.proof.opening import OpeningPage, opening_pages
from worker.proof.order import Order
from worker.proof.overlay import Overlay, PageMarks, marks_by_page
from worker.proof.pages import Pages
from worker.proof.pen import FONT_NAMES

LEAST_VERSION = "1.5"
"""Optional content came with it (ISO 32000-1 8.11.1)."""


class NoProof(Exception):
    """There can be none of this file; the message says why, in one line."""


def make_proof(path: Path, order: Order, out: Path) -> None:
    """Write the proof of the file at ``path`` to ``out``, without encryption.

    Raises :class:`NoProof` for a file that does not open or has no pages, and ``pikepdf.PdfError`` where the library
    cannot write what it has read.
    """
    try:
        pdf = pikepdf.open(path, suppress_warnings=True, inherit_page_attributes=False)
        nodes = page_nodes(pdf)
    except pikepdf.PasswordError:
        raise NoProof("it opens only with a password") from None
    except (pikepdf.PdfError, RuntimeError, ValueError) as error:
        raise NoProof(f"it cannot be opened: {str(error).rsplit(': ', 1)[-1][:200]}") from None
    with pdf:
        if all(node.lost for node in nodes):
            raise NoProof("it has no pages")
        _Proof(pdf, nodes, order).make()
        pdf.trailer.Size = 1  # the library writes the true one (7.5.5), but only where there was one
        pdf.save(
            out,
            min_version=LEAST_VERSION,
            object_stream_mode=pikepdf.ObjectStreamMode.generate,
            stream_decode_level=pikepdf.StreamDecodeLevel.none,  # the file's own streams stay byte by byte
            fix_metadata_version=False,
            encryption=False,
            deterministic_id=True,
        )


class _Proof:
    def __init__(self, pdf: pikepdf.Pdf, nodes: list[PageNode], order: Order) -> None:
        self._pdf = pdf
        self._order = order
        self._frames = [frame_of(node) for node in nodes]
        self._pages = Pages(pdf, nodes)
        self._group = add_layer(pdf)
        self._fonts = _fonts(pdf)
        self._notes = Notes(pdf, self._group, self._fonts, order.findings, order.made_at)

    def make(self) -> None:
        marks = marks_by_page(self._order.marks)
        findings = _findings_by_page(self._order)
        for number, (page, frame) in enumerate(zip(self._pages.all, self._frames, strict=True), 1):
            live = self._order.live_areas[number - 1] if number <= len(self._order.live_areas) else None
            self._mark(page, frame, PageMarks(number, live, marks.get(number, ()), tuple(findings[number])))
        opening = [self._opening_page(made) for made in opening_pages(self._order)]
        self._pages.bind(opening)
        self._open_at_the_first_page()

    def _mark(self, page: pikepdf.Object, frame: PageFrame, marked: PageMarks) -> None:
        overlay = Overlay(frame, marked)
        overlay.draw()
        form = self._form(overlay.pen.stream, frame)
        if not self._pages.lay_over(page, form):
            self._pages.stamp(page, form, frame.media, frame.back)
        notes = self._notes.of_page(frame, marked.marks, marked.findings, overlay.places, overlay.scale)
        self._pages.annotate(page, notes)

    def _form(self, drawn: bytes, frame: PageFrame) -> pikepdf.Object:
        """A form on the layer (8.11.3.3) whose own frame is the reader's; it is no part of the text (14.8.2.2)."""
        return self._pdf.make_stream(
            b"/Artifact BMC\n" + drawn + b"EMC\n",
            Type=Name.XObject,
            Subtype=Name.Form,
            BBox=Array([round(side, 4) for side in frame.media]),
            Matrix=Array([round(part, 9) for part in frame.back]),
            Resources=Dictionary(Font=self._fonts),
            OC=self._group,
        )

    def _opening_page(self, made: OpeningPage) -> pikepdf.Object:
        wide, high = self._order.size
        page = Dictionary(
            Type=Name.Page,
            MediaBox=Array([0, 0, wide, high]),
            Resources=Dictionary(Font=self._fonts),
            Contents=self._pdf.make_stream(made.pen.stream),
        )
        notes = []
        for number, place in made.places.items():
            pages = self._order.findings[number - 1].pages
            if not pages:
                notes.append(self._notes.note(number, (place[2] + 4, place[3])))
            elif 1 <= pages[0] <= len(self._pages.all):
                notes.append(self._way_to(self._pages.all[pages[0] - 1], place))
        if notes:
            page.Annots = Array(notes)
        return self._pdf.make_indirect(page)

    def _way_to(self, page: pikepdf.Object, place: Box) -> pikepdf.Object:
        """A link (12.5.6.5) from a finding in the list to its first page."""
        return self._pdf.make_indirect(
            Dictionary(
                Type=Name.Annot,
                Subtype=Name.Link,
                Rect=Array([round(side, 2) for side in place]),
                Border=Array([0, 0, 0]),
                Dest=Array([page, Name.Fit]),
            )
        )

    def _open_at_the_first_page(self) -> None:
        """A reader opens the proof at its list, wherever the file itself asks to be opened. A signature that the file
        bears is one of the file, not of the proof (12.8.4)."""
        for key in ("/OpenAction", "/Perms"):
            if key in self._pdf.Root:
                del self._pdf.Root[key]


def _fonts(pdf: pikepdf.Pdf) -> pikepdf.Object:
    made = {
        FONT_NAMES[face]: Dictionary(
            Type=Name.Font, Subtype=Name.Type1, BaseFont=Name(f"/{font}"), Encoding=Name.WinAnsiEncoding
        )
        for face, font in FACES.items()
    }
    return pdf.make_indirect(Dictionary({name: pdf.make_indirect(font) for name, font in made.items()}))


def _findings_by_page(order: Order) -> defaultdict[int, list[int]]:
    """The numbers of the findings that touch each page, by their pages and by their marks."""
    found: defaultdict[int, list[int]] = defaultdict(list)
    marked = defaultdict(set)
    for mark in order.marks:
        marked[mark.finding].add(mark.page)
    for number, finding in enumerate(order.findings, 1):
        for page in set(finding.pages) | marked[number]:
            found[page].append(number)
    return found
