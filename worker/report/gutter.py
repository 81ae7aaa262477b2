"""Margins that do not mirror, and the gutter: what a person types so that the wide margin lies at the spine.

What is typed must hold once it is typed: an inside margin that merely is as wide as asked would still be found fault
with where the outside one is wider.
"""

from __future__ import annotations

from worker.book.models import EdgeOfBlock
from worker.report.margins import Case, Margins, rounded_up
from worker.report.models import Setting
from worker.words import told

EQUAL = 2.0
"""Margins that differ by less than this many points are set alike; side bearings alone make a point of difference."""


def wanted(case: Case) -> float:
    """How much more the printer asks inside than outside, in points; nothing where it asks for no gutter."""
    inside, outside = case.asked["inside"], case.asked["outside"]
    return max(0.0, inside - (outside or 0.0)) if inside is not None else 0.0


def mirrored(margins: Margins, case: Case) -> Margins:
    """The margins once they mirror. Those of odd pages become inside and outside when mirroring is turned on."""
    inside, outside = case.block.odd_inside(case.bound_at), case.block.odd_outside(case.bound_at)
    if "mirrored-margins" not in case.found or inside is None or outside is None:
        return margins
    if abs(inside.usual - outside.usual) < EQUAL:
        return _with_gutter(margins, outside, case)
    if inside.usual < outside.usual and wanted(case) > 0:
        margins = _exchanged(margins, inside, outside, case)
        if not _stays_on_its_side(case):
            return margins
    note = " ".join(filter(None, (told("setup.notes.turn-on"), margins["inside"].note)))
    return margins | {"inside": margins["inside"].model_copy(update={"note": note})}


def _stays_on_its_side(case: Case) -> bool:
    """Whether the text stands at the same place of left and right pages."""
    odd, even = case.block.odd_left, case.block.even_left
    return odd is not None and even is not None and abs(odd.usual - even.usual) < EQUAL


def _with_gutter(margins: Margins, outside: EdgeOfBlock, case: Case) -> Margins:
    """Equal margins: the gutter is as much as the printer asks inside beyond outside."""
    kept = _typed(margins["outside"], outside)
    value = max(rounded_up(kept + wanted(case), case.unit), margins["inside"].set or 0.0)
    return margins | {
        "inside": margins["inside"].model_copy(update={"set": value, "note": told("setup.notes.turn-on")})
    }


def _exchanged(margins: Margins, inside: EdgeOfBlock, outside: EdgeOfBlock, case: Case) -> Margins:
    """The wide margin is outside: the two change places, each at least as wide as asked. The block keeps its width.

    What hangs out at the spine hangs out of both edges of the block: of the left on one page, of the right on the next.
    """
    hang = {name: edge.hang if (edge := case.edge(name)) else 0.0 for name in ("inside", "outside")}
    values = {
        "inside": max(outside.usual, (case.asked["inside"] or 0.0) + hang["inside"]),
        "outside": max(inside.usual, (case.asked["outside"] or 0.0) + hang["outside"]),
    }
    changed: Margins = {
        name: margins[name].model_copy(
            update={"set": rounded_up(values[name], case.unit), "note": told("setup.notes.exchanged")}
        )
        for name in ("inside", "outside")
    }
    return margins | changed


def gutter(margins: Margins, case: Case) -> list[Setting]:
    """The part of ``inside`` beyond ``outside``, where the printer wants one."""
    inside, outside = case.edge("inside"), case.edge("outside")
    if inside is None or outside is None or wanted(case) <= 0:
        return []
    value = None
    if margins["inside"].set is not None:
        value = rounded_up(max(0.0, margins["inside"].set - _typed(margins["outside"], outside)), case.unit)
    measured = max(0.0, inside.usual - outside.usual)
    return [Setting(name="gutter", measured=measured, required=wanted(case), set=value, note=told("setup.notes.apart"))]


def _typed(setting: Setting, edge: EdgeOfBlock) -> float:
    """A margin as it is once the settings are typed."""
    return setting.set if setting.set is not None else edge.usual
