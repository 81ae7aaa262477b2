"""Rules about fonts and sizes of type."""

from __future__ import annotations

from collections.abc import Iterator

from worker.judge.case import Case, Draft, mark
from worker.judge.models import Measured, Required
from worker.judge.registry import rule

_ROUNDING = 0.02
"""Points: sizes are written to a hundredth (common practice, no source)."""


@rule("font-not-embedded")
def font_not_embedded(case: Case) -> Iterator[Draft]:
    missing = [font for font in case.measurements.fonts if not font.embedded]
    if case.profile.interior.type.embedded and missing:
        names = sorted({font.name for font in missing})
        yield Draft(
            pages=sorted({page for font in missing for page in font.pages}),
            measured=Measured(value=len(names), unit="count"),
            required=Required(value=0, unit="count", relation="at-most"),
            facts={"names": ", ".join(names), "is_": len(names)},
        )


@rule("small-type")
def small_type(case: Case) -> Iterator[Draft]:
    asked = case.profile.interior.type.least_size
    if asked is None:
        return
    small = [page for page in case.pages if page.smallest_type is not None and page.smallest_type < asked - _ROUNDING]
    if small:
        worst = min(small, key=lambda page: page.smallest_type or 0.0)
        least = worst.smallest_type or 0.0
        yield Draft(
            pages=[page.page for page in small],
            measured=Measured(value=least, unit="pt"),
            required=Required(value=asked, unit="pt", relation="at-least"),
            facts={"is_": f"{least:.3g} pt", "asked": f"{asked:g} pt", "where": worst.page},
            marks=[
                mark(page.page, page.smallest_type_box or page.trim, f"{page.smallest_type or 0:.3g} pt")
                for page in sorted(small, key=lambda page: page.smallest_type or 0.0)
            ],
        )
