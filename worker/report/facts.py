"""The colophon's facts: what was measured, gathered into short sentences and tables. No opinion in them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from worker.measure.models import BindingEdge, Document, Font, Image, Measurements, Page, PageColour
from worker.report.sheets import size_of
from worker.report.words import so_many, so_many_pages
from worker.units import Unit, page_ranges, show_area, show_number, show_size
from worker.words import comma, counted, grouped, semicolon, told

COLOURS: tuple[PageColour, ...] = ("gray", "rgb-gray", "rgb", "cmyk", "spot", "lab", "registration")
"""In the order in which they are told."""
MOST_FONTS = 120
MOST_PICTURES = 12
MOST_GROUPS = 8
"""Page sizes told one by one; a file with more has them counted."""


@dataclass(frozen=True)
class Fact:
    name: str
    value: str


def fact(name: str, value: str) -> Fact:
    """A fact, by the key of its name in the colophon's words."""
    return Fact(told(f"colophon.{name}"), value)


@dataclass(frozen=True)
class FontRow:
    name: str
    kind: str
    embedded: str
    sizes: str
    pages: str


@dataclass(frozen=True)
class PictureRow:
    page: int
    pixels: str
    ppi: str
    colour: str


@dataclass(frozen=True)
class Facts:
    """Groups of the colophon in the order in which they are read; tables hold the first rows alone where long."""

    file: tuple[Fact, ...]
    pages: tuple[Fact, ...]
    colours: tuple[Fact, ...]
    fonts: tuple[FontRow, ...]
    more_fonts: int
    pictures: tuple[PictureRow, ...]
    more_pictures: int


def facts(measurements: Measurements, unit: Unit, binding_edge: BindingEdge) -> Facts:
    """Gather the facts of one file; lengths in the profile's ``unit`` with the other beside it."""
    fonts = sorted(measurements.fonts, key=lambda font: (font.embedded, font.name))
    images = sorted(
        (image for image in measurements.images if min(image.pixels) > 2),
        key=lambda image: (min(image.ppi), image.page),
    )
    return Facts(
        file=tuple(_file(measurements)),
        pages=tuple(_pages(measurements, unit, binding_edge)),
        colours=tuple(_colours(measurements)),
        fonts=tuple(_font(font) for font in fonts[:MOST_FONTS]),
        more_fonts=max(0, len(fonts) - MOST_FONTS),
        pictures=tuple(_picture(image) for image in images[:MOST_PICTURES]),
        more_pictures=max(0, len(images) - MOST_PICTURES),
    )


def _file(measurements: Measurements) -> Iterable[Fact]:
    file, document = measurements.file, measurements.document
    yield fact("file.file", comma((file.name, show_size(file.bytes))))
    yield fact("file.fingerprint", told("colophon.file.digest", digest=file.sha256))
    given = {"book-title": document.title, "author": document.author, "made-by": _makers(document)}
    for name, value in given.items():
        yield fact(f"file.{name}", value or told("colophon.not-given"))
    yield fact("file.format", _format(document))
    if document.output_intents:
        intents = (intent.condition or intent.subtype for intent in document.output_intents)
        yield fact("file.condition", comma(intents))
    if document.repairs or document.repaired:
        yield fact("file.mended", semicolon(document.repairs) or told("colophon.file.mended-yes"))
    yield from _extras(document)


def _makers(document: Document) -> str:
    return comma(dict.fromkeys(name for name in (document.creator, document.producer) if name))


def _format(document: Document) -> str:
    version = document.pdf_version
    parts = [told(f"colophon.file.{'version' if version else 'no-version'}", version=version)]
    if document.pdfx:
        parts.append(document.pdfx)
    if document.encrypted:
        parts.append(told("colophon.file.encrypted"))
    return comma(parts)


def _extras(document: Document) -> Iterable[Fact]:
    """What a print file seldom needs; named only where it is there."""
    if document.layers:
        yield fact("file.layers", comma(document.layers))
    found = [
        told("colophon.file.javascript") if document.javascript else "",
        so_many("colophon.file.embedded-files", document.embedded_files) if document.embedded_files else "",
        so_many("colophon.file.form-fields", document.form_fields) if document.form_fields else "",
    ]
    if any(found):
        yield fact("file.active", comma(filter(None, found)))


