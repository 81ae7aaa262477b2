"""The numbers to set: what a person types where the book was set so that the printer's margins and size are kept.

What a printer asks speaks of ink; what a program sets is the frame. So each value is what is asked, plus how far ink
hangs out of the frame in this book, rounded up to what a person types. Enough and no more: margins cost pages.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from worker.judge.models import Judgement
from worker.measure.models import Measurements
from worker.profiles import Profile
from worker.profiles.models import Trim
from worker.report.block import EdgeOfBlock, RunningLine, TextBlock, text_block
from worker.report.drawing import bound_at
from worker.report.models import Setting
from worker.report.sheets import usual_size
from worker.units import POINTS_IN, Unit, show_length

STEP: dict[Unit, float] = {"in": 0.01, "mm": 0.5, "pt": 0.5}
"""What a person types is a multiple of this, in the profile's unit."""
NOISE = 1e-6
TELLING = 0.05
"""A hang smaller than this many points is not worth a word."""
LINE_ROOM = 1.5
"""A running head needs this many of its type sizes between its nearer edge and the block, to be clear of it."""

EQUAL = 2.0
"""Margins that differ by less than this many points are set alike; side bearings alone make a point of difference."""

MarginName = Literal["inside", "outside", "head", "foot"]
Margins = dict[MarginName, Setting]
MARGINS: tuple[MarginName, ...] = ("inside", "outside", "head", "foot")


@dataclass(frozen=True)
class _Case:
    """What every setting is worked out from."""

    block: TextBlock
    asked: dict[MarginName, float | None]
    found: frozenset[str]
    unit: Unit


def setup(measurements: Measurements, judgement: Judgement, profile: Profile) -> tuple[Setting, ...]:
    """Paper, margins and gutter as measured, as asked, and as they are to be typed; none for a file without pages.

    A value is to be typed only where a finding of this judgement asks for it.
    """
    if not measurements.pages:
        return ()
    found = frozenset(finding.rule for finding in judgement.findings)
    case = _Case(
        text_block(measurements, bound_at(measurements, profile)),
        _asked(profile, judgement.judged_as_pages),
        found,
        profile.unit,
    )
    margins = {name: _margin(name, case) for name in MARGINS}
    running = tuple(_running(margins, case))
    margins = _mirrored(margins, case)
    gutter = _gutter(margins, case)
    return (*_paper(measurements, judgement, profile), *margins.values(), *running, *gutter)


def _asked(profile: Profile, pages: int) -> dict[MarginName, float | None]:
    margins = profile.interior.margins
    return {
        "inside": margins.inside_at(pages),
        "outside": margins.outside,
        "head": margins.head,
        "foot": margins.foot,
    }


def rounded_up(points: float, unit: Unit) -> float:
    """The next length that a person types: a multiple of 0.01 in, 0.5 mm or 0.5 pt by the profile's unit."""
    step = STEP[unit] * POINTS_IN[unit]
    return math.ceil(points / step - NOISE) * step


# Paper ----------------------------------------------------------------------------------------------------------


def _paper(measurements: Measurements, judgement: Judgement, profile: Profile) -> Iterable[Setting]:
    """The trimmed size; where the file's is not taken, the closest of the printer's that takes so many pages."""
    size = usual_size(measurements.pages)
    present = profile.interior.closest_trim(*size)
    able = closest_trim(profile, size, judgement.judged_as_pages)
    found = {finding.rule for finding in judgement.findings}
    too_long = "page-count" in found and able != present
    changes = "trim-size" in found or too_long
    trim = able if changes else present
    note = None
    if changes:
        why = "takes a book of so many pages" if too_long else "this printer cuts"
        note = f"The closest size that {why}{f': {trim.name}' if trim.name else ''}."
    for name, measured, asked in (("paper-width", size[0], trim.width), ("paper-height", size[1], trim.height)):
        yield Setting(name=name, measured=measured, required=asked, set=asked if changes else None, note=note)
        note = None


def closest_trim(profile: Profile, size: tuple[float, float], pages: int) -> Trim:
    """The profile's trim closest to ``size`` (points) of those that take so many pages; of all where none does."""
    interior = profile.interior

    def takes(trim: Trim) -> bool:
        count = interior.page_count_of(trim)
        return (count.least or 0) <= pages <= (count.most or pages)

    able = [trim for trim in interior.trims if takes(trim)] or list(interior.trims)
    return min(able, key=lambda trim: max(abs(trim.width - size[0]), abs(trim.height - size[1])))


