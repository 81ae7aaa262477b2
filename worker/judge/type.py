"""Rules about fonts and sizes of type."""

from __future__ import annotations

from collections.abc import Iterator

from worker.judge.case import ROUNDING, Case, Draft, among, mark, on_pages, some_of, worst_first
from worker.judge.models import Measured, Required
from worker.judge.registry import rule
from worker.measure.models import Font
from worker.units import show_number
from worker.words import counted, told


@rule("font-not-embedded")
def font_not_embedded(case: Case) -> Iterator[Draft]:
    """One cause, however many fonts: the export left fonts out. The fonts known are those that paint a glyph."""
    missing = [font for font in case.measurements.fonts if not font.embedded]
    if not case.interior.type.embedded or not missing:
        return
    names = sorted({font.name for font in missing})
    pages = sorted({page for font in missing for page in font.pages})
    places = sorted(((place, font.name) for font in missing for place in font.places), key=lambda at: at[0].page)
    yield Draft(
        pages=pages,
        measured=Measured(value=len(names), unit="count"),
        required=Required(value=0, unit="count", relation="at-most"),
        facts={
            "names": some_of(names),
            "fonts": counted("phrases.fonts", len(names)),
            "pages": on_pages(pages),
        },
        marks=(mark(place.page, place.box, name) for place, name in places),
    )


@rule("font-restricted")
def font_restricted(case: Case) -> Iterator[Draft]:
    if case.interior.type.embedded:
        yield from _of_fonts([font for font in case.measurements.fonts if font.embedded and font.restricted])


def silent_fonts(case: Case) -> Iterator[str]:
    """The embedded fonts whose permission is not known: their programs, as they stand in the file, do not say."""
    fonts = case.measurements.fonts
    silent = sorted(
        {_name(font) for font in fonts if font.embedded and font.restricted is None and font.kind != "type3"}
    )
    if silent:
        yield told("untried.permission-unknown", names=some_of(silent))


@rule("font-type3")
def font_type3(case: Case) -> Iterator[Draft]:
    yield from _of_fonts([font for font in case.measurements.fonts if font.kind == "type3"])


def _of_fonts(fonts: list[Font]) -> Iterator[Draft]:
    """One finding for all fonts that have a thing in common."""
    if not fonts:
        return
    names = sorted({_name(font) for font in fonts})
    pages = sorted({page for font in fonts for page in font.pages})
    places = sorted(((place, _name(font)) for font in fonts for place in font.places), key=lambda at: at[0].page)
    yield Draft(
        pages=pages,
        measured=Measured(value=len(fonts), unit="count"),
        required=Required(value=0, unit="count", relation="at-most"),
        facts={"names": some_of(names), "fonts": counted("phrases.fonts", len(names)), "pages": on_pages(pages)},
        marks=(mark(place.page, place.box, name) for place, name in places),
    )


@rule("missing-glyph")
def missing_glyph(case: Case) -> Iterator[Draft]:
    """One cause, however many fonts: letters were typed that the chosen fonts have not."""
    lacking = {font: font.missing for font in case.measurements.fonts if font.missing}
    if not lacking:
        return
    count = sum(missing.count for missing in lacking.values())
    pages = sorted({page for missing in lacking.values() for page in missing.pages})
    letters = list(dict.fromkeys(letter for missing in lacking.values() for letter in missing.letters))
    places = [(place, _name(font)) for font, missing in lacking.items() for place in missing.places]
    yield Draft(
        pages=pages,
        measured=Measured(value=count, unit="count"),
        required=Required(value=0, unit="count", relation="at-most"),
        facts={
            "times": counted("phrases.missing-glyph.times", count),
            "names": some_of(sorted({_name(font) for font in lacking})),
            "letters": told("phrases.missing-glyph.letters", letters=some_of(letters)) if letters else "",
            "pages": on_pages(pages),
        },
        marks=(mark(place.page, place.box, name) for place, name in sorted(places, key=lambda at: at[0].page)),
    )


def _name(font: Font) -> str:
    return told("phrases.nameless-font") if font.name == "unnamed" else font.name


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
            "among": among("phrases.small-type.among", len(small)),
        },
        marks=(mark(page, box, _points(small[page])) for page in order if (box := boxes[page]) is not None),
    )


def _points(size: float) -> str:
    """Type is measured in points whatever the profile's unit (custom of the trade)."""
    return f"{show_number(size, 2)} pt"
