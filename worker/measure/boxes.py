"""Page boxes (ISO 32000-1 14.11.2) and the way from a page's user space to what a reader sees.

MediaBox, CropBox and Rotate are inherited from the page tree (7.7.3.4); BleedBox, TrimBox, ArtBox and UserUnit are
not. CropBox defaults to MediaBox, the others to CropBox. All are cut to the MediaBox; as they were written, those that
reach beyond it are kept beside.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from worker.measure.geometry import IDENTITY, Box, Matrix, intersection, multiply, normalised, transform
from worker.measure.models import BoxName
from worker.measure.pdfobjects import number, numbers

LETTER: Box = (0.0, 0.0, 612.0, 792.0)
"""What readers show for a page that tells no size (general practice of renderers, not the standard)."""

_KEYS: dict[BoxName, str] = {
    "media": "/MediaBox",
    "crop": "/CropBox",
    "bleed": "/BleedBox",
    "trim": "/TrimBox",
    "art": "/ArtBox",
}


@dataclass(frozen=True)
class PageBoxes:
    """The boxes in the page's own user space, and ``view``: from there to points as a reader sees the page,
    origin at the lower-left corner of the trimmed page."""

    media: Box
    crop: Box
    bleed: Box
    trim: Box
    art: Box
    declared: tuple[BoxName, ...]
    rotate: int
    user_unit: float
    view: Matrix
    fault: str | None = None
    beyond_media: dict[BoxName, Box] = field(default_factory=dict)
    """As written, the boxes that reach beyond the media."""

    def seen(self, box: BoxName) -> Box:
        """One of the boxes as a reader sees it."""
        return transform(getattr(self, box), self.view)

    def seen_beyond_media(self) -> dict[BoxName, Box]:
        """As written and as a reader would see them, the boxes that reach beyond the media."""
        return {box: transform(rectangle, self.view) for box, rectangle in self.beyond_media.items()}


def page_boxes(page: Any, inherited: dict[str, Any]) -> PageBoxes:
    """``inherited`` holds what the page tree above hands down."""
    raw = {box: _rectangle(_own_or_inherited(page, inherited, key)) for box, key in _KEYS.items()}
    declared = tuple(box for box, rectangle in raw.items() if rectangle is not None)
    media, fault = _media(raw["media"])
    crop = media
    if raw["crop"] is not None:
        cut = intersection(raw["crop"], media)
        fault = fault or (None if cut and _has_area(cut) else "its CropBox lies outside its MediaBox")
        crop = cut if cut and _has_area(cut) else media
    others = {box: _within(raw[box], media, crop) for box in ("bleed", "trim", "art")}
    rotate = _rotation(_own_or_inherited(page, inherited, "/Rotate"))
    unit = number(page.get("/UserUnit"))
    unit = unit if unit and unit > 0 else 1.0
    return PageBoxes(
        media=media,
        crop=crop,
        bleed=others["bleed"],
        trim=others["trim"],
        art=others["art"],
        declared=declared,
        rotate=rotate,
        user_unit=unit,
        view=_view(others["trim"], rotate, unit),
        fault=fault,
        beyond_media={box: written for box, written in raw.items() if written and _reaches_beyond(written, media)},
    )


def _own_or_inherited(page: Any, inherited: dict[str, Any], key: str) -> Any:
    own = page.get(key)
    return inherited.get(key) if own is None else own


def _rectangle(value: Any) -> Box | None:
    corners = numbers(value)
    return normalised(corners) if len(corners) == 4 else None


def _has_area(box: Box) -> bool:
    return box[2] > box[0] and box[3] > box[1]


def _reaches_beyond(box: Box, media: Box) -> bool:
    return box[0] < media[0] or box[1] < media[1] or box[2] > media[2] or box[3] > media[3]


def _media(media: Box | None) -> tuple[Box, str | None]:
    if media is None:
        return LETTER, "it has no MediaBox, so its size is not known"
    if not _has_area(media):
        return LETTER, "its MediaBox is empty, so its size is not known"
    return media, None


def _within(box: Box | None, media: Box, default: Box) -> Box:
    if box is None:
        return default
    cut = intersection(box, media)
    return cut if cut and _has_area(cut) else default


def _rotation(value: Any) -> int:
    """Degrees clockwise, 0 to 270; what is no multiple of 90 is invalid and counts as 0 (ISO 32000-1 Table 30)."""
    turn = number(value) or 0.0
    return int(turn) % 360 if turn % 90 == 0 else 0


def _view(trim: Box, rotate: int, unit: float) -> Matrix:
    x0, y0, x1, y1 = trim
    width, height = x1 - x0, y1 - y0
    turned: dict[int, Matrix] = {
        0: IDENTITY,
        90: (0.0, -1.0, 1.0, 0.0, 0.0, width),
        180: (-1.0, 0.0, 0.0, -1.0, width, height),
        270: (0.0, 1.0, -1.0, 0.0, height, 0.0),
    }
    to_corner: Matrix = (1.0, 0.0, 0.0, 1.0, -x0, -y0)
    return multiply(multiply(to_corner, turned[rotate]), (unit, 0.0, 0.0, unit, 0.0, 0.0))