# Margins --------------------------------------------------------------------------------------------------------


def _margin(name: MarginName, case: _Case) -> Setting:
    """One margin to the text block. A finding about pages that stand out of the block alone sets no number."""
    edge: EdgeOfBlock | None = getattr(case.block, name)
    asked = case.asked[name]
    setting = Setting(name=name, measured=edge.worst if edge else None, required=asked, set=None)
    if edge is None or asked is None or f"{name}-margin" not in case.found:
        return setting
    needed = asked + edge.hang
    if edge.usual < needed - NOISE:
        return setting.model_copy(update={"set": rounded_up(needed, case.unit), "note": _hang_note(edge, case.unit)})
    if edge.worst < asked - NOISE:
        return setting.model_copy(
            update={"note": "The block itself keeps clear; a few lines stand out of it and are to be mended in place."}
        )
    return setting


def _hang_note(edge: EdgeOfBlock, unit: Unit) -> str | None:
    if edge.hang < TELLING:
        return None
    return f"Allows for ink that stands {show_length(edge.hang, unit)} out of the text block in this book."


def _running(margins: Margins, case: _Case) -> Iterable[Setting]:
    """Header and footer, where the book has one and the printer asks for a margin there.

    Where a moved line would run into the block, the block's own margin is set in ``margins`` too.
    """
    pairs: tuple[tuple[str, Literal["head", "foot"], RunningLine | None], ...] = (
        ("header", "head", case.block.header),
        ("footer", "foot", case.block.footer),
    )
    for name, side, line in pairs:
        asked = case.asked[side]
        if line is None or asked is None:
            continue
        short = f"{side}-margin" in case.found and line.worst < asked - NOISE
        value = rounded_up(asked + line.usual - line.worst, case.unit) if short else None
        yield Setting(name=name, measured=line.worst, required=asked, set=value, note=None)
        if value is not None:
            margins[side] = _clear_of(value, line, margins[side], getattr(case.block, side), case.unit)


def _clear_of(value: float, line: RunningLine, margin: Setting, edge: EdgeOfBlock | None, unit: Unit) -> Setting:
    """The block's margin, widened if a running line set at ``value`` would touch the block."""
    room = value + LINE_ROOM * line.size
    present = margin.set if margin.set is not None else edge.usual if edge else 0.0
    if present >= room:
        return margin
    note = "Keeps the text clear of the line that stands in this margin."
    return margin.model_copy(update={"set": rounded_up(room, unit), "note": note})


# The gutter -----------------------------------------------------------------------------------------------------


def _extra(case: _Case) -> float:
    """How much more the printer asks inside than outside; nothing where it asks for no gutter."""
    inside, outside = case.asked["inside"], case.asked["outside"]
    return max(0.0, inside - (outside or 0.0)) if inside is not None else 0.0


def _mirrored(margins: Margins, case: _Case) -> Margins:
    """Margins that are not mirrored: equal ones take the gutter the printer asks for, others the inside it asks for."""
    inside, edge, outer = margins["inside"], case.block.inside, case.block.outside
    if "mirrored-margins" not in case.found or edge is None or outer is None or inside.set is not None:
        return margins
    asked = case.asked["inside"] or 0.0
    equal = abs(edge.usual - outer.usual) < EQUAL
    value = outer.usual + _extra(case) if equal else asked + edge.hang
    typed = rounded_up(max(value, asked + edge.hang), case.unit)
    note = "Set margins as mirrored, so that this one lies at the spine on recto and verso alike."
    return margins | {"inside": inside.model_copy(update={"set": typed, "note": note})}


def _gutter(margins: Margins, case: _Case) -> Iterable[Setting]:
    """The part of ``inside`` beyond ``outside``, for a program that asks for it apart."""
    edge, outer, extra = case.block.inside, case.block.outside, _extra(case)
    if edge is None or outer is None or extra <= 0:
        return
    inside, outside = margins["inside"].set, margins["outside"].set
    value = None
    if inside is not None:
        value = rounded_up(max(0.0, inside - (outside if outside is not None else outer.usual)), case.unit)
    note = "Where a program asks for it apart: it is part of the inside margin, not in addition to it."
    yield Setting(name="gutter", measured=max(0.0, edge.usual - outer.usual), required=extra, set=value, note=note)
