"""The colour that marks are made with, and the manner in which it meets what lies beneath: overprint, transparency."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any, Literal, NamedTuple

from worker.measure.models import PageColour, Transparency

Meeting = Literal["process", "device-cmyk", "spot"]
"""What an overprinted colour does to the inks beneath (ISO 32000-1 Table 149): it replaces all process inks, or in
overprint mode 1 only those that it uses itself (DeviceCMYK as such), or none but its own."""


class Manner(NamedTuple):
    """What the graphics state says of how a colour is laid on (ISO 32000-1 8.6.7 and 11.6.4), besides the colour."""

    overprints: bool = False
    overprint_mode: int = 0
    faint: bool = False
    """An alpha below 1."""
    blends: bool = False
    masked: bool = False

    @property
    def transparency(self) -> Transparency | None:
        """The kind of transparency, if any."""
        return "soft-mask" if self.masked else "blend" if self.blends else "alpha" if self.faint else None


PLAIN = Manner()


@dataclass(frozen=True, eq=False, slots=True)
class Paint:
    """A colour, laid on in some manner. Each is made once, and goes by what it is and not by what it says.

    ``ink`` is the sum of its inks in percent; None where the space is RGB or Lab, whose inks the printer's conversion
    decides. ``inks`` are their names and percentages where there may be several. A pattern or a shading has ``parts``.
    """

    family: PageColour
    white: bool
    ink: float | None
    inks: tuple[tuple[str, float], ...] = ()
    meeting: Meeting = "process"
    void: bool = False
    """What lies beneath stays as it is: no ink, and nothing knocked out."""
    parts: tuple[Paint, ...] = ()
    pictures: tuple[Any, ...] = ()
    """The pictures in a tiling pattern's cell."""
    overprints: bool = False
    transparency: Transparency | None = None
    _plain: Paint | None = None
    _others: dict[Manner, Paint] = field(default_factory=dict, repr=False)

    def under(self, manner: Manner) -> Paint:
        """The same colour laid on in that manner."""
        own = self._plain or self
        if manner == PLAIN:
            return own
        known = own._others.get(manner)
        if known is None:
            known = own._others[manner] = own._laid_on(manner)
        return known

    def _laid_on(self, manner: Manner) -> Paint:
        spares = self.meeting == "spot" or (self.meeting == "device-cmyk" and manner.overprint_mode == 1)
        return replace(
            self,
            void=self.void or (self.white and manner.overprints and spares),
            overprints=manner.overprints,
            transparency=manner.transparency or self.transparency,
            _plain=self,
            _others={},
        )

    @property
    def colours(self) -> tuple[Paint, ...]:
        """Itself, or the colours that it is made of."""
        return self.parts or (self,)


BLACK = Paint("gray", False, 100.0)
CURRENT = Paint("gray", False, None)
"""Within a glyph that may have colours of its own: the colour that is current where the glyph is shown."""
NOTHING = Paint("gray", True, 0.0, void=True)
"""Prints nowhere: the colorant None, a pattern whose cell is empty."""


def laid_on(paint: Paint, manner: Manner, changes: dict[str, Any]) -> tuple[Manner, Paint]:
    """The manner with these changes, and the colour in it; ``PLAIN`` is always the same object."""
    manner = manner._replace(**changes)
    if manner == PLAIN:
        manner = PLAIN
    return manner, paint.under(manner)


def made_of(parts: tuple[Paint, ...], pictures: tuple[Any, ...] = (), kind: Transparency | None = None) -> Paint:
    """The paint of a pattern or a shading in these colours; ``kind`` is the transparency within it."""
    if not parts:
        return NOTHING
    heaviest = max((part.ink for part in parts if part.ink is not None), default=None)
    white = all(part.white for part in parts)
    return Paint(parts[0].family, white, heaviest, parts=parts, pictures=pictures, transparency=kind)
