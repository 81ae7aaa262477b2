"""The spread map: every spread of the book to scale, page 1 alone, with a thumb notch for each finding of a page.

A book bound on the right is its mirror image. Everything is one ``<li>`` a spread, laid out by the page's style.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from worker.judge.models import Finding
from worker.measure.models import BindingEdge, Box, Measurements, Page
from worker.report.fore_edge import findings_by_page
from worker.report.sheets import MOST_LINES_IN_ALL, Scale, Sheet, pictures_by_page, scale_for, sheet
from worker.words import counted, told

PAGE_WIDTHS = ((48, 112), (240, 84), (1_000_000, 62))
"""Up to so many pages, a page is so many CSS pixels wide."""
NOTCH = 15
"""The radius of a thumb notch, in units of the drawing (half pixels)."""
LEAST_STEP = NOTCH
"""From one notch to the next, at least: closer together their numbers would cover each other."""
EDGE = 3
"""Room around a spread for the thickness of its outlines."""

LiveArea = Callable[[Page], Box | None]


@dataclass(frozen=True)
class _Map:
    """What all spreads share while they are drawn."""

    findings: tuple[Finding, ...]
    touched: Mapping[int, list[int]]
    shapes: Mapping[tuple[int, int, str], str]
    left_bound: bool
    folios: Mapping[int, str]


def spread_map(
    measurements: Measurements,
    findings: tuple[Finding, ...],
    live_area: LiveArea,
    binding_edge: BindingEdge,
    folios: Mapping[int, str] | None = None,
) -> Markup:
    """All spreads as list items, preceded by the shapes that they share. Empty for a file without pages.

    ``folios`` are what pages print as their numbers.
    """
    if not measurements.pages:
        return Markup("")
    pages = measurements.pages
    scale = scale_for(measurements, _page_width(len(pages)))
    images = pictures_by_page(measurements)
    with_lines = sum(len(page.lines) for page in pages) <= MOST_LINES_IN_ALL
    sheets = [sheet(page, images.get(page.page, ()), live_area(page), scale, with_lines=with_lines) for page in pages]
    shapes = {key: f"l{number}" for number, key in enumerate(dict.fromkeys(map(_shape, sheets)))}
    drawn = _Map(findings, findings_by_page(findings), shapes, binding_edge == "left", folios or {})
    spreads = "".join(_spread(pair, drawn, scale) for pair in _pairs(sheets))
    return Markup(f'{_shared(shapes)}<ol class="spreads">{spreads}</ol>')  # noqa: S704 - numbers; words are escaped


def _page_width(pages: int) -> int:
    return next(width for most, width in PAGE_WIDTHS if pages <= most)


def _shape(drawn: Sheet) -> tuple[int, int, str]:
    """Outline and live area: the few shapes that the pages of a book share."""
    return (drawn.width, drawn.height, drawn.live)


def _shared(shapes: Mapping[tuple[int, int, str], str]) -> str:
    symbols = "".join(
        f'<path id="{name}" class="sheet" d="M0 0h{width}v{height}h-{width}z"/>'
        f'<path id="{name}a" class="live" d="{live}"/>'
        for (width, height, live), name in shapes.items()
    )
    radius = NOTCH
    notch = f'<path id="notch" d="M0-{radius}a{radius} {radius} 0 0 1 0 {2 * radius}"/>'
    return f'<svg class="shared" width="0" height="0" aria-hidden="true"><defs>{symbols}{notch}</defs></svg>'


def _pairs(sheets: list[Sheet]) -> list[tuple[Sheet | None, Sheet | None]]:
    """Pages as they face each other in reading order: (none, 1), (2, 3), (4, 5), ..."""
    padded: list[Sheet | None] = [None, *sheets]
    if len(padded) % 2:
        padded.append(None)
    return [(padded[n], padded[n + 1]) for n in range(0, len(padded), 2)]


def _spread(pair: tuple[Sheet | None, Sheet | None], drawn: _Map, scale: Scale) -> str:
    """One spread: the page read first stands on the left, or on the right where the book is bound there."""
    left, right = pair if drawn.left_bound else pair[::-1]
    usual = round(scale.usual[0] * scale.units)
    spine = EDGE + max(left.width if left else usual, usual)
    width = spine + max(right.width if right else usual, usual) + EDGE
    height = max(side.height for side in pair if side) + 2 * EDGE
    halves = (_half(left, spine - left.width, drawn, 0) if left else "") + (
        _half(right, spine, drawn, right.width) if right else ""
    )
    numbers = [side.page.page for side in pair if side]
    name = escape(_name(numbers))
    role = "group" if any(number in drawn.touched for number in numbers) else "img"
    return (
        f'<li><svg width="{width / 2:g}" height="{height / 2:g}" viewBox="0 0 {width} {height}" role="{role}" '
        f'aria-label="{name}">{halves}</svg><p>{_label(left, drawn)}{_label(right, drawn)}</p></li>'
    )


def _name(numbers: Sequence[int]) -> str:
    if len(numbers) == 1:
        return told("page.spreads.one", page=numbers[0])
    return told("page.spreads.two", first=numbers[0], second=numbers[1])


def _half(side: Sheet, x: int, drawn: _Map, outer: int) -> str:
    """A page with its notches; ``outer`` is the place of its outer edge in its own frame."""
    page = side.page
    paths = "".join(
        f'<path class="{name}" d="{path}"/>'
        for name, path in (("pic", side.pictures), ("t", side.text), ("d", side.display), ("b", side.block))
        if path
    )
    unread = f'<path class="unread" d="M0 0h{side.width}v{side.height}h-{side.width}z"/>' if page.unread else ""
    notches = _notches(side, drawn, outer)
    shape = drawn.shapes[_shape(side)]
    return (
        f'<g id="p{page.page}" transform="translate({x} {EDGE})"><use href="#{shape}"/>'
        f'{paths}<use href="#{shape}a"/>{unread}{notches}</g>'
    )


def _notches(side: Sheet, drawn: _Map, outer: int) -> str:
    """The notches stand below each other, a place for each finding, as the letters do in a dictionary.

    Where a page has more findings than places, the gravest have them, and the last place says that there are more.
    """
    numbers = drawn.touched.get(side.page.page, [])
    fit = max(1, side.height // LEAST_STEP)
    more = len(numbers) - fit + 1 if len(numbers) > fit else 0
    numbers = numbers[: fit - 1] if more else numbers
    step = 2 * NOTCH + 1
    places = max(1, min(len(drawn.findings), side.height // step), len(numbers) + bool(more))
    step = min(step, side.height // places) if places else step
    taken: set[int] = set()
    notches = []
    for number in numbers:
        place = (number - 1) % places
        while place in taken:
            place = (place + 1) % places
        taken.add(place)
        notches.append(_notch(number, drawn.findings[number - 1], side.page.page, outer, place * step + step // 2 + 1))
    if more:
        notches.append(_more(more, side.page.page, outer, side.height - step // 2))
    return "".join(notches)


def _more(count: int, page: int, x: int, y: int) -> str:
    title = escape(counted("page.spreads.more", count, page=page))
    return f'<text class="more" x="{x - 6 if x else 6}" y="{y}"><title>{title}</title>…</text>'


def _notch(number: int, finding: Finding, page: int, x: int, y: int) -> str:
    turned = " scale(-1 1)" if x else ""
    inward = -6 if x else 6
    title = escape(told("page.spreads.notch", page=page, number=number, title=finding.title))
    return (
        f'<a href="#f{number}" class="{finding.weight}"><title>{title}</title>'
        f'<use href="#notch" transform="translate({x} {y}){turned}"/>'
        f'<text x="{x + inward}" y="{y + 5}">{number}</text></a>'
    )


def _label(side: Sheet | None, drawn: _Map) -> str:
    if side is None:
        return "<span></span>"
    number = side.page.page
    if side.page.unread:
        return f"<span>{escape(told('page.spreads.not-read', page=number))}</span>"
    tag = "b" if number in drawn.touched else "span"
    folio = f" <i>{escape(drawn.folios[number])}</i>" if number in drawn.folios else ""
    return f"<{tag}>{number}{folio}</{tag}>"
