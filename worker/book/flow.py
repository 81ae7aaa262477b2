"""How the text flows from page to page, so that it can be told how many pages it takes in another frame.

A paragraph is known by its last line, after which the next line's first word would still have had room; so ragged text,
verse and dialogue are read like prose. All that is not the text's own type takes the depth that it takes, whatever the
measure. Depths are lines of text, lengths are points.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import pairwise
from statistics import median

from worker.book.grid import Setting
from worker.book.heads import Body
from worker.book.leaf import SAME_ROW
from worker.book.models import Flow, PageKind, Stretch
from worker.measure.models import Line

PARTS = 20
"""Lengths of paragraphs are told in such parts of the measure."""
LONGEST = 60
"""Measures: a longer paragraph counts as one of this length and another one."""
SET_BACK = 0.5
"""Ems by which the first line of a paragraph stands in."""
AT_FOOT = 4
"""Lines by which a page may end higher for the sake of a widow, an orphan or a heading; more is white space."""


def flow_of(bodies: Sequence[Body], setting: Setting, kinds: Mapping[int, PageKind], opened: Collection[int]) -> Flow:
    """The stretches of running text, and the lengths of its paragraphs."""
    stretches, lengths = [], [0] * (PARTS * LONGEST + 1)
    runs = list(_runs(bodies, kinds, opened))
    for run in runs:
        stretches.append(_stretch(run, setting))
        for length in _paragraphs(_text_of(run, setting), setting):
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


def _stretch(run: Sequence[Body], setting: Setting) -> Stretch:
    *full, last = run
    ends = [_lines_to(body, body.lines[-1].baseline, setting) for body in run]
    whole = _lines_on(last, setting)
    left = [room for end in ends[:-1] if 0 < (room := whole - end) <= AT_FOOT]
    used = len(full) * whole - sum(left) + ends[-1]
    text = len(_rows(_text_of(run, setting)))
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


def _text_of(run: Sequence[Body], setting: Setting) -> list[Line]:
    return [line for body in run for line in body.lines if setting.is_text(line)]


def _rows(lines: Sequence[Line]) -> list[Line]:
    """The first line of each row."""
    return [
        line
        for before, line in pairwise((None, *lines))
        if line is not None and (before is None or abs(before.baseline - line.baseline) >= SAME_ROW)
    ]


def _paragraphs(lines: Sequence[Line], setting: Setting) -> Iterator[int]:
    """The lengths of paragraphs, all their lines together, in parts of the measure, rounded up."""
    rows = 0
    for line, following in pairwise((*_rows(lines), None)):
        if line is None:
            continue
        rows += 1
        if following is None or rows == LONGEST or _ends(line, following, setting):
            last = min(1.0, (line.box[2] - line.box[0]) / setting.measure)
            yield max(1, round((rows - 1 + last) * PARTS + 0.49))
            rows = 0


def _ends(line: Line, following: Line, setting: Setting) -> bool:
    """Whether a paragraph ends with a line: the next one's first word would have fitted, or stands in."""
    word = following.text.partition(" ")[0]
    width = (following.box[2] - following.box[0]) * (len(word) + 1) / len(following.text)
    has_room = line.box[2] - line.box[0] + width < setting.measure - SET_BACK * setting.size
    same_page = following.baseline < line.baseline
    return has_room or (same_page and following.box[0] - line.box[0] > SET_BACK * setting.size)
