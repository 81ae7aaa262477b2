"""A pen that writes content streams (ISO 32000-1 8.5, 9.4): lines, boxes, hatching, words. Lengths are points."""

from __future__ import annotations

from collections.abc import Sequence

from worker.measure.geometry import Box
from worker.proof.letters import FACES, Face

Colour = tuple[int, int, int]

INK: Colour = (0x20, 0x24, 0x2C)
QUIET: Colour = (0x5B, 0x62, 0x70)
PAPER: Colour = (0xFB, 0xF8, 0xF1)
HAIR: Colour = (0xCF, 0xC8, 0xB8)
VERDIGRIS: Colour = (0x1F, 0x6F, 0x6B)

HAIRLINE = 0.25
FURTHEST = 1e6
"""Points: what lies beyond is drawn there."""
MOST_STROKES = 400
"""Lines in one hatching: a larger place is hatched wider."""
FONT_NAMES: dict[Face, str] = {face: f"/{face.title()}" for face in FACES}


class Pen:
    """Writes operators one after the other; :attr:`stream` is what it has written."""

    def __init__(self) -> None:
        self._parts: list[bytes] = []

    @property
    def stream(self) -> bytes:
        return b"\n".join(self._parts) + b"\n"

    def outline(self, box: Box, weight: float, colour: Colour) -> None:
        self._stroke(weight, colour)
        self._put(*_sides(box), "re S")

    def filled(self, box: Box, colour: Colour) -> None:
        self._put(*_shares(colour), "rg", *_sides(box), "re f")

    def line(self, points: Sequence[tuple[float, float]], weight: float, colour: Colour, dash: str = "[] 0") -> None:
        """A line from point to point. ``dash`` is the dash pattern (8.4.3.6), its phase with it."""
        self._stroke(weight, colour)
        self._put(dash, "d", *points[0], "m")
        for point in points[1:]:
            self._put(*point, "l")
        self._put("S [] 0 d")

    def hatched(self, box: Box, step: float, weight: float, colour: Colour) -> None:
        """Slanted lines across a box and an outline around it."""
        x0, y0, x1, y1 = (_near(side) for side in box)
        rise = y1 - y0
        step = max(step, (x1 - x0 + rise) / MOST_STROKES)
        self._put("q", *_sides(box), "re W n")
        self._stroke(weight, colour)
        at = x0 - rise + step / 2
        while at < x1:
            self._put(at, y0, "m", at + rise, y1, "l")
            at += step
        self._put("S Q")
        self.outline(box, max(weight, 0.3), colour)

    def words(
        self, text: bytes, at: tuple[float, float], face: Face, size: float, colour: Colour = INK, *, apart: float = 0
    ) -> None:
        """Encoded words from a point on the baseline; ``apart`` is added between letters."""
        self._put("BT", *_shares(colour), "rg", FONT_NAMES[face], size, "Tf", apart, "Tc", *at, "Td")
        self._parts.append(b"<" + text.hex().encode() + b"> Tj ET")

    def _stroke(self, weight: float, colour: Colour) -> None:
        self._put(*_shares(colour), "RG", weight, "w")

    def _put(self, *written: float | str) -> None:
        self._parts.append(" ".join(it if isinstance(it, str) else figure(it) for it in written).encode())


def figure(value: float) -> str:
    """A number as the format writes it (7.3.3): no exponent."""
    return f"{_near(value):.3f}".rstrip("0").rstrip(".")


def _near(value: float) -> float:
    return max(-FURTHEST, min(FURTHEST, value))


def _sides(box: Box) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = (_near(side) for side in box)
    return x0, y0, x1 - x0, y1 - y0


def _shares(colour: Colour) -> tuple[float, ...]:
    return tuple(round(part / 255, 3) for part in colour)
