"""The fore-edge: the whole book seen from the side that opens, a line a leaf, as an SVG drawing.

Flagged leaves stand out darker and longer, the more so the weightier their findings, and lead to their pages.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup, escape

from worker.judge.models import Finding, Weight
from worker.measure.models import BindingEdge
from worker.words import comma, counted, told

PITCH = 10
HEIGHT = 100
TOPS = {None: 46, Weight.POLISH: 34, Weight.SPOILAGE: 17, Weight.REFUSAL: 0}
WIDEST_PITCH = 7
"""CSS pixels a leaf takes at most: a thin book looks thin."""
LEAST_WIDTH = 28


def findings_by_page(findings: Iterable[Finding]) -> dict[int, list[int]]:
    """For every flagged page the numbers of its findings, counted from 1 in the report's order."""
    touched: dict[int, list[int]] = {}
    for number, finding in enumerate(findings, start=1):
        for page in finding.pages:
            touched.setdefault(page, []).append(number)
    return touched


def fore_edge(pages: int, findings: tuple[Finding, ...], binding_edge: BindingEdge) -> Markup:
    """The drawing. A book bound on the right is read, and drawn, from right to left. Empty for no pages."""
    if pages < 1:
        return Markup("")
    touched = findings_by_page(findings)
    leaves = [_leaf(first, pages, touched) for first in range(1, pages + 1, 2)]
    plain: list[str] = []
    flagged: list[str] = []
    for number, leaf in enumerate(leaves):
        place = number if binding_edge == "left" else len(leaves) - 1 - number
        x = place * PITCH + PITCH // 2
        if leaf.numbers:
            follows = number > 0 and bool(leaves[number - 1].numbers)
            flagged.append(_line(leaf, x, findings[leaf.numbers[0] - 1].weight, follows=follows))
        else:
            plain.append(f"M{x} {TOPS[None]}V{HEIGHT}")
    name = escape(counted("page.fore-edge.drawing", len(leaves)))
    width = max(LEAST_WIDTH, len(leaves) * WIDEST_PITCH)
    return Markup(  # noqa: S704 - numbers of our own making, and weights
        f'<svg class="fore-edge" width="{width}" height="72" viewBox="0 0 {len(leaves) * PITCH} {HEIGHT}" '
        f'preserveAspectRatio="none" role="group" aria-label="{name}">'
        f'<path class="leaf" d="{"".join(plain)}"/>{"".join(flagged)}</svg>'
    )


@dataclass(frozen=True)
class _Leaf:
    """``name`` tells its pages; ``target`` is the first of them that has a finding; ``numbers`` are its findings."""

    name: str
    target: int
    numbers: list[int]


def _leaf(first: int, pages: int, touched: dict[int, list[int]]) -> _Leaf:
    sides = [page for page in (first, first + 1) if page <= pages]
    numbers = sorted({number for page in sides for number in touched.get(page, ())})
    target = next((page for page in sides if page in touched), first)
    two = {"first": sides[0], "second": sides[-1]}
    return _Leaf(str(first) if len(sides) == 1 else told("page.fore-edge.two", **two), target, numbers)


def _line(leaf: _Leaf, x: int, weight: Weight, *, follows: bool) -> str:
    """A leaf that leads to its first flagged page. Of neighbours only the first is a stop for the Tab key."""
    told_of = {"weight": told(f"verdict.weights.{weight.value}.name"), "findings": comma(map(str, leaf.numbers))}
    title = escape(told("page.fore-edge.leaf", leaf=leaf.name, **told_of))
    stop = ' tabindex="-1"' if follows else ""
    return (
        f'<a href="#p{leaf.target}" class="{weight}"{stop}><title>{title}</title>'
        f'<path d="M{x} {TOPS[weight]}V{HEIGHT}"/>'
        f'<rect x="{x - PITCH // 2}" width="{PITCH}" height="{HEIGHT}"/></a>'
    )
