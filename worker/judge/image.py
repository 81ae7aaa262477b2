"""Rules about pictures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from worker.judge.case import Case, Draft, mark
from worker.judge.models import Measured, Required, Weight
from worker.judge.registry import rule
from worker.measure.models import Image

_GUARD = 0.5
"""Pixels an inch: 299.6 passes 300, since producers round sizes (common practice, no source)."""


@rule("image-resolution")
def image_resolution(case: Case) -> Iterator[Draft]:
    asked = case.profile.interior.images
    pictures = [image for image in case.measurements.images if not image.line_art and image.colour != "mask"]
    least, wanted = asked.least_ppi, asked.wanted_ppi
    refused = [image for image in pictures if least is not None and min(image.ppi) < least - _GUARD]
    coarse = [image for image in pictures if wanted is not None and min(image.ppi) < wanted - _GUARD]
    if refused and least is not None:
        yield _coarse(refused, least, "refused", None)
    spoilt = [image for image in coarse if image not in refused]
    if spoilt and wanted is not None:
        yield _coarse(spoilt, wanted, "coarse", Weight.SPOILAGE)


@rule("line-art-resolution")
def line_art_resolution(case: Case) -> Iterator[Draft]:
    asked = case.profile.interior.images.line_art_ppi
    if asked is None:
        return
    coarse = [image for image in case.measurements.images if image.line_art and min(image.ppi) < asked - _GUARD]
    if coarse:
        yield _coarse(coarse, asked, "", None)


def _coarse(images: Sequence[Image], asked: float, form: str, weight: Weight | None) -> Draft:
    worst = min(images, key=lambda image: min(image.ppi))
    ppi = min(worst.ppi)
    width = worst.pixels[0] / asked * 72
    return Draft(
        form=form,
        cause=form,
        weight=weight,
        pages=sorted({image.page for image in images}),
        measured=Measured(value=ppi, unit="ppi"),
        required=Required(value=asked, unit="ppi", relation="at-least"),
        facts={"is_": f"{ppi:.0f}", "asked": f"{asked:g}", "where": worst.page, "pictures": len(images),
               "pixels": f"{worst.pixels[0]} × {worst.pixels[1]}", "inches": f"{width / 72:.2f} in",
               "millimetres": f"{width / 72 * 25.4:.0f} mm"},
        marks=[
            mark(image.page, image.box, f"{min(image.ppi):.0f} ppi")
            for image in sorted(images, key=lambda image: min(image.ppi))
        ],
    )  # fmt: skip
