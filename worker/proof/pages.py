"""The proof's pages: those of the file as they are, in one plain tree (ISO 32000-1 7.7.3), the opening ones first."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, String

from worker.measure.geometry import Box, Matrix, transform
from worker.measure.limits import LimitReached
from worker.measure.pagetree import INHERITED, PageNode
from worker.measure.pdfobjects import array, get, identity, integer, stream_bytes, tree_leaves
from worker.proof.balance import closing
from worker.words import told

OVERLAY = "/PressworthyProof"
PRINTED_AND_FIXED = 4 | 64 | 128
"""Flags of an annotation (12.5.3): Print, ReadOnly, Locked."""


class Pages:
    """The pages of a file, each an object of its own that can be added to without touching another."""

    def __init__(self, pdf: pikepdf.Pdf, nodes: Sequence[PageNode]) -> None:
        self._pdf = pdf
        self._before = pdf.make_stream(b"q\n")
        self._closings: dict[tuple[tuple[int, int], ...], bytes | None] = {}
        self.all = self._own(nodes)

    def _own(self, nodes: Sequence[PageNode]) -> list[pikepdf.Object]:
        """Each page with what it inherits written into it; one that stands in the tree twice is made two."""
        pages: list[pikepdf.Object] = []
        met = {(0, 0)}
        for node in nodes:
            page = node.page
            if isinstance(page, pikepdf.Stream):
                page = copy.copy(page.stream_dict)
            if identity(page) in met:
                page = self._pdf.make_indirect(copy.copy(page))
            met.add(identity(page))
            for key in INHERITED:
                if page.get(key) is None and key in node.inherited:
                    page[key] = node.inherited[key]
            page.Type = Name.Page
            pages.append(page)
        return pages

    def lay_over(self, page: pikepdf.Object, overlay: pikepdf.Object) -> bool:
        """Draw a form after all that the page draws; False where its content does not let anything be added."""
        contents = page.get("/Contents")
        streams = [part for part in [contents, *array(contents)] if isinstance(part, pikepdf.Stream)]
        ending = self._closing(streams)
        if ending is None:
            return False
        name = self._name_for(page, overlay)
        after = self._pdf.make_stream(b"\n" + ending + b"Q q " + name.encode() + b" Do Q\n")
        page.Contents = Array([self._before, *streams, after])
        return True

    def stamp(self, page: pikepdf.Object, overlay: pikepdf.Object, media: Box, back: Matrix) -> None:
        """Lay the form over the page as an annotation (12.5.6.12): what the content does cannot reach it.

        Readers that take no notice of an annotation's layer do of that of a form within its appearance.
        """
        rectangle = Array([round(side, 4) for side in transform(media, back)])
        appearance = self._pdf.make_stream(
            b"/Overlay Do",
            Type=Name.XObject,
            Subtype=Name.Form,
            BBox=rectangle,
            Resources=Dictionary(XObject=Dictionary(Overlay=overlay)),
        )
        stamp = Dictionary(
            Type=Name.Annot,
            Subtype=Name.Stamp,
            Rect=rectangle,
            F=PRINTED_AND_FIXED,
            OC=overlay.OC,
            AP=Dictionary(N=appearance),
        )
        self.annotate(page, [self._pdf.make_indirect(stamp)])

    def annotate(self, page: pikepdf.Object, notes: Sequence[pikepdf.Object]) -> None:
        """Add annotations to those that the page has."""
        if notes:
            page.Annots = Array([*array(page.get("/Annots")), *notes])

    def _closing(self, streams: Sequence[pikepdf.Stream]) -> bytes | None:
        key = tuple(identity(stream) for stream in streams)
        if key not in self._closings:
            self._closings[key] = _closing_of(streams)
        return self._closings[key]

    def _name_for(self, page: pikepdf.Object, overlay: pikepdf.Object) -> str:
        """Add the form to the page's resources, which are made its own, under a name that is not in use."""
        given = page.get("/Resources")
        resources = copy.copy(given) if isinstance(given, Dictionary) else Dictionary()
        known = resources.get("/XObject")
        forms = copy.copy(known) if isinstance(known, Dictionary) else Dictionary()
        name, again = OVERLAY, 1
        while name in forms:
            again += 1
            name = f"{OVERLAY}{again}"
        forms[name] = overlay
        resources.XObject = forms
        page.Resources = resources
        return name

    def bind(self, opening: Sequence[pikepdf.Object]) -> None:
        """Make one tree of the opening pages and the file's own, and number them as the file does."""
        whole = [*opening, *self.all]
        root = self._pdf.make_indirect(Dictionary(Type=Name.Pages, Count=len(whole)))
        for page in whole:
            page.Parent = root
        root.Kids = Array(whole)
        self._pdf.Root.Pages = root
        self._number(len(opening))

    def _number(self, before: int) -> None:
        """Page labels (12.4.2): the file's own moved along, or its page numbers, so that its page 12 is called 12."""
        leaves = list(tree_leaves(get(self._pdf.Root, "/PageLabels"), "/Nums"))
        pairs = zip(leaves[::2], leaves[1::2], strict=False)  # of a damaged tree the last may stand alone
        known = {integer(at): label for at, label in pairs if isinstance(label, Dictionary)}
        if min(known, default=1) > 0:
            known[0] = Dictionary(S=Name.D)
        moved: list[Any] = [0, Dictionary(S=Name.r, P=String(told("proof.label")))]
        for at in sorted(known):
            moved += [at + before, known[at]]
        self._pdf.Root.PageLabels = Dictionary(Nums=Array(moved))


def _closing_of(streams: Sequence[pikepdf.Stream]) -> bytes | None:
    try:
        return closing(b"\n".join(map(stream_bytes, streams)))
    except (pikepdf.PdfError, LimitReached):
        return None
