"""Lines of text from runs: what stands on one baseline and close together, in reading order."""

from __future__ import annotations

from math import inf

from worker.measure.geometry import around
from worker.measure.marks import Run
from worker.measure.models import Line

_SAME_BASELINE = 0.35
_WORD_GAP = 0.15
_COLUMN_GAP = 3.0


def reading_lines(runs: list[Run]) -> tuple[Line, ...]:
    """Lines from top to bottom, and from left to right on one baseline; distances are judged in ems."""
    level = [run for run in runs if run.text.strip() and abs(run.end[1] - run.start[1]) < 0.1 * run.size]
    turned = [run for run in runs if run.text.strip() and abs(run.end[1] - run.start[1]) >= 0.1 * run.size]
    rows: list[list[Run]] = []
    for run in sorted(level, key=lambda run: (-run.start[1], run.box[0])):
        if rows and abs(rows[-1][0].start[1] - run.start[1]) <= _SAME_BASELINE * min(rows[-1][0].size, run.size):
            rows[-1].append(run)
        else:
            rows.append([run])
    lines = [line for row in rows for line in _split_row(sorted(row, key=lambda run: run.start[0]))]
    return tuple(lines + [_line([run]) for run in turned])


def _split_row(row: list[Run]) -> list[Line]:
    lines, current = [], [row[0]]
    for run in row[1:]:
        if run.box[0] - current[-1].box[2] > _COLUMN_GAP * max(run.size, current[-1].size):
            lines.append(_line(current))
            current = [run]
        else:
            current.append(run)
    return [*lines, _line(current)]


def _line(runs: list[Run]) -> Line:
    text, end = "", inf
    for run in runs:
        if run.start[0] - end > _WORD_GAP * run.size and not text.endswith(" ") and not run.text.startswith(" "):
            text += " "
        text += run.text
        end = run.end[0]
    largest = max(runs, key=lambda run: len(run.text))
    return Line(
        box=around([run.box for run in runs]) or largest.box,
        baseline=largest.start[1],
        text=text.strip(),
        font=largest.font.name,
        size=largest.size,
    )
