"""The numbers to set in words, a row a setting, for the page and the text alike."""

from __future__ import annotations

from dataclasses import dataclass

from worker.report.models import Setting
from worker.report.words import figure
from worker.units import Unit
from worker.words import told


@dataclass(frozen=True)
class Row:
    """A setting in words. ``measured`` and ``required`` are empty where there is no figure."""

    name: str
    measured: str
    required: str
    set: str
    note: str

    @property
    def typed(self) -> str:
        """What to type, or that nothing need change."""
        return self.set or told("setup.as-it-is")


def row(setting: Setting, unit: Unit) -> Row:
    """A setting in words; lengths in ``unit`` and the other beside it."""

    def tell(value: float | None) -> str:
        return "" if value is None else figure(value, setting.unit, unit)

    return Row(
        name=told(f"setup.settings.{setting.name}"),
        measured=tell(setting.measured),
        required=tell(setting.required),
        set=tell(setting.set),
        note=setting.note or "",
    )
