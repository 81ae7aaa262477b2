"""Text (ISO 32000-1 9): state, positions, and what is shown."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import partial

import pikepdf

from worker.measure.content import numbers
from worker.measure.fonts import Font
from worker.measure.geometry import (
    IDENTITY,
    Box,
    Matrix,
    apply,
    around,
    as_matrix,
    moved,
    multiply,
    scales,
    transform,
    union,
)
from worker.measure.marks import Lacking, PageMarks, Run
from worker.measure.operators.machine import EVERYTHING, Machine, operator
from worker.measure.paint import CURRENT
from worker.measure.pdfobjects import get, identity, stream_bytes
from worker.measure.showing import (
    Laid,
    ends_far_back,
    hung_down,
    lacking_glyphs,
    laid_out,
    placed_codes,
    stepped_apart,
)

_STROKED, _INVISIBLE, _CLIPS = (1, 2, 5, 6), (3, 7), 4
"""Rendering modes (Table 106): those that stroke the outlines, that show nothing, and the first that clips."""
_OUTLINES_ALONE = (1, 5)
_HAS_COLOURS = re.compile(rb"\bd0\b")
"""The operator of a glyph that has colours of its own; after ``d1`` it has none (9.6.5)."""
_TYPE3_EM = 0.01
"""A Type 3 font whose matrix scales by less than this counts its sizes as the others do, in thousandths."""


class TextOperators(Machine):
    """``BT ET Tc Tw Tz TL Ts Tr Tf Tm Td TD T* Tj TJ ' "``."""

    @operator("BT")
    def begin_text(self, _: bytes) -> None:
        self.state.text_matrix = self.state.line_matrix = IDENTITY
        self.text_clip = None

    @operator("ET")
    def end_text(self, _: bytes) -> None:
        if self.text_clip is not None:
            self.clip_to(self.text_clip)
            self.text_clip = None

    @operator("Tf")
    def select_font(self, operands: bytes) -> None:
        font, self.state.size = self.resources.selected(operands)
        self.state.font = font
        if font is not None and font.type3 is not None:
            font.type3_ink = partial(self._type3_ink, font)

    @operator("Tc")
    def character_space(self, operands: bytes) -> None:
        self.state.character_space = _last(operands, self.state.character_space)

    @operator("Tw")
    def word_space(self, operands: bytes) -> None:
        self.state.word_space = _last(operands, self.state.word_space)

    @operator("Tz")
    def stretch(self, operands: bytes) -> None:
        self.state.stretch = _last(operands, 100 * self.state.stretch) / 100

    @operator("TL")
    def leading(self, operands: bytes) -> None:
        self.state.leading = _last(operands, self.state.leading)

    @operator("Ts")
    def rise(self, operands: bytes) -> None:
        self.state.rise = _last(operands, self.state.rise)

    @operator("Tr")
    def rendering_mode(self, operands: bytes) -> None:
        self.state.mode = int(_last(operands, self.state.mode))

    @operator("Tm")
    def text_matrix(self, operands: bytes) -> None:
        matrix = as_matrix(numbers(operands))
        if matrix:
            self.state.text_matrix = self.state.line_matrix = matrix

    @operator("Td")
    def move_line(self, operands: bytes) -> None:
        step = numbers(operands)
        if len(step) >= 2:
            self._move_line_by(step[-2], step[-1])

    @operator("TD")
    def move_line_and_lead(self, operands: bytes) -> None:
        step = numbers(operands)
        if len(step) >= 2:
            self.state.leading = -step[-1]
            self._move_line_by(step[-2], step[-1])

    @operator("T*")
    def next_line(self, _: bytes = b"") -> None:
        self._move_line_by(0.0, -self.state.leading)

    def _move_line_by(self, x: float, y: float) -> None:
        self.state.text_matrix = self.state.line_matrix = moved(self.state.line_matrix, x, y)

    @operator("'")
    def show_on_next_line(self, operands: bytes) -> None:
        self.next_line()
        self.show(operands)

    @operator('"')
    def show_spaced(self, operands: bytes) -> None:
        start = min(at for at in (operands.find(b"("), operands.find(b"<"), len(operands)) if at >= 0)
        spaces = numbers(operands[:start])
        if len(spaces) >= 2:
            self.state.word_space, self.state.character_space = spaces[:2]
        self.show_on_next_line(operands[start:])

    @operator("Tj", "TJ")
    def show(self, operands: bytes) -> None:
        state = self.state
        font, size = state.font, state.size
        if font is None or not size:
            return
        if font.vertical:
            laid = hung_down(font, operands, state.character_space / size)
            if font.lacking:
                self._note_lacking(font, operands)
            if laid.ink is not None:
                self._note(font, laid, self._from_ems(), apply(self._from_ems(), 0.0, 0.0), operands)
            state.text_matrix = moved(state.text_matrix, 0.0, laid.advance * size)
            return
        laid = laid_out(font, operands, state.character_space / size, state.word_space / size)
        if ends_far_back(laid) and (apart := stepped_apart(operands)):
            for part in apart:
                self.show(part)
            return
        if font.lacking:
            self._note_lacking(font, operands)
        if laid.ink is not None:
            matrix = self._from_ems()
            self._note(font, laid, matrix, apply(matrix, laid.advance, 0.0), operands)
        state.text_matrix = moved(state.text_matrix, laid.advance * size * state.stretch, 0.0)

    def _from_ems(self) -> Matrix:
        """From ems along the baseline to what a reader sees (9.4.4)."""
        state = self.state
        a, b, c, d, e, f = multiply(state.text_matrix, state.ctm)
        across, up, rise = state.size * state.stretch, state.size, state.rise
        return a * across, b * across, c * up, d * up, c * rise + e, d * rise + f

    def _note(self, font: Font, laid: Laid, matrix: Matrix, end: tuple[float, float], operands: bytes) -> None:
        """Note what would print of a run."""
        state, mode = self.state, self.state.mode
        shaped = mode in _STROKED or _is_slanted(matrix)
        box = (
            around(list(self._glyphs(font, matrix, operands))) if shaped else transform(laid.ink or EVERYTHING, matrix)
        )
        if box is None:
            return
        if mode >= _CLIPS:
            self.text_clip = union(self.text_clip, box)
        if mode in _INVISIBLE or self.hidden:
            return
        paint, alpha = state.fill, state.fill_alpha
        if mode in _OUTLINES_ALONE:
            paint, alpha = state.stroke, state.stroke_alpha
        shown = self.seen(box) if state.outlines else self.marks.visible(box, state.clip)
        if shown is not None and shown is not box:  # cut: up to its last visible glyph, which may end before the cut
            shown = around([part for glyph in self._glyphs(font, matrix, operands) if (part := self.seen(glyph))])
        if shown is None or not self.marks.prints(paint, shown, alpha):
            return
        run = Run(shown, (matrix[4], matrix[5]), end, laid.text, font, _size(font, matrix))
        self.marks.add_run(run, paint)
        if font.type3_colours:
            for code, _, _ in placed_codes(font, operands, *self._spaces()):
                self.marks.add_colours(run, font.type3_colours.get(code, ()))

    def _glyphs(self, font: Font, matrix: Matrix, operands: bytes) -> Iterator[Box]:
        """The ink of each glyph of a run as it stands on the page: turned, slanted, stroked."""
        state = self.state
        a, b, c, d, _, _ = matrix
        linear = (round(a, 5), round(b, 5), round(c, 5), round(d, 5), 0.0, 0.0)
        stroke = (state.line, (*state.ctm[:4], 0.0, 0.0)) if state.mode in _STROKED else None
        for code, along, up in placed_codes(font, operands, *self._spaces()):
            ink = font.shaped_ink(code, linear, stroke)
            if ink is not None:
                x, y = apply(matrix, along, up)
                yield ink[0] + x, ink[1] + y, ink[2] + x, ink[3] + y

    def _note_lacking(self, font: Font, operands: bytes) -> None:
        """Note the glyphs of a run that the font has not, where they would print."""
        state, matrix = self.state, self._from_ems()
        if state.mode in _INVISIBLE or self.hidden:
            return
        for glyph, letter in lacking_glyphs(font, operands, *self._spaces()):
            box = self.marks.visible(transform(glyph, matrix), state.clip)
            if box is not None and self.marks.prints(state.fill, box, state.fill_alpha):
                self.marks.lacking.append(Lacking(box, letter, font, _size(font, matrix)))

    def _spaces(self) -> tuple[float, float]:
        """Character and word space in ems."""
        return self.state.character_space / self.state.size, self.state.word_space / self.state.size

    def _type3_ink(self, font: Font, code: int, matrix: Matrix) -> Box | None:
        """The ink of a Type 3 glyph (9.6.5), as ``matrix`` leads from its glyph space."""
        procedure = font.type3_procedure(code)
        key = identity(procedure)
        if not isinstance(procedure, pikepdf.Stream) or key in self.open or len(self.open) + 1 >= self.limits.nesting:
            return None
        glyph = PageMarks(media=EVERYTHING, trim=EVERYTHING)
        inner = self.inner(glyph, key)
        inner.begin(get(font.type3, "/Resources") or self.resources.raw, matrix, EVERYTHING)
        inner.state.fill = inner.state.stroke = CURRENT
        data = stream_bytes(procedure)
        inner.follow(data)
        own = tuple(paint for paint in glyph.paints if paint is not CURRENT)
        if own and _HAS_COLOURS.search(data):
            font.type3_colours[code] = own
        return glyph.ink


def _is_slanted(matrix: Matrix) -> bool:
    """Neither upright nor turned by a right angle."""
    a, b, c, d, _, _ = matrix
    return bool((a and b) or (c and d))


def _size(font: Font, matrix: Matrix) -> float:
    size = scales(matrix)[1]
    if font.type3 is not None:
        scale = scales(font.type3_matrix)[1]
        size *= scale * 1000 if scale < _TYPE3_EM else 1
    return size


def _last(operands: bytes, otherwise: float) -> float:
    values = numbers(operands)
    return values[-1] if values else otherwise
