"""Rules about pictures."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from worker.judge.case import Case, Draft, among, mark
from worker.judge.models import Measured, Required, Weight
from worker.judge.registry import rule
from worker.measure.models import Image
from worker.units import show_short

GUARD = 0.5
"""Pixels an inch: 299.6 passes 300, since producers round sizes (common practice, no source)."""
MOST_LINE_ART = 2400
"""Pixels an inch beyond which pure black and white gains nothing in print (common practice, no source)."""
LEAST_PIXELS = 3
"""A picture of fewer pixels on a side is a rule or a flat ground, whatever its resolution."""


@rule("image-resolution")
def image_resolution(case: Case) -> Iterator[Draft]:
    """Two causes: pictures that are refused, and pictures that are taken and print soft. No picture is in both."""
    asked = case.interior.images
    pictures = [image for image in _judged(case) if not image.line_art and image.colour != "mask"]
    refused = [image for image in pictures if _below(image, asked.least_ppi)]
    soft = [image for image in pictures if _below(image, asked.wanted_ppi) and not _below(image, asked.least_ppi)]
    if refused and asked.least_ppi is not None:
        yield _coarse(refused, asked.least_ppi, form="refused")
    if soft and asked.wanted_ppi is not None:
        yield _coarse(soft, asked.wanted_ppi, form="coarse", weight=Weight.SPOILAGE)


@rule("line-art-resolution")
def line_art_resolution(case: Case) -> Iterator[Draft]:
    asked = case.interior.images.line_art_ppi
    coarse = [image for image in _judged(case) if image.line_art and _below(image, asked)]
    if coarse and asked is not None:
        yield _coarse(coarse, asked)


@rule("image-oversampled")
def image_oversampled(case: Case) -> Iterator[Draft]:
    """Two causes: pictures in tones, and those in pure black and white, which carry finer detail."""
    asked = case.interior.images
    if asked.most_ppi is None:
        return
    most_line_art = max(asked.most_ppi, asked.line_art_ppi or 0, MOST_LINE_ART)
    for form, most in (("", asked.most_ppi), ("line-art", most_line_art)):
        fine = [image for image in _judged(case) if _is_line_art(image) == bool(form) and _ppi(image) > most + GUARD]
        if fine:
            yield _needlessly_fine(fine, most, form)


def _is_line_art(image: Image) -> bool:
    """Stencils too, and pictures whose detail is in their mask."""
    return image.line_art or image.colour == "mask" or image.mask_ppi is not None


def _needlessly_fine(images: Sequence[Image], most: float, form: str) -> Draft:
    order = sorted(images, key=lambda image: (-_ppi(image), image.page))
    finest = order[0]
    wide, high = (math.floor(is_ * most / ppi) for is_, ppi in zip(_pixels(finest), finest.ppi, strict=True))
    return Draft(
        form=form,
        cause=form,
        pages=[image.page for image in images],
        measured=Measured(value=_ppi(finest), unit="ppi"),
        required=Required(value=most, unit="ppi", relation="at-most"),
        facts={
            "is_": f"{_ppi(finest):.0f}",
            "most": f"{most:g}",
            "where": finest.page,
            "among": among("phrases.image-oversampled.among", len(images)),
            "pixels": f"{wide} × {high}",
        },
        marks=(mark(image.page, image.box, f"{_ppi(image):.0f} ppi") for image in order),
    )


def _pixels(image: Image) -> tuple[float, float]:
    """Of the picture, or of the mask that carries its detail."""
    if image.mask_ppi is None:
        return image.pixels
    x0, y0, x1, y1 = image.box
    return (x1 - x0) / 72 * image.ppi[0], (y1 - y0) / 72 * image.ppi[1]


def is_too_coarse(image: Image, least: float) -> bool:
    """Whether a picture is judged, and has fewer pixels an inch than are asked."""
    return _is_judged(image) and image.colour != "mask" and _below(image, least)


def _judged(case: Case) -> list[Image]:
    return [image for image in case.measurements.images if _is_judged(image)]


def _is_judged(image: Image) -> bool:
    return min(image.pixels) >= LEAST_PIXELS and math.isfinite(_ppi(image)) and _ppi(image) > 0


def _ppi(image: Image) -> float:
    """Along the axis in which the picture is coarser."""
    return min(image.ppi)


def _below(image: Image, limit: float | None) -> bool:
    return limit is not None and _ppi(image) < limit - GUARD


def _coarse(images: Sequence[Image], asked: float, *, form: str = "", weight: Weight | None = None) -> Draft:
    order = sorted(images, key=lambda image: (_ppi(image), image.page))
    worst = order[0]
    across = worst.pixels[0] / asked * 72
    return Draft(
        form=form,
        cause=form,
        weight=weight,
        pages=[image.page for image in images],
        measured=Measured(value=_ppi(worst), unit="ppi"),
        required=Required(value=asked, unit="ppi", relation="at-least"),
        facts={
            "is_": f"{_ppi(worst):.0f}",
            "asked": f"{asked:g}",
            "where": worst.page,
            "among": among("phrases.image-resolution.among", len(images)),
            "pixels": f"{worst.pixels[0]} × {worst.pixels[1]}",
            "inches": show_short(round(across / 72, 2) * 72, "in"),
            "millimetres": f"{across / 72 * 25.4:.0f} mm",
        },
        marks=(mark(image.page, image.box, f"{_ppi(image):.0f} ppi") for image in order),
    )
