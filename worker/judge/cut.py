"""Where a page is cut, in points of the page's own coordinates; judged before one printer's sizes.

A page is cut at its TrimBox (ISO 32000-1 14.11.2). Two kinds of page say it otherwise, and are taken as they are meant,
so that one slip in the export is one finding and the margins are measured from where the knife goes:

- No TrimBox, on media larger than a size on offer by a plain bleed or an area with marks: cut inside that border.
- A TrimBox of a size on offer that reaches beyond the media: cut where it says, although the file ends before.

A page that is taken as its crop box and is of a size on offer is cut there.
"""

from __future__ import annotations

from typing import NamedTuple

from worker.measure.models import Box, Page
from worker.profiles.models import Interior, Trim

Size = tuple[float, float]

LEAST_BLEED, MOST_BLEED = 5.0, 17.5
"""Points beyond the trim that are plainly a bleed: 2 to 6 mm, as 3 mm and 0.125 in (common practice, no source)."""
MOST_MARKS_AREA = 54.0
"""Points beyond the trim that may hold a printer's marks: 0.75 in (common practice, no source)."""
ALIKE = 0.75
"""Points by which the borders of the sides may differ."""
FOLD = 3.0
"""Points by which two pages side by side may differ from twice one page: A4 is 1 mm wider than two A5 pages."""


class Border(NamedTuple):
    """A size on offer, and how far the media goes beyond it: on all four sides, or on all but the spine's."""

    trim: Trim
    amount: float
    at_spine: float


def box_size(box: Box) -> Size:
    return box[2] - box[0], box[3] - box[1]


def cut_of(page: Page, interior: Interior, *, binding_at_left: bool) -> Box:
    """Where the page is cut."""
    if interior.trim_near(*box_size(page.trim)):
        return page.trim
    written = page.beyond_media.get("trim")
    if written is not None and interior.trim_near(*box_size(written)):
        return written
    border = border_of(page, interior)
    if border is None:
        return page.trim
    x0, y0, x1, y1 = page.media
    left, right = (border.at_spine, border.amount) if binding_at_left else (border.amount, border.at_spine)
    return x0 + left, y0 + border.amount, x1 - right, y1 - border.amount


def border_of(page: Page, interior: Interior) -> Border | None:
    """The border of a page without a TrimBox; none where the media itself is of a size on offer."""
    size = box_size(page.media)
    if "trim" in page.declared or interior.trim_near(*size):
        return None
    known = [
        border
        for trim in interior.trims
        if (border := plain_border(trim, *size)) and (border.amount <= MOST_BLEED or _has_marks(page, border))
    ]
    return min(known, key=lambda border: border.amount, default=None)


def plain_border(trim: Trim, width: float, height: float) -> Border | None:
    """The even border that a page of this size has beyond ``trim``."""
    across, along = width - trim.width, height - trim.height
    if not 2 * LEAST_BLEED <= along <= 2 * MOST_MARKS_AREA:
        return None
    if abs(across - along) <= ALIKE:
        return Border(trim, along / 2, along / 2)
    three_sides = abs(2 * across - along) <= ALIKE and along / 2 <= MOST_BLEED
    return Border(trim, along / 2, 0.0) if three_sides else None


def _has_marks(page: Page, border: Border) -> bool:
    """Whether ink stands in the border, as a printer's marks do; without any, the paper is merely larger."""
    if page.ink is None:
        return False
    x0, y0, x1, y1 = page.media
    inner = (x0 + border.amount, y0 + border.amount, x1 - border.amount, y1 - border.amount)
    return page.ink[0] < inner[0] and page.ink[1] < inner[1] and page.ink[2] > inner[2] and page.ink[3] > inner[3]


def is_turned(page: Page, interior: Interior) -> bool:
    """Whether the page would be of a size on offer without the quarter turn that the file asks for, and is not with it.

    Such is a wide table on a page of its own: upright paper, shown lying so that it can be read on a screen.
    """
    if page.rotate not in (90, 270):
        return False
    width, height = box_size(page.trim)
    return not interior.trim_near(width, height) and interior.trim_near(height, width) is not None


def spread_of(size: Size, interior: Interior) -> Trim | None:
    """The size on offer of which a page of this size holds two, side by side, with or without a bleed around them."""
    if interior.trim_near(*size):
        return None
    return next((trim for trim in interior.trims if holds_two(size, (trim.width, trim.height))), None)


def holds_two(size: Size, single: Size) -> bool:
    """Whether two pages of the size ``single`` stand side by side on a page of this size."""
    across, along = size[0] - 2 * single[0], size[1] - single[1]
    with_bleed = 2 * LEAST_BLEED <= along <= 2 * MOST_BLEED and abs(across - along) <= FOLD
    return with_bleed or (abs(across) <= FOLD and abs(along) <= FOLD)
