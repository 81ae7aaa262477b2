"""What is to be drawn over a page: its live area, and the marks of the findings that touch it.

Plain data, so that it can be handed to the child process that draws (:mod:`worker.report.pictures`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from pydantic import Field

from worker.judge.models import Finding, Mark
from worker.measure.models import BindingEdge, Box, Fact, Measurements, Page
from worker.profiles import Profile

Edge = Literal["left", "right", "head", "foot"]

DEFAULT_DPI = 110.0


class DrawnMark(Mark):
    """A mark, and the trimmed edge from which its distance is written on a dimension line, if it is one."""

    edge: Edge | None = None


class Drawing(Fact):
    """One page's picture. Boxes are points from the lower-left corner of the trimmed page, as a reader sees it.

    ``media``, ``crop`` and ``trim`` are those of the page's measurements, and say what the picture shows and where
    the marks go on it.
    """

    media: Box
    crop: Box
    trim: Box
    live_area: Box | None = None
    marks: tuple[DrawnMark, ...] = ()
    dpi: float = Field(default=DEFAULT_DPI, gt=0)


class PageDrawing(Fact):
    """One page (from 1) of a file, to be drawn as ``drawing`` says."""

    page: int
    drawing: Drawing


def drawing_of(
    page: Page,
    *,
    live_area: Box | None,
    findings: Iterable[Finding] = (),
    binding_edge: BindingEdge = "left",
    dpi: float = DEFAULT_DPI,
) -> Drawing:
    """The picture of ``page`` with its live area and the marks that ``findings`` have on it."""
    return Drawing(
        media=page.media,
        crop=page.crop,
        trim=page.trim,
        live_area=live_area,
        marks=marks_on(findings, page.page, binding_edge),
        dpi=dpi,
    )


def marks_on(findings: Iterable[Finding], page: int, binding_edge: BindingEdge) -> tuple[DrawnMark, ...]:
    """The marks of all findings that lie on ``page``, each with the edge that its figure is measured from."""
    return tuple(
        DrawnMark(page=mark.page, box=mark.box, text=mark.text, edge=measured_edge(finding.rule, page, binding_edge))
        for finding in findings
        for mark in finding.marks
        if mark.page == page
    )


def without_repeats(marks: Sequence[DrawnMark]) -> list[DrawnMark]:
    """The marks of one page; words that say what an earlier mark has said are left out, distances kept."""
    told: set[str] = set()
    drawn = []
    for mark in marks:
        again = mark.edge is None and mark.text in told
        told.add(mark.text)
        drawn.append(mark.model_copy(update={"text": ""}) if again else mark)
    return drawn


def measured_edge(rule: str, page: int, binding_edge: BindingEdge) -> Edge | None:
    """The trimmed edge that a margin rule measures from on this page; None for a rule about something else."""
    inner = inner_edge(page, binding_edge)
    edges: dict[str, Edge] = {
        "inside-margin": inner,
        "outside-margin": "right" if inner == "left" else "left",
        "head-margin": "head",
        "foot-margin": "foot",
    }
    return edges.get(rule)


def bound_at(measurements: Measurements, profile: Profile) -> BindingEdge:
    """The edge a book is bound at: the right where the file or the profile says so; left is what both mean unsaid."""
    said = (measurements.document.binding_edge, profile.interior.binding_edge)
    return "right" if "right" in said else "left"


def inner_edge(page: int, binding_edge: BindingEdge) -> BindingEdge:
    """The edge of a page that is bound: the binding edge itself on odd pages, the other one on even pages."""
    if page % 2 == 1:
        return binding_edge
    return "right" if binding_edge == "left" else "left"
