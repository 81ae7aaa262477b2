"""Margins to type: head, foot, inside and outside of the text block, and the lines that run above and below it.

What a printer asks speaks of ink; what a program sets is the frame. So each value is what is asked, plus how far ink
hangs out of the frame in this book, rounded up to what a person types. Enough and no more: margins cost pages.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from worker.book.models import Book, EdgeOfBlock, RunningLine, TextBlock
from worker.judge.models import Judgement
from worker.measure.models import BindingEdge, Measurements
from worker.profiles import Profile
from worker.report.drawing import bound_at
from worker.report.models import Setting
from worker.units import POINTS_IN, Unit, show_length
from worker.words import told

STEP: dict[Unit, float] = {"in": 0.01, "mm": 0.5, "pt": 0.5}
"""What a person types is a multiple of this, in the profile's unit."""
NOISE = 1e-6
TELLING = 0.05
"""A hang smaller than this many points is not worth a word."""
LINE_ROOM = 1.5
"""A running line needs this many of its type sizes between its nearer edge and the block, to be clear of it."""

MarginName = Literal["inside", "outside", "head", "foot"]
Margins = dict[MarginName, Setting]
MARGINS: tuple[MarginName, ...] = ("inside", "outside", "head", "foot")


@dataclass(frozen=True)
class Case:
    """What every margin is worked out from: the block, what is asked in points, and the rules that found something."""

    block: TextBlock
    bound_at: BindingEdge
    asked: dict[MarginName, float | None]
    found: frozenset[str]
    unit: Unit

    def edge(self, name: MarginName) -> EdgeOfBlock | None:
        """The block's edge towards this margin."""
        match name:
            case "inside":
                return self.block.inside(self.bound_at)
            case "outside":
                return self.block.outside(self.bound_at)
            case "head":
                return self.block.head
            case "foot":
                return self.block.foot


def case_of(measurements: Measurements, book: Book, judgement: Judgement, profile: Profile, pages: int) -> Case:
    """The case of one file for one printer, once the book has so many pages: more than it was judged by may ask for
    more inside."""
    margins = profile.interior.margins
    asked_inside, judged_inside = margins.inside_at(pages), margins.inside_at(judgement.judged_as_pages)
    grows = profile.weights.get("inside-margin") != "off" and (asked_inside or 0.0) > (judged_inside or 0.0)
    return Case(
        block=book.block,
        bound_at=bound_at(measurements, profile),
        asked={
            "inside": asked_inside,
            "outside": margins.outside,
            "head": margins.head,
            "foot": margins.foot,
        },
        found=frozenset(finding.rule for finding in judgement.findings) | ({"inside-margin"} if grows else set()),
        unit=profile.unit,
    )


def rounded_down(points: float, unit: Unit) -> float:
    """The last length that a person types before this one."""
    step = STEP[unit] * POINTS_IN[unit]
    return math.floor(points / step + NOISE) * step


def rounded_up(points: float, unit: Unit) -> float:
    """The next length that a person types: a multiple of 0.01 in, 0.5 mm or 0.5 pt by the profile's unit."""
    step = STEP[unit] * POINTS_IN[unit]
    return math.ceil(points / step - NOISE) * step


def block_margins(case: Case) -> Margins:
    """The four margins to the text block, each as if the others stayed."""
    return {name: _margin(name, case.edge(name), case) for name in MARGINS}


def _margin(name: MarginName, edge: EdgeOfBlock | None, case: Case) -> Setting:
    """One margin. A finding about lines that stand out of the block alone sets no number."""
    asked = case.asked[name]
    setting = Setting(name=name, measured=edge.worst if edge else None, required=asked, set=None)
    if edge is None or asked is None or f"{name}-margin" not in case.found:
        return setting
    if edge.usual < asked + edge.hang - NOISE:
        value, note = rounded_up(asked + edge.hang, case.unit), _hang_note(edge, case.unit)
        return setting.model_copy(update={"set": value, "note": note})
    return setting.model_copy(update={"note": told("setup.notes.stand-out")}) if edge.worst < asked - NOISE else setting


def _hang_note(edge: EdgeOfBlock, unit: Unit) -> str | None:
    if edge.hang < TELLING:
        return None
    return told("setup.notes.hang", length=show_length(edge.hang, unit))


def running_lines(margins: Margins, case: Case) -> tuple[list[Setting], Margins]:
    """Header and footer, where the book has one and the printer asks for a margin there; and the margins with them.

    Where a moved line would run into the block, the block's own margin is set too.
    """
    lines: list[Setting] = []
    for name, side, line in _present(case.block):
        asked = case.asked[side]
        if asked is None:
            continue
        short = f"{side}-margin" in case.found and line.worst < asked - NOISE
        value = rounded_up(asked + line.usual - line.worst, case.unit) if short else None
        lines.append(Setting(name=name, measured=line.worst, required=asked, set=value))
        if value is not None:
            clear = _clear_of(value, line, margins[side], case.edge(side), case.unit)
            margins = margins | {side: clear}
    return lines, margins


def _present(block: TextBlock) -> Iterable[tuple[str, MarginName, RunningLine]]:
    if block.header is not None:
        yield "header", "head", block.header
    if block.footer is not None:
        yield "footer", "foot", block.footer


def _clear_of(value: float, line: RunningLine, margin: Setting, edge: EdgeOfBlock | None, unit: Unit) -> Setting:
    """The block's margin, widened if a running line set at ``value`` would touch the block."""
    room = value + LINE_ROOM * line.size
    present = margin.set if margin.set is not None else edge.usual if edge else 0.0
    if present >= room:
        return margin
    return margin.model_copy(update={"set": rounded_up(room, unit), "note": told("setup.notes.keeps-clear")})
