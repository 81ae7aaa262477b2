"""The way back: from the frame in which a reader sees a page to the page's own (ISO 32000-1 8.3.2.3, 14.11.2)."""

from __future__ import annotations

from dataclasses import dataclass

from worker.measure.boxes import page_boxes
from worker.measure.geometry import Box, Matrix, intersection
from worker.measure.pagetree import PageNode


@dataclass(frozen=True)
class PageFrame:
    """Boxes as a reader sees the page, in points from the lower-left corner of the trimmed page.

    ``back`` leads from there to the page's own user space; ``unit`` is the page's UserUnit.
    """

    media: Box
    trim: Box
    shown: Box
    """What a reader shows of the trimmed page."""
    back: Matrix
    unit: float


def frame_of(node: PageNode) -> PageFrame:
    """The frame of a page, by the boxes that it was measured by."""
    boxes = page_boxes(node.page, node.inherited)
    trim, crop = boxes.seen("trim"), boxes.seen("crop")
    shown = intersection(trim, crop)
    if shown is None or shown[0] >= shown[2] or shown[1] >= shown[3]:
        shown = crop
    return PageFrame(boxes.seen("media"), trim, shown, inverse(boxes.view), boxes.user_unit)


def inverse(matrix: Matrix) -> Matrix:
    """The matrix that undoes another; page frames always have one."""
    a, b, c, d, e, f = matrix
    area = a * d - b * c
    return d / area, -b / area, -c / area, a / area, (c * f - d * e) / area, (b * e - a * f) / area
