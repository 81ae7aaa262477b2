"""Lines of text from runs: what stands on one baseline and close together, in reading order."""

from __future__ import annotations

from itertools import pairwise

from worker.measure.accents import overlaid
from worker.measure.geometry import around
from worker.measure.marks import Run
from worker.measure.models import PLACES, Line

_SAME_BASELINE = 0.35
_RAISED = 0.6
"""Text that is raised or lowered by less than so much and adjoins a line is part of it: a note's mark, a logo's A."""
_ADJOINING = 0.15
_WORD_GAP = 0.1
_OVERLAP = -1.0
"""A step back by more than this starts a word, and by less than a letter is a kern or puts an accent on."""
_UNDER_ACCENT = -0.2
_COLUMN_GAP = 3.0

Row = list[Run]


def reading_lines(runs: list[Run]) -> tuple[Line, ...]:
    """Lines from top to bottom, and from left to right on one baseline; distances are judged in ems."""
    level = [run for run in runs if run.text.strip() and abs(run.end[1] - run.start[1]) < 0.1 * run.size]
    turned = [run for run in runs if run.text.strip() and abs(run.end[1] - run.start[1]) >= 0.1 * run.size]
    rows: list[Row] = []
    for run in sorted(level, key=lambda run: (-run.start[1], run.box[0])):
        if rows and abs(rows[-1][0].start[1] - run.start[1]) <= _SAME_BASELINE * min(rows[-1][0].size, run.size):
            rows[-1].append(run)
        else:
            rows.append([run])
    for upper, lower in pairwise(rows):
        if upper[0].start[1] - lower[0].start[1] < _RAISED * max(upper[0].size, lower[0].size):
            _adjoin(upper, lower)
    lines = [line for row in rows if row for line in _split_row(row)]
    return tuple(lines + [_line([run]) for run in turned])


def _adjoin(upper: Row, lower: Row) -> None:
    """Move what is raised or lowered to the line that it adjoins."""
    main, other = (upper, lower) if _letters(upper) >= _letters(lower) else (lower, upper)
    for run in sorted(other, key=lambda run: run.start[0]):
        if any(_adjoins(run, neighbour) for neighbour in main):
            main.append(run)
            other.remove(run)
    if not lower:  # the next row down is compared with this line
        lower[:], upper[:] = list(upper), []


def _letters(row: Row) -> int:
    return sum(len(run.text) for run in row)


def _adjoins(run: Run, neighbour: Run) -> bool:
    near = _ADJOINING * max(run.size, neighbour.size)
    return abs(run.start[0] - neighbour.end[0]) < near or abs(neighbour.start[0] - run.end[0]) < near


def _split_row(row: Row) -> list[Line]:
    if len(row) == 1:
        return [_line(row)]
    row.sort(key=lambda run: run.start[0])
    lines, current = [], row[:1]
    for run in row[1:]:
        before = current[-1]
        if run.start[0] < before.end[0] - _ADJOINING * run.size and _stands_on(run, before):
            current[-1] = max(run, before, key=lambda drawn: len(drawn.text))
        elif run.box[0] - before.box[2] > _COLUMN_GAP * max(run.size, before.size):
            lines.append(_line(current))
            current = [run]
        else:
            current.append(run)
    return [*lines, _line(current)]


def _stands_on(one: Run, other: Run) -> bool:
    """Whether one of two runs is drawn over the same letters of the other, for an outline or for weight."""
    over, under = (one, other) if len(one.text) <= len(other.text) else (other, one)
    return (
        over.end[0] < under.end[0] + _ADJOINING * over.size
        and over.start[0] > under.start[0] - _ADJOINING * over.size
        and over.text.strip() in under.text
    )


def _line(runs: Row) -> Line:
    text, end = runs[0].text, runs[0].end[0]
    for run in runs[1:]:
        gap = run.start[0] - end
        adjoins = _OVERLAP * run.size < gap < _WORD_GAP * run.size
        if not adjoins and not text.endswith(" ") and not run.text.startswith(" "):
            text += " "
        text = overlaid(text, run.text) if gap < _UNDER_ACCENT * run.size else text + run.text
        end = run.end[0]
    largest, box = runs[0], runs[0].box
    if len(runs) > 1:
        largest = max(runs, key=lambda run: len(run.text))
        box = around([run.box for run in runs]) or box
    x0, y0, x1, y1 = box
    return Line(
        box=(round(x0, PLACES), round(y0, PLACES), round(x1, PLACES), round(y1, PLACES)),
        baseline=round(largest.start[1], PLACES),
        text=text.strip(),
        font=largest.font.name,
        size=round(largest.size, PLACES),
    )
