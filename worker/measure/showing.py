"""Text as it is shown (ISO 32000-1 9.4.3): the strings and adjustments of one operator, laid along the baseline.

All lengths are ems: fractions of the font's size, before horizontal scaling.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from worker.measure.accents import COMBINING, put_on, waiting
from worker.measure.content import numbers, shown_parts
from worker.measure.fonts import Font, Piece
from worker.measure.geometry import Box, union

_WORD_GAP = 0.1
"""A step of so many ems between two strings is a word space (common practice of text extraction, no source)."""
_STEP_BACK = -1.0
"""Whoever steps back so many ems sets another word; accents and kerns take less."""
_FAR_BACK = -3.0
"""A step back of so many ems is no overlap: what follows stands elsewhere on the line, before what was shown."""
_UNDER_ACCENT = -0.2
_MOST_GAPS = 20_000
_NOWHERE = 1e9
_ROOM = 0.7
"""The height of a capital, in ems: of the room left free where a missing glyph shows nothing."""


class Laid(NamedTuple):
    """What one operator shows: the box of its ink (None where it has none), its advance, and its letters."""

    ink: Box | None
    advance: float
    text: str


class _Gaps(dict[bytes, float]):
    """What stands between two strings, as it stands in the file, and the step that it means."""

    def __missing__(self, between: bytes) -> float:
        if len(self) >= _MOST_GAPS:
            self.clear()
        step = self[between] = -sum(numbers(between.strip(b"[] \t\r\n\0\f"))) / 1000
        return step


_gaps = _Gaps()


def laid_out(font: Font, operands: bytes, spacing: float, words: float) -> Laid:
    """Lay the strings of ``Tj`` or ``TJ`` along the baseline, with character and word space between them."""
    parts = shown_parts(operands)
    plain = not spacing and not words
    pieces, gaps = font.pieces, _gaps
    x, left, foot, right, head = 0.0, _NOWHERE, _NOWHERE, -_NOWHERE, -_NOWHERE
    letters: list[str] = []
    accented = False
    steps, shown = map(gaps.__getitem__, parts[::2]), map(pieces.__getitem__, parts[1::2])
    for step, (advance, ink, text, spaces, codes), token in zip(steps, shown, parts[1::2], strict=False):
        if step:
            x += step
            if step > _WORD_GAP:
                letters.append(" ")
            elif step < _UNDER_ACCENT and letters:
                accented = _stepped_back(letters, step) or accented
        if ink is not None:
            x0, y0, x1, y1 = ink if plain else font.spaced_ink(token, spacing, words)
            if x + x0 < left:
                left = x + x0
            if x + x1 > right:
                right = x + x1
            if y0 < foot:
                foot = y0
            if y1 > head:
                head = y1
        x += advance if plain else advance + spacing * len(codes) + words * spaces
        letters.append(text)
    ink = (left, foot, right, head) if right >= left else None
    last = gaps[parts[-1]]
    if last > _WORD_GAP:
        letters.append(" ")
    text = "".join(letters)
    return Laid(ink, x + last, put_on(text) if accented else text)


def _stepped_back(letters: list[str], step: float) -> bool:
    """After a step back: whether the next letter is set below the accent that was last shown."""
    if step < _STEP_BACK:
        letters.append(" ")
    elif letters[-1][-1:] in COMBINING:
        letters[-1] = waiting(letters[-1])
        return True
    return False


def ends_far_back(laid: Laid) -> bool:
    """Whether what was laid ends far before the end of its ink."""
    return laid.ink is not None and laid.advance - laid.ink[2] < _FAR_BACK


def stepped_apart(operands: bytes) -> list[bytes]:
    """The operands in parts, at each far step back, which is a part of its own; none where there is no such step."""
    parts = shown_parts(operands)
    steps = [at for at in range(0, len(parts), 2) if _gaps[parts[at]] < _FAR_BACK]
    if not steps:
        return []
    bounds = [*(bound for at in steps for bound in (at, at + 1)), len(parts)]
    starts = [0, *bounds[:-1]]
    return [b"".join(parts[start:end]) for start, end in zip(starts, bounds, strict=True) if start < end]


def placed(font: Font, operands: bytes, spacing: float, words: float) -> Iterator[tuple[bytes, Piece, float]]:
    """The strings again, each with where it starts: for the few runs that need a closer look."""
    parts = shown_parts(operands)
    x = 0.0
    for between, token in zip(parts[::2], parts[1::2], strict=False):
        x += _gaps[between]
        piece = font.pieces[token]
        yield token, piece, x
        x += piece.advance + spacing * len(piece.codes) + words * piece.spaces


def placed_codes(font: Font, operands: bytes, spacing: float, words: float) -> Iterator[tuple[int, float, float]]:
    """The codes of a run, each with the place of its glyph's origin."""
    if font.vertical:
        for code, across, y, _ in _hung(font, operands, spacing):
            yield code, -across, y
        return
    for _, piece, x in placed(font, operands, spacing, words):
        for start, code in font.starts(piece, spacing, words):
            yield code, x + start, 0.0


def lacking_glyphs(font: Font, operands: bytes, spacing: float, words: float) -> Iterator[tuple[Box, str]]:
    """Where glyphs of a run are missing, and the letters meant: the ink of what stands there, or the room left free.

    In vertical writing all are told at the start of the run.
    """
    for _, piece, x in placed(font, operands, spacing, words):
        for start, code in font.starts(piece, spacing, words):
            if code in font.lacking:
                at = 0.0 if font.vertical else x + start
                width, ink, letter = font.codes[code]
                x0, y0, x1, y1 = ink or (0.0, 0.0, width, _ROOM)
                yield (at + x0, y0, at + x1, y1), letter.strip("\ufffd")


def hung_down(font: Font, operands: bytes, spacing: float) -> Laid:
    """Vertical writing (9.7.4.3): each glyph hangs from its origin, the next one stands below. Advances downwards."""
    hung = list(_hung(font, operands, spacing))
    ink, letters = None, []
    for code, across, origin, _ in hung:
        glyph = font.codes[code].ink
        if glyph is not None:
            ink = union(ink, (glyph[0] - across, glyph[1] + origin, glyph[2] - across, glyph[3] + origin))
        letters.append(font.codes[code].letter)
    lowest = hung[-1][3] if hung else 0.0
    return Laid(ink, lowest + _gaps[shown_parts(operands)[-1]], "".join(letters))


def _hung(font: Font, operands: bytes, spacing: float) -> Iterator[tuple[int, float, float, float]]:
    """The codes of a vertical run: how far across and up its origin lies, and where the next one hangs."""
    parts = shown_parts(operands)
    y = 0.0
    for between, token in zip(parts[::2], parts[1::2], strict=False):
        y += _gaps[between]
        for code in font.pieces[token].codes:
            across, down, fall = font.hang(code)
            origin, y = y - down, y + fall + spacing
            yield code, across, origin, y
