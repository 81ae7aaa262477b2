"""What a proof shows, as plain data that can be handed to the child process that makes it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import datetime

from worker.judge.live_area import live_area
from worker.judge.models import Finding
from worker.measure.models import Box, Fact, Measurements, Page
from worker.profiles import Profile
from worker.report.drawing import DrawnMark, Edge, bound_at, measured_edge
from worker.report.models import Report

SIX_BY_NINE = (432.0, 648.0)
LEAST_SIDE = 144.0
"""Points: a page that is smaller has no room for words; the opening pages are then of 6 × 9 in."""


class PlacedMark(DrawnMark):
    """A mark, and the number (from 1) of the finding that it belongs to."""

    finding: int


class Order(Fact):
    """Boxes are points from the lower-left corner of the trimmed page, as a reader sees it; pages count from 1."""

    name: str
    """Of the file."""
    title: str | None = None
    printer: str
    summary: str
    judged_as_pages: int
    made_at: datetime
    findings: tuple[Finding, ...] = ()
    not_tried: int = 0
    """How many rules could not be tried."""
    size: tuple[float, float] = SIX_BY_NINE
    """Width and height of the usual page: the opening pages have it too."""
    live_areas: tuple[Box, ...] = ()
    """One for each page of the file."""
    marks: tuple[PlacedMark, ...] = ()


def order_of(report: Report, measurements: Measurements, profile: Profile) -> Order:
    """The proof of an inspected file. Every page that a margin rule names is hatched, not the worst few alone."""
    binding = bound_at(measurements, profile)
    areas = tuple(live_area(page, profile, report.judged_as_pages) for page in measurements.pages)
    marks = []
    for number, finding in enumerate(report.findings, 1):
        marked = {mark.page for mark in finding.marks}
        for mark in finding.marks:
            edge = measured_edge(finding.rule, mark.page, binding)
            marks.append(PlacedMark(finding=number, page=mark.page, box=mark.box, text=mark.text, edge=edge))
        for at in sorted(set(finding.pages) - marked):
            edge = measured_edge(finding.rule, at, binding)
            if edge is not None and at <= len(areas):
                marks.extend(_beyond(measurements.pages[at - 1], areas[at - 1], edge, number))
    return Order(
        name=report.file.name,
        title=measurements.document.title,
        printer=f"{report.profile.name} ({report.profile.revision})",
        summary=report.summary,
        judged_as_pages=report.judged_as_pages,
        made_at=report.measured_at,
        findings=report.findings,
        not_tried=len(report.not_checked),
        size=_usual_size(measurements),
        live_areas=areas,
        marks=tuple(marks),
    )


def _beyond(page: Page, area: Box, edge: Edge, number: int) -> Iterator[PlacedMark]:
    """What of the text block passes the live area on one side."""
    if page.text is None:
        return
    x0, y0, x1, y1 = page.text
    strips: dict[Edge, Box] = {
        "left": (x0, y0, min(x1, area[0]), y1),
        "right": (max(x0, area[2]), y0, x1, y1),
        "head": (x0, max(y0, area[3]), x1, y1),
        "foot": (x0, y0, x1, min(y1, area[1])),
    }
    strip = strips[edge]
    if strip[0] < strip[2] and strip[1] < strip[3]:
        yield PlacedMark(finding=number, page=page.page, box=strip, text="")


def _usual_size(measurements: Measurements) -> tuple[float, float]:
    sizes = Counter(
        (round(page.trim[2] - page.trim[0], 2), round(page.trim[3] - page.trim[1], 2)) for page in measurements.pages
    )
    usual = sizes.most_common(1)[0][0] if sizes else SIX_BY_NINE
    return usual if min(usual) >= LEAST_SIDE else SIX_BY_NINE