def _pages(measurements: Measurements, unit: Unit, binding_edge: BindingEdge) -> Iterable[Fact]:
    pages = measurements.pages
    side = told(f"units.sides.{binding_edge}")
    yield fact("pages.pages", told("colophon.pages.bound", so_many=so_many_pages(len(pages)), side=side))
    yield fact("pages.size", _sizes(pages, unit))
    yield fact("pages.boxes", _declared(pages))
    turned = [page.page for page in pages if page.rotate]
    scaled = [page.page for page in pages if page.user_unit != 1]
    if turned:
        yield fact("pages.turned", _on_pages(turned))
    if scaled:
        yield fact("pages.own-unit", _on_pages(scaled))
    yield fact("pages.blank", _on_pages(page.page for page in pages if page.blank))
    kinds = Counter(link.kind for link in measurements.links)
    yield fact("pages.links", _of_kinds(kinds) or told("colophon.none"))
    if measurements.annotations:
        notes = Counter(annotation.kind for annotation in measurements.annotations)
        yield fact("pages.annotations", _of_kinds(notes))


def _of_kinds(kinds: Mapping[Any, int]) -> str:
    """How many there are of each kind, by the names of the standard."""
    return comma(f"{grouped(number)} {kind}" for kind, number in sorted(kinds.items()))


def _sizes(pages: Iterable[Page], unit: Unit) -> str:
    groups: dict[tuple[float, float], list[Page]] = {}
    for page in pages:
        width, height = size_of(page)
        groups.setdefault((round(width, 1), round(height, 1)), []).append(page)
    ordered = sorted(groups.values(), key=lambda group: -len(group))
    sizes = [show_area(*size_of(group[0]), unit) for group in ordered]
    if len(ordered) == 1:
        return sizes[0]
    sizes = [_on(size, (page.page for page in group)) for size, group in zip(sizes, ordered, strict=True)]
    more = len(ordered) - MOST_GROUPS
    return semicolon([*sizes[:MOST_GROUPS], *([counted("colophon.pages.more-sizes", more)] if more > 0 else [])])


def _declared(pages: Iterable[Page]) -> str:
    groups: dict[tuple[str, ...], list[int]] = {}
    for page in pages:
        groups.setdefault(page.declared, []).append(page.page)
    if len(groups) == 1:
        return comma(next(iter(groups))) or told("colophon.none")
    boxes = [_on(comma(names) or told("colophon.none"), numbers) for names, numbers in groups.items()]
    return semicolon(boxes[:MOST_GROUPS])


def _on(what: str, numbers: Iterable[int]) -> str:
    return told("colophon.pages.on", what=what, pages=page_ranges(numbers))


def _on_pages(numbers: Iterable[int]) -> str:
    found = sorted(numbers)
    return told("colophon.on-pages", pages=page_ranges(found)) if found else told("colophon.none")


def _colours(measurements: Measurements) -> Iterable[Fact]:
    pages = measurements.pages
    for colour in COLOURS:
        found = [page.page for page in pages if colour in page.colours]
        if found:
            everywhere = len(found) == sum(not page.blank for page in pages)
            yield fact(f"colours.names.{colour}", told("colophon.colours.every") if everywhere else _on_pages(found))
    most = max((page.most_ink for page in pages if page.most_ink is not None), default=None)
    if most is not None:
        yield fact("colours.heaviest", f"{most:.0f} %")
    yield fact("colours.transparency", _on_pages(page.page for page in pages if page.transparency))
    rule = _least(pages, lambda page: page.thinnest_rule)
    small = _least(pages, lambda page: page.smallest_type)
    if rule is not None:
        yield fact("colours.thinnest", f"{rule:.2f} pt")
    if small is not None:
        yield fact("colours.smallest", f"{small:.1f} pt")


def _least(pages: Iterable[Page], of: Callable[[Page], float | None]) -> float | None:
    return min((value for value in map(of, pages) if value is not None), default=None)


def _font(font: Font) -> FontRow:
    embedded = told(f"colophon.fonts.{('subset' if font.subset else 'yes') if font.embedded else 'no'}")
    least, most = (show_number(size, 1) for size in font.sizes)
    return FontRow(
        name=font.name,
        kind=told(f"colophon.fonts.kinds.{font.kind}"),
        embedded=embedded + (told("colophon.fonts.restricted") if font.restricted else ""),
        sizes=f"{least} pt" if least == most else f"{least}–{most} pt",
        pages=so_many_pages(len(font.pages)) if len(font.pages) > 3 else page_ranges(font.pages),
    )


def _picture(image: Image) -> PictureRow:
    x, y = (round(value) for value in image.ppi)
    colours = told("colophon.pictures.colours", kind=image.colour, bits=so_many("colophon.pictures.bits", image.bits))
    return PictureRow(
        page=image.page,
        pixels=" × ".join(map(grouped, image.pixels)),
        ppi=f"{x}" if x == y else f"{x} × {y}",
        colour=colours + (told("colophon.pictures.line-art") if image.line_art else ""),
    )
