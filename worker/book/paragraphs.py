"""Widows and orphans: lines of a paragraph that a page's end parts from the rest of it.

"Widow" and "orphan" swap their meanings from one handbook to the next. Here a widow is the last line of a paragraph at
the head of a page, an orphan the first line of one at the foot (CMOS, read second-hand; Bringhurst 2.4.8, from memory).

Paragraphs are known by their indents, so only prose that is justified and indented can be read; verse, lists and
dialogue set otherwise would give false alarms (common practice, no source). All lengths are points.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Literal

from worker.book.grid import Setting
from worker.book.heads import Body
from worker.book.models import NotRead, Stranded, TextBlock
from worker.book.running import densest
from worker.measure.models import Line

LEAST_FULL = 0.55
"""Prose is what has so many lines from edge to edge: pages of verse and dialogue have fewer."""
EDGE = 2.0
"""Side bearings, hung punctuation and rounding: how far a line may stand off the edge that it is set to."""
LEAST_INDENT, MOST_INDENT = 0.5, 4.0
"""An indent, in sizes of the type."""
INDENTED = (0.02, 0.6)
"""Of the lines of prose: fewer or more are no first lines of paragraphs."""
ENOUGH_PAGES = 60


class _Prose:
    """One page's lines of prose, as they stand to the edges of its block."""

    def __init__(self, body: Body, left: float, right: float) -> None:
        self.lines = body.lines
        self.page = body.leaf.number
        self.left, self.right = left, right

    def starts(self, line: Line) -> float:
        """How far it is indented."""
        return line.box[0] - self.left

    def is_full(self, line: Line) -> bool:
        return abs(line.box[2] - self.right) <= EDGE


def stranded(
    bodies: Sequence[Body],
    setting: Setting,
    block: TextBlock,
    *,
    apart: frozenset[int],
    opened: frozenset[int] = frozenset(),
) -> tuple[tuple[Stranded, ...], NotRead | None]:
    """The widows and orphans; or why they cannot be told. ``apart``: the pages that carry no running text;
    ``opened``: those that begin with a heading."""
    pages = [_prose(body, block) for body in bodies]
    read = [page for page in pages if page and len(page.lines) > 1 and page.page not in apart | opened]
    indent = _indent(read, setting)
    if indent is None:
        return (), NotRead(what="paragraphs", why="the text is not set with indents and to both edges")
    found = []
    for before, after in pairwise(pages):
        if not before or not after or not before.lines or not after.lines:
            continue
        if not apart & {before.page, after.page} and after.page not in opened:
            found += list(_parted(before, after, indent, setting))
    return tuple(found), None


def _prose(body: Body, block: TextBlock) -> _Prose | None:
    odd = body.leaf.number % 2 == 1
    left, right = (block.odd_left, block.odd_right) if odd else (block.even_left, block.even_right)
    if left is None or right is None:
        return None
    trim = body.leaf.page.trim
    return _Prose(body, trim[0] + left.usual, trim[2] - right.usual)


def _indent(pages: Sequence[_Prose], setting: Setting) -> float | None:
    """How far first lines are indented; None where the text is not such prose."""
    sample = pages[:: max(1, len(pages) // ENOUGH_PAGES)]
    lines = [(page, line) for page in sample for line in page.lines if setting.is_text(line)]
    if not lines or sum(page.is_full(line) for page, line in lines) < LEAST_FULL * len(lines):
        return None
    least, most = LEAST_INDENT * setting.size, MOST_INDENT * setting.size
    indents = sorted(start for page, line in lines if least < (start := page.starts(line)) < most)
    first, last = densest(indents) if indents else (0, 0)
    share = (last - first) / len(lines)
    return indents[(first + last) // 2] if INDENTED[0] <= share <= INDENTED[1] else None


def _parted(before: _Prose, after: _Prose, indent: float, setting: Setting) -> Iterator[Stranded]:
    last, first = before.lines[-1], after.lines[0]
    if not (setting.is_text(last) and setting.is_text(first)) or abs(after.starts(first)) > EDGE:
        return  # the next page starts with a paragraph of its own
    if not before.is_full(last):
        return
    if abs(before.starts(last) - indent) <= EDGE and _stands_below_text(before, setting):
        yield _stranded(before.page, "orphan", last)
    if len(after.lines) == 1 or _ends_paragraph(after, indent, setting):
        yield _stranded(after.page, "widow", first)


def _stands_below_text(page: _Prose, setting: Setting) -> bool:
    """Whether the last line follows another one of the text: below a heading or a break it is its own fault."""
    if len(page.lines) < 2:
        return False
    above, last = page.lines[-2:]
    return setting.is_text(above) and above.baseline - last.baseline < 1.3 * setting.leading


def _ends_paragraph(page: _Prose, indent: float, setting: Setting) -> bool:
    """Whether the line after the first one begins a paragraph."""
    first, second = page.lines[:2]
    indented = abs(page.starts(second) - indent) <= EDGE
    return setting.is_text(second) and (indented or first.baseline - second.baseline > 1.3 * setting.leading)


def _stranded(page: int, kind: Literal["widow", "orphan"], line: Line) -> Stranded:
    return Stranded(page=page, kind=kind, box=line.box, text=line.text)
