"""The report's own words, in one place: names for settings, weights and facts, and text made safe to show."""

from __future__ import annotations

import re
from collections.abc import Iterable

from worker.judge.models import Measured, NotChecked, Required, Verdict, Weight
from worker.units import Unit, show_length, show_number, show_size

CAUTION = (
    "The printer’s own guide governs where it differs from this report. "
    "Order a physical proof before you pay for copies."
)

VERDICTS = {
    Verdict.PRESSWORTHY: "Pressworthy",
    Verdict.RESERVATIONS: "Pressworthy, with reservations",
    Verdict.NOT_PRESSWORTHY: "Not pressworthy",
}

WEIGHTS = {
    Weight.REFUSAL: "the printer would turn the file away",
    Weight.SPOILAGE: "it prints, and the book is worse for it",
    Weight.POLISH: "craft and convention",
}

SETTINGS = {
    "paper-width": "Paper width",
    "paper-height": "Paper height",
    "inside": "Inside margin",
    "outside": "Outside margin",
    "head": "Head margin",
    "foot": "Foot margin",
    "gutter": "Gutter",
    "header": "Header to edge",
    "footer": "Footer to edge",
    "folio-start": "Number of the first page",
    "image-width": "Picture width",
}

FONT_KINDS = {
    "type1": "Type 1",
    "cff": "CFF",
    "truetype": "TrueType",
    "type3": "Type 3",
    "cid-cff": "CFF, by character id",
    "cid-truetype": "TrueType, by character id",
}

COLOURS = {
    "gray": "grey",
    "rgb-gray": "grey written as RGB",
    "rgb": "RGB",
    "cmyk": "CMYK",
    "spot": "spot colour",
    "lab": "Lab",
    "registration": "registration colour",
}

RELATIONS = {
    "at-least": "at least",
    "at-most": "at most",
    "equal": "exactly",
    "multiple-of": "a multiple of",
}

_UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


def shown(text: str) -> str:
    """Text from a file with what could steer a terminal or turn a line about replaced by U+FFFD."""
    return _UNPRINTABLE.sub("\ufffd", text)


def counted(number: int, one: str, many: str | None = None) -> str:
    """``1 page``, ``1,200 pages``."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


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
            return counted(round(value), "page")
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
    return (
        tell(measured.value, measured.unit, unit) if measured else "",
        f"{RELATIONS[required.relation]} {tell(required.value, required.unit, unit)}" if required else "",
    )


def grouped(not_checked: Iterable[NotChecked]) -> dict[str, list[str]]:
    """Rules that were not tried, gathered by the reason why."""
    reasons: dict[str, list[str]] = {}
    for it in not_checked:
        reasons.setdefault(it.why, []).append(it.rule)
    return reasons
