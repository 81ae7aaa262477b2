"""The lines of a full page: where the first and the last one stand, and how far they are apart. Lengths are points."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from worker.book.heads import Body
from worker.book.leaf import SAME_ROW
from worker.book.running import densest
from worker.measure.models import Line

LARGER = 1.12
"""Type larger than the text's by this is display type. House value."""
COMMON_FONT = 0.04
"""A font of so many lines is one of the text's."""
SAME_SIZE = 0.05
"""Sizes that differ by a smaller share are one."""
LEAST_LINES = 10
FULL_PAGE = 5
"""Lines of a page that may tell where pages start and end."""
ENOUGH_PAGES, ENOUGH_LINES = 60, 4000


Style = tuple[str, float]


def style_of(line: Line) -> Style:
    """Font and size, by which headings are told from text."""
    return line.font, round(line.size, 1)


@dataclass(frozen=True)
class Setting:
    """What is usual in the text of a book. ``head`` and ``foot`` lead from the trimmed edges to the first and the last
    baseline of pages."""

    size: float
    leading: float
    measure: float
    head: float
    foot: float
    fonts: frozenset[str]
    font: str
    """That of most of the text."""

    def sunk(self, body: Body) -> float:
        """How much lower than usual the text of a page starts, in leadings."""
        return (body.leaf.from_head(body.lines[0].baseline) - self.head) / self.leading

    def is_text(self, line: Line) -> bool:
        """Whether a line is set as the text is."""
        return line.font == self.font and abs(line.size / self.size - 1) < SAME_SIZE


def setting_of(bodies: Sequence[Body]) -> Setting | None:
    """What is usual; None where there is too little text to tell."""
    full = [body for body in bodies if len(body.lines) >= FULL_PAGE]
    lines = [line for body in full for line in body.lines]
    gaps = [gap for body in full[:: max(1, len(full) // ENOUGH_PAGES)] for gap in _gaps(body.lines)]
    if len(lines) < LEAST_LINES or not gaps:
        return None
    sample = lines[:: max(1, len(lines) // ENOUGH_LINES)]
    fonts = Counter(line.font for line in sample)
    size, font = median(line.size for line in sample), fonts.most_common(1)[0][0]
    return Setting(
        size=size,
        leading=median(gaps),
        measure=sorted(line.box[2] - line.box[0] for line in sample)[int(0.9 * len(sample))],
        head=_most_agree(body.leaf.from_head(body.lines[0].baseline) for body in _bounded(full, 0, font, size)),
        foot=_most_agree(body.leaf.from_foot(body.lines[-1].baseline) for body in _bounded(full, -1, font, size)),
        fonts=frozenset(font for font, count in fonts.items() if count >= COMMON_FONT * len(sample)),
        font=font,
    )


def _bounded(full: Sequence[Body], at: int, font: str, size: float) -> Sequence[Body]:
    """Pages whose first (last) line is set as most of the text is, and no heading or note; all where there are none."""
    lines = [(body, body.lines[at]) for body in full]
    return [body for body, line in lines if line.font == font and abs(line.size / size - 1) < SAME_SIZE] or full


def _gaps(lines: Sequence[Line]) -> list[float]:
    steps = (upper.baseline - lower.baseline for upper, lower in itertools.pairwise(lines))
    return [step for step in steps if step > SAME_ROW]


def _most_agree(values: Iterable[float]) -> float:
    ordered = sorted(values)
    first, last = densest(ordered)
    return ordered[(first + last) // 2]
