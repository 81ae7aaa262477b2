"""What lies under the marks of a plate: a picture of the page, asked for here and drawn in a child process; so are
pages with their marks, where many of one file are drawn at once.

Plain data alone, so that asking loads nothing that reads a PDF (:mod:`worker.report.underlays` does).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from worker.measure.models import Box, Fact, Measurements, Page
from worker.report.drawing import PageDrawing
from worker.report.models import Report
from worker.report.sheets import size_of
from worker.report.worst_pages import pages_to_picture

WIDTH, HEIGHT = 240, 330
"""CSS pixels that the page of a plate may take."""
ROOM = 24
"""Units around the page, for what stands beyond its edge. Two units are a CSS pixel."""

LARGEST_PICTURE = 120_000
"""Bytes of one picture; a page that takes more is drawn from its measurements."""
MOST_BYTES = 900_000
"""Bytes of all pictures of a report. As text in the page they are a third more: 1.2 MB, so that with the spread map
of a long book, 1.5 MB, the whole stays under 3 MB."""

LARGEST_DRAWING = 16_000_000
"""Bytes of one page with its marks: more than its pixels (:mod:`worker.report.pictures`) take without being packed."""


class Wanted(Fact):
    """One page's picture: the box ``view`` of it, ``size`` pixels large, nothing drawn over it.

    Boxes are points from the lower-left corner of the trimmed page, as a reader sees it; ``crop`` and ``trim`` are
    those of the page's measurements, by which the renderer finds the view.
    """

    page: int
    crop: Box
    view: Box
    size: tuple[int, int]


class PictureOrder(Fact):
    """The pages of a file that are wanted, the most wanted first: plain for a plate, or with their marks."""

    pages: tuple[Wanted | PageDrawing, ...]


def file_of(wanted: Wanted | PageDrawing) -> str:
    """The name of its picture in the folder of the child that draws it."""
    return f"{wanted.page}.{'webp' if isinstance(wanted, Wanted) else 'png'}"


@dataclass(frozen=True)
class Place:
    """Where a picture lies on a plate: left, top, width and height in units."""

    x: float
    y: float
    width: float
    height: float


def units_of(page: Page) -> float:
    """Units of the plate a point of the page."""
    width, height = size_of(page)
    return 2 * min(WIDTH / width, HEIGHT / height)


def picture_order(report: Report, measurements: Measurements) -> PictureOrder:
    """The pictures that a report is to be shown with."""
    pages = {page.page: page for page in measurements.pages if not page.unread}
    wanted = (wanted_of(pages[number]) for number in pages_to_picture(report.findings, pages))
    return PictureOrder(pages=tuple(each for each in wanted if each is not None))


def place_of(page: Page) -> Place | None:
    """Where the picture of ``page`` lies on its plate; None where nothing of it is on the sheet."""
    view, units = _view(page), units_of(page)
    if view is None:
        return None
    return Place(
        x=ROOM + (view[0] - page.trim[0]) * units,
        y=ROOM + (page.trim[3] - view[3]) * units,
        width=(view[2] - view[0]) * units,
        height=(view[3] - view[1]) * units,
    )


def within_budget(pictures: Mapping[int, bytes], report: Report, most: int = MOST_BYTES) -> dict[int, bytes]:
    """As many of the pictures as ``most`` bytes hold, the most wanted first."""
    return dict(_fitting(pictures, pages_to_picture(report.findings, pictures), most))


def is_picture(data: bytes, wanted: Wanted | PageDrawing) -> bool:
    """Whether this may be it, by its first bytes, and no larger than it may be.

    WebP: RFC 9649, 2.4. PNG: ISO/IEC 15948, 5.2.
    """
    if isinstance(wanted, PageDrawing):
        return data[:8] == b"\x89PNG\r\n\x1a\n" and len(data) <= LARGEST_DRAWING
    return (data[:4], data[8:12]) == (b"RIFF", b"WEBP") and len(data) <= LARGEST_PICTURE


def wanted_of(page: Page) -> Wanted | None:
    """The picture of one page; None where nothing of it is on the sheet."""
    place, view = place_of(page), _view(page)
    if place is None or view is None:
        return None
    size = (max(1, round(place.width)), max(1, round(place.height)))
    return Wanted(page=page.page, crop=page.crop, view=view, size=size)


def _view(page: Page) -> Box | None:
    """The trimmed page and the room around it, as far as the media goes."""
    room = ROOM / units_of(page)
    x0, y0 = max(page.trim[0] - room, page.media[0]), max(page.trim[1] - room, page.media[1])
    x1, y1 = min(page.trim[2] + room, page.media[2]), min(page.trim[3] + room, page.media[3])
    return (x0, y0, x1, y1) if x0 < x1 and y0 < y1 else None


def _fitting(pictures: Mapping[int, bytes], pages: list[int], most: int) -> Iterator[tuple[int, bytes]]:
    for page in pages:
        picture = pictures[page]
        if len(picture) <= most:
            most -= len(picture)
            yield page, picture
