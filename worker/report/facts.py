"""The colophon's facts: what was measured, gathered into short sentences and tables. No opinion in them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from worker.measure.models import BindingEdge, Document, Font, Image, Measurements, Page
from worker.report.sheets import size_of
from worker.report.words import COLOURS, FONT_KINDS, counted
from worker.units import Unit, page_ranges, show_area, show_number, show_size

MOST_FONTS = 120
MOST_PICTURES = 12
MOST_GROUPS = 8
"""Page sizes told one by one; a file with more has them counted."""


@dataclass(frozen=True)
class Fact:
    name: str
    value: str


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
    yield Fact("File", f"{file.name}, {show_size(file.bytes)}")
    yield Fact("Fingerprint", f"SHA-256 {file.sha256}")
    for name, value in (("Title", document.title), ("Author", document.author), ("Made by", _makers(document))):
        yield Fact(name, value or "not given")
    yield Fact("Format", _format(document))
    if document.output_intents:
        intents = (intent.condition or intent.subtype for intent in document.output_intents)
        yield Fact("Printing condition", ", ".join(intents))
    if document.repairs or document.repaired:
        yield Fact("Mended to read it", "; ".join(document.repairs) or "yes")
    yield from _extras(document)


def _makers(document: Document) -> str:
    return ", ".join(dict.fromkeys(name for name in (document.creator, document.producer) if name))


def _format(document: Document) -> str:
    parts = [f"PDF {document.pdf_version}" if document.pdf_version else "PDF, version not given"]
    if document.pdfx:
        parts.append(document.pdfx)
    if document.encrypted:
        parts.append("encrypted")
    return ", ".join(parts)


def _extras(document: Document) -> Iterable[Fact]:
    """What a print file seldom needs; named only where it is there."""
    if document.layers:
        yield Fact("Layers", ", ".join(document.layers))
    found = [
        "JavaScript" if document.javascript else "",
        counted(document.embedded_files, "embedded file") if document.embedded_files else "",
        counted(document.form_fields, "form field") if document.form_fields else "",
    ]
    if any(found):
        yield Fact("Active content", ", ".join(part for part in found if part))


def _pages(measurements: Measurements, unit: Unit, binding_edge: BindingEdge) -> Iterable[Fact]:
    pages = measurements.pages
    yield Fact("Pages", f"{counted(len(pages), 'page')}, bound on the {binding_edge}")
    yield Fact("Trimmed size", _sizes(pages, unit))
    yield Fact("Boxes declared", _declared(pages))
    turned = [page.page for page in pages if page.rotate]
    scaled = [page.page for page in pages if page.user_unit != 1]
    if turned:
        yield Fact("Turned", f"pages {page_ranges(turned)}")
    if scaled:
        yield Fact("Own unit of length", f"pages {page_ranges(scaled)}")
    yield Fact("Blank", _on_pages(page.page for page in pages if page.blank))
    kinds = Counter(link.kind for link in measurements.links)
    yield Fact("Links", ", ".join(f"{number:,} {kind}" for kind, number in sorted(kinds.items())) or "none")
    if measurements.annotations:
        notes = Counter(annotation.kind for annotation in measurements.annotations)
        yield Fact("Other annotations", ", ".join(f"{number:,} {kind}" for kind, number in sorted(notes.items())))


def _sizes(pages: Iterable[Page], unit: Unit) -> str:
    groups: dict[tuple[float, float], list[Page]] = {}
    for page in pages:
        width, height = size_of(page)
        groups.setdefault((round(width, 1), round(height, 1)), []).append(page)
    ordered = sorted(groups.values(), key=lambda group: -len(group))
    told = [show_area(*size_of(group[0]), unit) for group in ordered]
    if len(ordered) == 1:
        return told[0]
    told = [
        f"{words} on {page_ranges(page.page for page in group)}" for words, group in zip(told, ordered, strict=True)
    ]
    rest = [f"{len(ordered) - MOST_GROUPS} sizes more"] if len(ordered) > MOST_GROUPS else []
    return "; ".join(told[:MOST_GROUPS] + rest)


def _declared(pages: Iterable[Page]) -> str:
    groups: dict[tuple[str, ...], list[int]] = {}
    for page in pages:
        groups.setdefault(page.declared, []).append(page.page)
    if len(groups) == 1:
        return ", ".join(next(iter(groups))) or "none"
    told = (f"{', '.join(names) or 'none'} on {page_ranges(numbers)}" for names, numbers in groups.items())
    return "; ".join(list(told)[:MOST_GROUPS])


def _on_pages(numbers: Iterable[int]) -> str:
    found = sorted(numbers)
    return f"pages {page_ranges(found)}" if found else "none"


def _colours(measurements: Measurements) -> Iterable[Fact]:
    pages = measurements.pages
    for colour, words in COLOURS.items():
        found = [page.page for page in pages if colour in page.colours]
        if found:
            everywhere = len(found) == sum(not page.blank for page in pages)
            yield Fact(words[0].upper() + words[1:], "every printed page" if everywhere else _on_pages(found))
    most = max((page.most_ink for page in pages if page.most_ink is not None), default=None)
    if most is not None:
        yield Fact("Heaviest ink", f"{most:.0f} %")
    yield Fact("Transparency", _on_pages(page.page for page in pages if page.transparency))
    rule = _least(pages, lambda page: page.thinnest_rule)
    small = _least(pages, lambda page: page.smallest_type)
    if rule is not None:
        yield Fact("Thinnest rule", f"{rule:.2f} pt")
    if small is not None:
        yield Fact("Smallest type", f"{small:.1f} pt")


def _least(pages: Iterable[Page], of: Callable[[Page], float | None]) -> float | None:
    return min((value for value in map(of, pages) if value is not None), default=None)


def _font(font: Font) -> FontRow:
    embedded = ("yes, as a subset" if font.subset else "yes") if font.embedded else "no"
    least, most = (show_number(size, 1) for size in font.sizes)
    return FontRow(
        name=font.name,
        kind=FONT_KINDS[font.kind],
        embedded=embedded + (", embedding not allowed" if font.restricted else ""),
        sizes=f"{least} pt" if least == most else f"{least}–{most} pt",
        pages=counted(len(font.pages), "page") if len(font.pages) > 3 else page_ranges(font.pages),
    )


def _picture(image: Image) -> PictureRow:
    x, y = (round(value) for value in image.ppi)
    return PictureRow(
        page=image.page,
        pixels=f"{image.pixels[0]:,} × {image.pixels[1]:,}",
        ppi=f"{x}" if x == y else f"{x} × {y}",
        colour=f"{image.colour}, {counted(image.bits, 'bit')}" + (", line art" if image.line_art else ""),
    )
