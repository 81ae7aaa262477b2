"""A profile in words, for reading on a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from worker.profiles.asked import Colour, FileAsked, Images
from worker.profiles.cover import Cover, Paper
from worker.profiles.models import Interior, Margins, PageCount, Profile, Trim
from worker.units import Unit, in_unit, show_area, show_length, show_number, show_size

CAUTION = "The printer's own guide governs. Order a physical proof before a print run."

Row = tuple[str, str]


def describe(profile: Profile) -> str:
    """The whole profile as text of several lines: what it asks, in its own unit and the other one beside it."""
    parts = [f"{profile.name}\n{profile.id}, revision {profile.revision}"]
    if profile.note:
        parts.append(textwrap.fill(" ".join(profile.note.split()), 80))
    parts += [_block(title, rows) for title, rows in _parts(profile) if rows]
    return "\n\n".join([*parts, CAUTION]) + "\n"


def _parts(profile: Profile) -> Iterator[tuple[str, list[Row]]]:
    interior, unit = profile.interior, profile.unit
    yield "Sizes", [row for trim in interior.trims for row in _trim(trim, unit)] + list(_page(interior, unit))
    yield "Margins, to the nearest ink of text", list(_margins(interior.margins, unit))
    yield "Type", list(_type(interior))
    yield "Pictures", list(_images(interior.images))
    yield "Colour", list(_colour(interior.colour))
    yield "Blank pages and links", list(_blanks(interior))
    yield "File", list(_file(interior.file))
    yield "Paper", [] if profile.paper is None else list(_paper(profile.paper))
    yield "Cover", [] if profile.cover is None else list(_cover(profile.cover, unit))
    yield "Weighed otherwise", list(profile.weights.items())


def _block(title: str, rows: list[Row]) -> str:
    wide = max(len(name) for name, _ in rows)
    return "\n".join([title, *(f"  {name:<{wide}}  {value}" for name, value in rows)])


def _trim(trim: Trim, unit: Unit) -> Iterator[Row]:
    size = show_area(trim.width, trim.height, unit)
    own = _count(trim.page_count)
    yield trim.name or "Trim", f"{size}, {own} pages" if own else size


def _page(interior: Interior, unit: Unit) -> Iterator[Row]:
    yield "May be off by", show_length(interior.trim_tolerance, unit)
    if count := _count(interior.page_count):
        yield "Pages", count
    if interior.binding_edge == "right":
        yield "Bound on", "the right"
    if interior.bleed is not None:
        amount = interior.bleed.amount
        past = f", {show_length(amount, unit)}" if amount is not None and interior.bleed.use != "never" else ""
        yield "Bleed", f"{interior.bleed.use}{past}"


def _count(count: PageCount) -> str:
    told = (("at least", count.least), ("at most", count.most), ("in multiples of", count.multiple))
    return ", ".join(f"{words} {figure}" for words, figure in told if figure is not None)


def _margins(margins: Margins, unit: Unit) -> Iterator[Row]:
    for step in margins.inside:
        reach = "any longer book" if step.pages is None else f"to {step.pages} pages"
        yield f"Inside, {reach if len(margins.inside) > 1 else 'any book'}", show_length(step.least, unit)
    for name, least in (("Outside", margins.outside), ("Head", margins.head), ("Foot", margins.foot)):
        if least is not None:
            yield name, show_length(least, unit)


def _type(interior: Interior) -> Iterator[Row]:
    if interior.type.embedded:
        yield "Fonts", "embedded"
    if interior.type.least_size is not None:
        yield "Smallest size", f"{show_number(interior.type.least_size, 2)} pt"


def _images(images: Images) -> Iterator[Row]:
    told = (
        ("Refused below", images.least_ppi),
        ("Wanted", images.wanted_ppi),
        ("Line art", images.line_art_ppi),
        ("More than enough", images.most_ppi),
    )
    yield from ((name, f"{show_number(ppi, 1)} ppi") for name, ppi in told if ppi is not None)


def _colour(colour: Colour) -> Iterator[Row]:
    if colour.spaces is not None:
        yield "Colour spaces", ", ".join(colour.spaces)
    if colour.most_ink is not None:
        yield "Most ink at a spot", f"{show_number(colour.most_ink, 1)} %"
    if colour.least_rule is not None:
        yield "Thinnest rule", f"{show_number(colour.least_rule, 2)} pt"
    if colour.transparency is not None:
        yield "Transparency", _allowed(colour.transparency)


def _blanks(interior: Interior) -> Iterator[Row]:
    blanks = interior.blanks
    if blanks.longest_run is not None:
        yield "Blank pages in a row", f"at most {blanks.longest_run}"
    if blanks.first is not None:
        yield "First page blank", _allowed(blanks.first)
    if blanks.end is not None:
        yield "Blank pages at the end", f"at most {blanks.end}"
    if interior.links.allowed is not None:
        yield "Links", _allowed(interior.links.allowed)


def _file(file: FileAsked) -> Iterator[Row]:
    if file.pdf_versions is not None:
        yield "PDF version", "–".join(file.pdf_versions)
    if file.pdfx:
        yield "Standard", " or ".join(file.pdfx)
    if file.most_bytes is not None:
        yield "Size", f"at most {show_size(file.most_bytes)}"
    if file.encryption is not None:
        yield "Encryption", _allowed(file.encryption)


def _paper(paper: Paper) -> Iterator[Row]:
    for stock in paper.stocks:
        thickness = f"{show_number(in_unit(stock.thickness, 'mm'), 3)} mm"
        yield stock.name, f"{show_number(stock.grammage, 1)} g/m², a leaf is {thickness} thick"


def _cover(cover: Cover, unit: Unit) -> Iterator[Row]:
    if cover.wrap is not None:
        yield "Wrap", {"paper": "one sheet: back, spine, front", "case": "a sheet round boards"}[cover.wrap.kind]
    told = (
        ("Bleed", cover.bleed),
        ("Margin of text", cover.margin),
        ("Spine may be off by", cover.spine.tolerance),
        ("Spine text from a width of", cover.spine_text.least_width),
    )
    yield from ((name, show_length(length, unit)) for name, length in told if length is not None)
    if cover.spine_text.least_pages is not None:
        yield "Spine text from", f"{cover.spine_text.least_pages} pages"
    if cover.barcode.required is not None:
        yield "Barcode", "required" if cover.barcode.required else "not required"


def _allowed(allowed: bool) -> str:
    return "allowed" if allowed else "not allowed"
