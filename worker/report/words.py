"""Figures in words, and text made safe to show."""

from __future__ import annotations

import re
from collections.abc import Iterable

from worker.judge.models import Measured, NotChecked, Required
from worker.units import Unit, show_length, show_number, show_size
from worker.words import counted, grouped, told

_UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


def shown(text: str) -> str:
    """Text from a file with what could steer a terminal or turn a line about replaced by U+FFFD."""
    return _UNPRINTABLE.sub("\ufffd", text)


def so_many(key: str, number: int, **facts: object) -> str:
    """A text about so many things, the number grouped: ``1 page``, ``1,200 pages``."""
    return counted(key, number, count=grouped(number), **facts)


def so_many_pages(number: int) -> str:
    """``1 page``, ``1,200 pages``."""
    return so_many("units.pages", number)


def figure(value: float, unit: str | None, profile_unit: Unit) -> str:
    """A figure with its unit as a person reads it; lengths in the profile's unit and the other beside it."""
    if unit == "pt":
        return show_length(value, profile_unit)
    number = show_number(value, 1)
    match unit:
        case "ppi":
            return f"{number} ppi"
        case "percent":
            return f"{number} %"
        case "bytes":
            return show_size(round(value))
        case "pages":
            return so_many_pages(round(value))
        case _:
            return number


def type_size(value: float, unit: str | None, profile_unit: Unit) -> str:
    """As :func:`figure`, but sizes of type and widths of rules stay in points, as the trade gives them."""
    return f"{show_number(value, 2)} pt" if unit == "pt" else figure(value, unit, profile_unit)


IN_POINTS = {"small-type", "thin-rule", "rich-black-text"}
"""Rules whose lengths are sizes of type or widths of rules."""


def compared(rule: str, measured: Measured | None, required: Required | None, unit: Unit) -> tuple[str, str]:
    """What was measured and what is asked, in words; empty where there is no figure, or a mere count of places."""
    if (measured or required) is None or "count" in {it.unit for it in (measured, required) if it}:
        return "", ""
    tell = type_size if rule in IN_POINTS else figure
    relation = told(f"units.relations.{required.relation}") if required else ""
    return (
        tell(measured.value, measured.unit, unit) if measured else "",
        f"{relation} {tell(required.value, required.unit, unit)}" if required else "",
    )


def by_reason(not_checked: Iterable[NotChecked]) -> dict[str, list[str]]:
    """Rules that were not tried, gathered by the reason why."""
    reasons: dict[str, list[str]] = {}
    for it in not_checked:
        reasons.setdefault(it.why, []).append(it.rule)
    return reasons
