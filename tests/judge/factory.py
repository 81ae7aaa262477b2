"""Books as plain facts, sound unless told otherwise: 6 × 9 in, mirrored, text in a block of 54 / 36 / 54 / 54 pt."""

from __future__ import annotations

from worker.measure.models import Box, Document, File, Margins, Measurements, Page, Reach
from worker.profiles import Profile, parse_profile_toml

TRIM: Box = (0.0, 0.0, 432.0, 648.0)
PROFILE = """
id = "test-press"
name = "Test Press"
revision = "2026-11"
unit = "in"
[interior]
trims = [{ name = "Trade", width = "6 in", height = "9 in" }]
page_count = { least = 4, most = 840, multiple = 4 }
bleed = { use = "allowed", amount = "0.125 in" }
[interior.margins]
outside = "0.3 in"
head = "0.3 in"
foot = "0.3 in"
inside = [{ pages = 160, least = "0.45 in" }, { pages = 420, least = "0.65 in" }, { least = "0.9 in" }]
[interior.type]
embedded = true
least_size = "6 pt"
[interior.images]
least_ppi = 200
wanted_ppi = 300
line_art_ppi = 600
[interior.blanks]
longest_run = 2
first = false
end = 2
[interior.links]
allowed = false
"""


def profile() -> Profile:
    return parse_profile_toml(PROFILE, source="test-press.toml")


def page(
    number: int,
    inside: float = 54,
    outside: float = 36,
    head: float = 54,
    foot: float = 54,
    trim: Box = TRIM,
    *,
    blank: bool = False,
    reach: Reach | None = None,
    media: Box | None = None,
    rotate: int = 0,
    smallest: float = 11.0,
) -> Page:
    """A page of one text block; the sides of a book bound on the left."""
    recto = number % 2 == 1
    left, right = (inside, outside) if recto else (outside, inside)
    block = None if blank else (left, foot, trim[2] - right, trim[3] - head)
    margins = None if blank else Margins(inside=inside, outside=outside, head=head, foot=foot)
    boxes = dict.fromkeys(("crop", "bleed", "trim", "art"), trim)
    return Page(
        page=number, side="recto" if recto else "verso", media=media or trim, **boxes, declared=("media", "trim"),
        rotate=rotate, user_unit=1.0, blank=blank, ink=block, text=block, margins=margins,
        smallest_type=None if blank else smallest, thinnest_rule=None, colours=() if blank else ("gray",),
        most_ink=None if blank else 100.0, transparency=False, reach=reach or Reach(),
    )  # fmt: skip


def document(pages: int, **facts: object) -> Document:
    return Document(pages=pages, **{"pdf_version": "1.6", "title": "The Low Light", **facts})


def book(*pages: Page, **facts: object) -> Measurements:
    about = facts.pop("document", None) or document(len(pages))
    return Measurements(
        reader="test", file=File(name="book.pdf", sha256="0" * 64, bytes=1), document=about, pages=pages, **facts
    )


def sound(pages: int = 8) -> Measurements:
    return book(*(page(number) for number in range(1, pages + 1)))
