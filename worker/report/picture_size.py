"""How wide coarse pictures may stand: the size at which their pixels are as fine as the printer asks."""

from __future__ import annotations

import math
from collections.abc import Iterator

from worker.judge.image import is_too_coarse
from worker.judge.models import Judgement
from worker.measure.models import Image, Measurements
from worker.profiles import Profile
from worker.report.margins import STEP, rounded_down
from worker.report.models import Setting
from worker.units import POINTS_IN
from worker.words import told

MOST_ROWS = 12
"""Pictures that get a row of their own: the coarsest."""


def picture_widths(measurements: Measurements, judgement: Judgement, profile: Profile) -> Iterator[Setting]:
    """The width to type for each picture that was found too coarse, and the pixels that it needs to stay as it is."""
    found = {finding.rule for finding in judgement.findings}
    asked = profile.interior.images
    least = {
        False: (asked.wanted_ppi or asked.least_ppi) if "image-resolution" in found else None,
        True: asked.line_art_ppi if "line-art-resolution" in found else None,
    }
    coarse = [
        (min(image.ppi) / ppi, image, ppi)
        for image in measurements.images
        if (ppi := least[image.line_art]) is not None and is_too_coarse(image, ppi)
    ]
    coarse.sort(key=lambda each: (each[0], each[1].page))
    for share, image, ppi in coarse[:MOST_ROWS]:
        yield _width(image, share, ppi, profile)


def _width(image: Image, share: float, ppi: float, profile: Profile) -> Setting:
    width = image.box[2] - image.box[0]
    least = STEP[profile.unit] * POINTS_IN[profile.unit]
    pixels = " × ".join(str(math.ceil(side / share)) for side in image.pixels)
    return Setting(
        name="image-width",
        measured=width,
        required=width * share,
        set=max(least, rounded_down(width * share, profile.unit)),
        note=told("setup.notes.picture", page=image.page, pixels=pixels, ppi=f"{ppi:g}"),
    )
