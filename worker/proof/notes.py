"""Findings as notes: text annotations (ISO 32000-1 12.5.6.4) that any reader lists and opens."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import pikepdf
from pikepdf import Array, Dictionary, Name, String

from worker.judge.models import Finding, Weight
from worker.measure.geometry import Box, apply
from worker.proof.frame import PageFrame
from worker.proof.letters import encoded, width
from worker.proof.order import PlacedMark
from worker.proof.pen import INK, PAPER, VERDIGRIS, Pen
from worker.proof.places import Places
from worker.report.geometry import Point
from worker.report.words import shown
from worker.words import told

ICON = 12.0
"""Points: readers show a note's icon in one size, however the page is enlarged (12.5.3, NoZoom)."""
UNTOUCHED_BY_THE_PAGE = 8 | 16
"""The flags NoZoom and NoRotate (12.5.3), which a text annotation has in any case."""
MOST_A_PAGE = 24
MOST_IN_ALL = 20_000
"""Notes on pages that a finding names without a mark; those at a mark are few."""


class Notes:
    """Makes the notes of one proof; all look alike but for the finding's number."""

    def __init__(
        self,
        pdf: pikepdf.Pdf,
        group: pikepdf.Object,
        fonts: pikepdf.Object,
        findings: Sequence[Finding],
        made: datetime,
    ) -> None:
        self._pdf = pdf
        self._group = group
        self._fonts = fonts
        self._findings = findings
        self._made = made
        self._icons: dict[int, pikepdf.Object] = {}
        self._unmarked = 0

    def of_page(
        self, frame: PageFrame, marks: Sequence[PlacedMark], findings: Sequence[int], places: Places, scale: float
    ) -> list[pikepdf.Object]:
        """A note beside each mark of a page, and one at its head for each finding that has no mark there."""
        made = []
        for mark in marks[:MOST_A_PAGE]:
            box = places.take((ICON, ICON), _beside(mark))
            made.append(self.note(mark.finding, _own_place(box, frame), frame.unit, mark.text))
        marked = {mark.finding for mark in marks}
        for number in [number for number in findings if number not in marked][: MOST_A_PAGE - len(made)]:
            if self._unmarked == MOST_IN_ALL:
                break
            self._unmarked += 1
            box = places.take((ICON, ICON), _at_head(frame.shown, scale))
            made.append(self.note(number, _own_place(box, frame), frame.unit))
        return made

    def note(self, number: int, corner: Point, unit: float = 1.0, at: str = "") -> pikepdf.Object:
        """The note of a finding (from 1), its upper left corner at a point of the page's own frame."""
        finding = self._findings[number - 1]
        apart = at and at not in finding.detail
        said = told("proof.at", at=at, detail=finding.detail) if apart else finding.detail
        x, y, side = *corner, ICON / unit
        note = Dictionary(
            Type=Name.Annot,
            Subtype=Name.Text,
            Rect=Array([_real(x), _real(y - side), _real(x + side), _real(y)]),
            T=String(shown(told("proof.numbered", number=number, title=finding.title))),
            Subj=String(weighed(finding.weight)),
            Contents=String(
                "\r\r".join(shown(part).strip() for part in (said, finding.remedy) if part)
            ),  # CR, says Table 164
            Name=Name.Note,
            F=UNTOUCHED_BY_THE_PAGE,
            C=Array([round(part / 255, 3) for part in VERDIGRIS]),
            M=String(f"D:{self._made:%Y%m%d%H%M%S}Z"),
            OC=self._group,
            AP=Dictionary(N=self._icon(number)),
        )
        return self._pdf.make_indirect(note)

    def _icon(self, number: int) -> pikepdf.Object:
        """A slip of paper with the finding's number."""
        if number not in self._icons:
            pen, size, words = Pen(), 7.5 if number < 100 else 5.5, encoded(str(number))
            pen.filled((0.5, 0.5, ICON - 0.5, ICON - 0.5), PAPER)
            pen.outline((0.5, 0.5, ICON - 0.5, ICON - 0.5), 0.75, VERDIGRIS)
            pen.words(words, ((ICON - width(words, "bold", size)) / 2, ICON / 2 - size / 3), "bold", size, INK)
            self._icons[number] = self._pdf.make_stream(
                b"/OC /Layer BDC\n" + pen.stream + b"EMC\n",  # some readers ask the appearance alone
                Type=Name.XObject,
                Subtype=Name.Form,
                BBox=Array([0, 0, ICON, ICON]),
                Resources=Dictionary(Font=self._fonts, Properties=Dictionary(Layer=self._group)),
            )
        return self._icons[number]


def weighed(weight: Weight) -> str:
    """A weight's name, and what it means."""
    key = f"verdict.weights.{weight.value}"
    return told("proof.weight", weight=told(f"{key}.name"), meaning=told(f"{key}.meaning"))


def _own_place(box: Box, frame: PageFrame) -> Point:
    """Where the box's upper left corner, as a reader sees it, lies in the page's own frame.

    A note does not turn with its page: the upper left corner of its rectangle, in the page's own frame, stays in place
    and the icon hangs from there (12.5.3, NoRotate).
    """
    return apply(frame.back, box[0], box[3])


def _beside(mark: PlacedMark) -> list[Point]:
    """Lower-left corners of an icon near a mark: on the side from which its distance is measured first."""
    x0, y0, x1, y1 = mark.box
    left, right = (x0 - ICON - 2, y1 - ICON), (x1 + 2, y1 - ICON)
    above, below = (x0, y1 + 2), (x0, y0 - ICON - 2)
    first = {"left": left, "right": right, "head": above, "foot": below}.get(mark.edge or "", right)
    down = 1 if y1 - y0 > 3 * ICON else -1
    further = [(first[0], first[1] - down * step * (ICON + 2)) for step in range(1, 20)]
    return [first, right, left, below, above, *further]


def _at_head(shown_box: Box, scale: float) -> list[Point]:
    """Lower-left corners along the head of the page, from the right, then in rows below."""
    x0, _, x1, y1 = shown_box
    across = max(1, min(30, int((x1 - x0) / 2 // (ICON + 2))))
    top = y1 - 14 * scale - ICON
    return [(x1 - 4 - (place + 1) * (ICON + 2), top - row * (ICON + 2)) for row in range(3) for place in range(across)]


def _real(value: float) -> float:
    return round(value, 4)
