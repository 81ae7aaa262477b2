"""How the text flows from page to page, so that it can be told how many pages it takes in another frame.

A paragraph is known by its last line, after which the next line's first word would still have had room; so ragged text,
verse and dialogue are read like prose. All that is not the text's own type takes the depth that it takes, whatever the
measure. Depths are lines of text, lengths are points.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import zip_longest
from statistics import median
from typing import NamedTuple

from worker.book.grid import Setting
from worker.book.heads import Body
from worker.book.leaf import SAME_ROW
from worker.book.models import Flow, PageKind, Stretch, TextBlock
from worker.measure.models import Line

PARTS = 20
"""Lengths of paragraphs are told in such parts of the measure."""
LONGEST = 60
"""Measures: a longer paragraph counts as one of this length and another one."""
SPARE = 0.5
"""Ems by which the first line of a paragraph stands in, and by which the width of a word may be misjudged."""
ROUNDING = 0.01
AT_FOOT = 4
"""Lines by which a page may end higher for the sake of a widow, an orphan or a heading; more is white space."""


class _Row(NamedTuple):
    """A line of text, and where it starts and ends from the left edge of its block."""

    start: float
    end: float
    page: int
    line: Line


def flow_of(
    bodies: Sequence[Body],
    setting: Setting,
    block: TextBlock,
    kinds: Mapping[int, PageKind],
    opened: Collection[int],
) -> Flow:
    """The stretches of running text, and the lengths of its paragraphs."""
    stretches, lengths = [], [0] * (PARTS * LONGEST + 1)
    runs = list(_runs(bodies, kinds, opened))
    for run in runs:
        rows = list(_rows(run, setting, block))
        stretches.append(_stretch(run, setting, len(rows)))
        for length in _paragraphs(rows, setting):
            lengths[length] += 1
    while lengths and not lengths[-1]:
        lengths.pop()
    return Flow(
        size=setting.size,
        leading=setting.leading,
        lines=median(_lines_on(body, setting) for run in runs for body in run) if runs else 0.0,
        stretches=tuple(stretches),
        paragraphs=tuple(lengths),
    )


def _runs(bodies: Sequence[Body], kinds: Mapping[int, PageKind], opened: Collection[int]) -> Iterator[list[Body]]:
    """Pages of text that follow one another, each opening beginning anew; plates between them are not of the text."""
    run: list[Body] = []
    for body in bodies:
        page = body.leaf.number
        if kinds[page] == "plate":
            continue
        flows = kinds[page] in ("text", "opening") and bool(body.lines)
        if run and (not flows or page in opened):
            yield run
            run = []
        if flows:
            run.append(body)
    if run:
        yield run


def _stretch(run: Sequence[Body], setting: Setting, text: int) -> Stretch:
    *full, last = run
    ends = [_lines_to(body, body.lines[-1].baseline, setting) for body in run]
    whole = _lines_on(last, setting)
    left = [room for end in ends[:-1] if 0 < (room := whole - end) <= AT_FOOT]
    used = len(full) * whole - sum(left) + ends[-1]
    return Stretch(
        first=run[0].leaf.number,
        last=last.leaf.number,
        text=text,
        other=max(0.0, round(used - text, 2)),
        left=round(sum(left) / len(full), 3) if full else 0.0,
    )


def _lines_on(body: Body, setting: Setting) -> float:
    """The lines of the page, were it full."""
    return _lines_to(body, body.leaf.page.trim[1] + setting.foot, setting)


def _lines_to(body: Body, baseline: float, setting: Setting) -> float:
    """So many lines of a full page stand down to a baseline, that one among them."""
    return 1 + (body.leaf.from_head(baseline) - setting.head) / setting.leading


def _rows(run: Sequence[Body], setting: Setting, block: TextBlock) -> Iterator[_Row]:
    """The text of a stretch, one line of each row."""
    for body in run:
        page = body.leaf.number
        edge = block.odd_left if page % 2 else block.even_left
        left = body.leaf.page.trim[0] + (edge.usual if edge else 0.0)
        before = math.inf
        for line in body.lines:
            if abs(before - line.baseline) >= SAME_ROW and setting.is_text(line):
                before = line.baseline
                yield _Row(line.box[0] - left, line.box[2] - left, page, line)


def _paragraphs(rows: Sequence[_Row], setting: Setting) -> Iterator[int]:
    """The lengths of paragraphs, all their lines together, in parts of the measure, rounded up."""
    spare = SPARE * setting.size
    full, lines = setting.measure - spare, 0
    for row, following in zip_longest(rows, rows[1:]):
        lines += 1
        if following is None or lines == LONGEST or _ends(row, following, full, spare):
            last = min(1.0, max(0.0, row.end / setting.measure))
            yield max(1, math.ceil((lines - 1 + last) * PARTS - ROUNDING))
            lines = 0


def _ends(row: _Row, following: _Row, full: float, spare: float) -> bool:
    """Whether a paragraph ends with a line: the next one's first word would have fitted, or the next one stands in."""
    if row.end < full and row.end + _first_word(following.line) < full:
        return True
    return following.start - row.start > spare and following.page == row.page


def _first_word(line: Line) -> float:
    """About its width, with the space after it."""
    return (line.box[2] - line.box[0]) * (len(line.text.partition(" ")[0]) + 1) / len(line.text)
