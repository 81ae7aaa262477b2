"""The printers as the first page shows them: in words, and their trims drawn to one scale."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup

from service.known_profiles import KnownProfile
from worker.profiles.models import PageCount, Trim
from worker.units import POINTS_IN, Unit, show_area

__all__ = ["Printer", "printer_of", "printers"]

POINTS_A_PIXEL = 7.2
"""Scale of the drawn trims: a page of 6 × 9 in is 60 × 90 pixels."""

WHOSE = {
    ("built-in", None): "",
    ("own", "private"): "yours",
    ("own", "circle"): "yours, shared",
    ("circle", "circle"): "shared with you",
}

TALLEST = 110.0
"""Pixels; larger pages are drawn smaller, all of one printer alike."""


@dataclass(frozen=True)
class Printer:
    """A profile, ready to be chosen. ``invented``: no such printer exists, and the profile says so."""

    id: str
    name: str
    note: str
    invented: bool
    trims: tuple[str, ...]
    pages: str
    drawing: Markup
    whose: str
    """Empty for a built-in one."""
    own: bool


def printers(profiles: Iterable[KnownProfile]) -> list[Printer]:
    """All of them, in the order given."""
    return [printer_of(known) for known in profiles]


def printer_of(known: KnownProfile) -> Printer:
    """One profile in words."""
    profile = known.profile
    interior = profile.interior
    note = " ".join((profile.note or "").split())
    return Printer(
        id=profile.id,
        name=profile.name,
        note=note,
        invented="invented" in note.lower(),
        trims=tuple(show_area(trim.width, trim.height, _unit_of(trim)) for trim in interior.trims),
        pages=_pages(interior.page_count),
        drawing=_drawing(interior.trims),
        whose=WHOSE[known.source, known.shared],
        own=known.source == "own",
    )


def _unit_of(trim: Trim) -> Unit:
    """The unit that the printer writes this trim in: 156 × 234 mm is no figure in inches."""
    return next(unit for unit in POINTS_IN if trim.width.text.endswith(unit))


def _pages(count: PageCount) -> str:
    reach = {
        (True, True): f"{count.least}–{count.most} pages",
        (True, False): f"{count.least} pages and more",
        (False, True): f"Up to {count.most} pages",
        (False, False): "Any number of pages",
    }[count.least is not None, count.most is not None]
    return f"{reach}, in multiples of {count.multiple}" if count.multiple and count.multiple > 1 else reach


def _drawing(trims: tuple[Trim, ...]) -> Markup:
    """The trims in outline, one within the other, standing on one corner as sizes of paper are drawn."""
    widest, tallest = max(trim.width for trim in trims), max(trim.height for trim in trims)
    scale = min(1 / POINTS_A_PIXEL, TALLEST / max(widest, tallest))
    width, height = widest * scale + 1, tallest * scale + 1
    outlines = "".join(
        f'<rect x="0.5" y="{height - 0.5 - trim.height * scale:.1f}" '
        f'width="{trim.width * scale:.1f}" height="{trim.height * scale:.1f}"/>'
        for trim in trims
    )
    return Markup(  # noqa: S704 - numbers alone
        f'<svg width="{width:.0f}" height="{height:.0f}" viewBox="0 0 {width:.1f} {height:.1f}" '
        f'aria-hidden="true">{outlines}</svg>'
    )
