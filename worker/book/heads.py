"""What runs above and below the text, told from the text of each page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from worker.book.leaf import Leaf
from worker.book.models import Edge, Folio, RunningHead, RunningLine, TextBlock
from worker.book.running import is_running
from worker.measure.geometry import around
from worker.measure.models import Line

_TOUCHING = 0.5


class Body:
    """The lines of a page's text, from the head down, and what runs around them."""

    __slots__ = ("above", "below", "leaf", "lines")

    def __init__(self, leaf: Leaf, block: TextBlock, folio: Folio | None) -> None:
        self.leaf = leaf
        lines = leaf.lines
        start, end = 0, len(lines)
        while start < end and (_is_in(folio, lines[start]) or _runs_above(leaf, block.header, lines[start])):
            start += 1
        while end > start and (_is_in(folio, lines[end - 1]) or _runs_below(leaf, block.footer, lines[end - 1])):
            end -= 1
        self.above, self.lines, self.below = lines[:start], lines[start:end], lines[end:]


def bodies_of(leaves: Sequence[Leaf], block: TextBlock, folios: Mapping[int, Folio]) -> list[Body]:
    """The text of every page."""
    return [Body(leaf, block, folios.get(leaf.number)) for leaf in leaves]


def running_heads(bodies: Sequence[Body], folios: Mapping[int, Folio]) -> dict[int, RunningHead]:
    """The running head of each page that has one: what stands beside the folio, or where others' heads stand."""
    found = {}
    for body in bodies:
        folio = folios.get(body.leaf.number)
        head = _head(body, body.above, "head", folio) or _head(body, body.below, "foot", folio)
        if head is not None:
            found[body.leaf.number] = head
    return found


def _head(body: Body, lines: Sequence[Line], edge: Edge, folio: Folio | None) -> RunningHead | None:
    kept = [(line, text) for line in lines if (text := _without(folio, line))]
    box = around([line.box for line, _ in kept])
    if box is None:
        return None
    return RunningHead(text=" ".join(text for _, text in kept), box=box, edge=edge, position=body.leaf.position(box))


def _without(folio: Folio | None, line: Line) -> str:
    """What a line says besides the folio."""
    if folio is None or not _is_in(folio, line):
        return line.text
    words = line.text.split()
    kept = words[1:] if words and folio.text in words[0] else words[:-1]
    text = " ".join(kept)
    return text if any(map(str.isalpha, text)) else ""


def _is_in(folio: Folio | None, line: Line) -> bool:
    """Whether the folio is on this line."""
    if folio is None or folio.edge == "side":
        return False
    x0, y0, x1, y1 = folio.box
    lx0, ly0, lx1, ly1 = line.box
    return lx0 - _TOUCHING <= x0 and x1 <= lx1 + _TOUCHING and ly0 - _TOUCHING <= y0 and y1 <= ly1 + _TOUCHING


def _runs_above(leaf: Leaf, header: RunningLine | None, line: Line) -> bool:
    return is_running(header, leaf.from_head(line.box[3]))


def _runs_below(leaf: Leaf, footer: RunningLine | None, line: Line) -> bool:
    return is_running(footer, leaf.from_foot(line.box[1]))
