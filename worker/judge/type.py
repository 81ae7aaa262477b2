"""Rules about fonts and sizes of type."""

from __future__ import annotations

from collections.abc import Iterator

from worker.judge.case import ROUNDING, Case, Draft, mark, on_pages, worst_first
from worker.judge.models import Measured, Required
from worker.judge.registry import rule
from worker.units import show_number

MOST_NAMES = 8


@rule("font-not-embedded")
def font_not_embedded(case: Case) -> Iterator[Draft]:
    """One cause, however many fonts: the export left fonts out. The fonts known are those that paint a glyph."""
    missing = [font for font in case.measurements.fonts if not font.embedded]
    if not case.interior.type.embedded or not missing:
        return
    names = sorted({font.name for font in missing})
    pages = sorted({page for font in missing for page in font.pages})
    places = sorted(((place, font.name) for font in missing for place in font.places), key=lambda at: at[0].page)
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    yield Draft(
        pages=pages,
        measured=Measured(value=len(names), unit="count"),
        required=Required(value=0, unit="count", relation="at-most"),
        facts={
            "names": ", ".join(names[:MOST_NAMES]) + more,
            "fonts": "a font" if len(names) == 1 else f"{len(names)} fonts",
            "pages": on_pages(pages),
        },
        marks=(mark(place.page, place.box, name) for place, name in places),
    )


@rule("small-type")
def small_type(case: Case) -> Iterator[Draft]:
    asked = case.interior.type.least_size
    if asked is None:
        return
    known = ((page.page, page.smallest_type) for page in case.read_pages)
    small = {page: size for page, size in known if size is not None and size < asked - ROUNDING}
    if not small:
        return
    worst, *_ = order = worst_first(small)
    boxes = {page: case.pages[page - 1].smallest_type_box for page in order}
    yield Draft(
        pages=list(small),
        measured=Measured(value=small[worst], unit="pt"),
        required=Required(value=asked, unit="pt", relation="at-least"),
        facts={
            "is_": _points(small[worst]),
            "asked": _points(asked),
            "where": worst,
            "among": "" if len(small) == 1 else f", the smallest of {len(small)} pages",
        },
        marks=(mark(page, box, _points(small[page])) for page in order if (box := boxes[page]) is not None),
    )


def _points(size: float) -> str:
    """Type is measured in points whatever the profile's unit (custom of the trade)."""
    return f"{show_number(size, 2)} pt"
