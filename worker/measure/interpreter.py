"""Draws a page without a canvas: follows its operators (ISO 32000-1 annex A) and notes every mark that would print."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pikepdf

from worker.measure import colour
from worker.measure.content import (
    SHOWN_PIECES,
    first_name,
    instructions,
    last_name,
    numbers,
)
from worker.measure.fonts import Font, Piece, load_font
from worker.measure.geometry import IDENTITY, Box, Matrix, apply, intersection, multiply, scales, transform, union
from worker.measure.images import inline_image, placed_image
from worker.measure.layers import Layers
from worker.measure.limits import LimitReached, WorkLimits
from worker.measure.marks import PageMarks, Picture, Run
from worker.measure.pdfobjects import array, get, identity, name, number, stream_bytes
from worker.measure.pdfobjects import numbers as array_numbers
from worker.measure.state import GraphicsState

_INVISIBLE, _CLIP_ONLY = 3, 7
_WORD_GAP = 0.18
"""A step of so many ems inside a TJ array is a word space (common practice of text extraction, no source)."""
_THIN = 3.0
"""A filled box thinner than this, in points, may be a rule."""
_EVERYTHING: Box = (-1e9, -1e9, 1e9, 1e9)


class FontShelf:
    """The fonts of one document, each loaded once."""

    def __init__(self) -> None:
        self._loaded: dict[tuple[int, int], Font | None] = {}

    def take(self, spec: Any) -> Font | None:
        key = identity(spec)
        if key == (0, 0):
            return self._load(spec)
        if key not in self._loaded:
            self._loaded[key] = self._load(spec)
        return self._loaded[key]

    @staticmethod
    def _load(spec: Any) -> Font | None:
        try:
            return load_font(spec)
        except (ValueError, TypeError, KeyError, pikepdf.PdfError):
            return None


class Interpreter:
    """Reads content streams into ``marks``. One a page; fonts and layers are the document's."""

    def __init__(self, marks: PageMarks, fonts: FontShelf, layers: Layers, limits: WorkLimits) -> None:
        self.marks = marks
        self._fonts = fonts
        self._layers = layers
        self._limits = limits
        self._operators = 0
        self._open: list[tuple[int, int]] = []
        self._state = GraphicsState(ctm=IDENTITY, clip=_EVERYTHING)
        self._resources: Any = None
        self._restart()

    def _restart(self) -> None:
        self._stack: list[GraphicsState] = []
        self._path: Box | None = None
        self._thin_boxes: list[float] = []
        self._pending_clip = False
        self._text_clip: Box | None = None
        self._content_marks: list[bool] = []
        self._hidden = 0

    def draw(self, data: bytes, resources: Any, ctm: Matrix, clip: Box) -> None:
        """Follow one content stream. Raises ``LimitReached`` past the limit of operators."""
        self._resources = resources
        self._state = GraphicsState(ctm=ctm, clip=clip)
        self._restart()
        self._follow(data)

    def _follow(self, data: bytes) -> None:
        operations = _OPERATIONS
        for operator, operands in instructions(data):
            self._operators += 1
            operation = operations.get(operator)
            if operation is not None:
                operation(self, operands)
            if self._operators > self._limits.operators:
                raise LimitReached("operators", f"more than {self._limits.operators:,} drawing operators on one page")

    # State

    def _save(self, _: bytes) -> None:
        if len(self._stack) < 10_000:
            self._stack.append(self._state.saved())

    def _restore(self, _: bytes) -> None:
        if self._stack:
            self._state = self._stack.pop()

    def _concatenate(self, operands: bytes) -> None:
        matrix = _matrix(numbers(operands))
        if matrix:
            self._state.ctm = multiply(matrix, self._state.ctm)

    def _line_width(self, operands: bytes) -> None:
        width = numbers(operands)
        if width:
            self._state.line_width = abs(width[-1])

    def _extended_state(self, operands: bytes) -> None:
        asked = get(get(self._resources, "/ExtGState"), first_name(operands) or "/")
        if asked is None:
            return
        self._state.fill_alpha = _or(number(get(asked, "/ca")), self._state.fill_alpha)
        self._state.stroke_alpha = _or(number(get(asked, "/CA")), self._state.stroke_alpha)
        self._state.line_width = _or(number(get(asked, "/LW")), self._state.line_width)
        font = array(get(asked, "/Font"))
        if len(font) == 2:
            self._state.font, self._state.size = self._fonts.take(font[0]), number(font[1]) or 0.0
        if colour.is_transparent(asked):
            self.marks.transparency = True

    # Colour

    def _fill_gray(self, operands: bytes) -> None:
        self._set_fill(colour.GRAY, numbers(operands))

    def _stroke_gray(self, operands: bytes) -> None:
        self._set_stroke(colour.GRAY, numbers(operands))

    def _fill_rgb(self, operands: bytes) -> None:
        self._set_fill(colour.RGB, numbers(operands))

    def _stroke_rgb(self, operands: bytes) -> None:
        self._set_stroke(colour.RGB, numbers(operands))

    def _fill_cmyk(self, operands: bytes) -> None:
        self._set_fill(colour.CMYK, numbers(operands))

    def _stroke_cmyk(self, operands: bytes) -> None:
        self._set_stroke(colour.CMYK, numbers(operands))

    def _set_fill(self, space: colour.Space, values: list[float], pattern: Any = None) -> None:
        self._state.fill_space = space
        self._state.fill = space.paint(values, pattern)

    def _set_stroke(self, space: colour.Space, values: list[float], pattern: Any = None) -> None:
        self._state.stroke_space = space
        self._state.stroke = space.paint(values, pattern)

    def _space_named(self, operands: bytes) -> colour.Space:
        return colour.colour_space(pikepdf.Name(first_name(operands) or "/DeviceGray"), self._resources)

    def _fill_space(self, operands: bytes) -> None:
        space = self._space_named(operands)
        self._set_fill(space, _initial(space))

    def _stroke_space(self, operands: bytes) -> None:
        space = self._space_named(operands)
        self._set_stroke(space, _initial(space))

    def _fill_components(self, operands: bytes) -> None:
        self._set_fill(self._state.fill_space, _components(operands), self._pattern(operands))

    def _stroke_components(self, operands: bytes) -> None:
        self._set_stroke(self._state.stroke_space, _components(operands), self._pattern(operands))

    def _pattern(self, operands: bytes) -> Any:
        named = last_name(operands)
        return get(get(self._resources, "/Pattern"), named) if named else None

    # Paths

    def _extend(self, points: list[float]) -> None:
        for x, y in zip(points[::2], points[1::2], strict=False):
            px, py = apply(self._state.ctm, x, y)
            self._path = union(self._path, (px, py, px, py))

    def _path_points(self, operands: bytes) -> None:
        points = numbers(operands)
        self._extend(points)

    def _rectangle(self, operands: bytes) -> None:
        values = numbers(operands)
        if len(values) < 4:
            return
        x, y, width, height = values[-4:]
        box = transform((min(x, x + width), min(y, y + height), max(x, x + width), max(y, y + height)), self._state.ctm)
        self._path = union(self._path, box)
        thin = min(box[2] - box[0], box[3] - box[1])
        if thin < _THIN and max(box[2] - box[0], box[3] - box[1]) > thin:
            self._thin_boxes.append(thin)

    def _clip(self, _: bytes) -> None:
        self._pending_clip = True

    def _end_path(self, _: bytes = b"") -> None:
        if self._pending_clip:
            self._clip_to(self._path)
        self._path, self._pending_clip, self._thin_boxes = None, False, []

    def _clip_to(self, box: Box | None) -> None:
        cut = intersection(self._state.clip, box) if box else None
        self._state.clip = cut or (0.0, 0.0, -1.0, -1.0)

    def _fill(self, _: bytes = b"") -> None:
        self._paint_fill()
        self._end_path()

    def _stroke(self, _: bytes = b"") -> None:
        self._paint_stroke()
        self._end_path()

    def _fill_and_stroke(self, _: bytes = b"") -> None:
        self._paint_fill()
        self._paint_stroke()
        self._end_path()

    def _paint_fill(self) -> None:
        state = self._state
        box = self.marks.visible(self._path, state.clip) if self._path and not self._hidden else None
        if box is None:
            return
        if state.fill.pattern is not None:
            self._paint_pattern(state.fill.pattern, box)
        if self.marks.prints(state.fill, box, state.fill_alpha):
            self.marks.add_shape(box, state.fill)
            for thin in self._thin_boxes:
                self.marks.add_rule(thin)

    def _paint_stroke(self) -> None:
        state = self._state
        if self._path is None or self._hidden:
            return
        wide, high = scales(state.ctm)
        half_x, half_y = state.line_width * wide / 2, state.line_width * high / 2
        x0, y0, x1, y1 = self._path
        across_x = half_x if x1 - x0 < 0.01 or y1 - y0 >= 0.01 else 0.0
        across_y = half_y if y1 - y0 < 0.01 or x1 - x0 >= 0.01 else 0.0
        box = self.marks.visible((x0 - across_x, y0 - across_y, x1 + across_x, y1 + across_y), state.clip)
        if box and self.marks.prints(state.stroke, box, state.stroke_alpha):
            self.marks.add_shape(box, state.stroke)
            upright, level = x1 - x0 < 0.01, y1 - y0 < 0.01
            self.marks.add_rule(2 * (half_x if upright else half_y if level else min(half_x, half_y)))

    def _shade(self, _: bytes) -> None:
        box = self.marks.visible(self._state.clip, self._state.clip)
        if box and not self._hidden:
            shading = get(get(self._resources, "/Shading"), first_name(_) or "/")
            space = colour.colour_space(get(shading, "/ColorSpace"), self._resources)
            self.marks.add_shape(box, colour.Paint(colour.page_colour(space), False, None))

    def _paint_pattern(self, pattern: Any, box: Box) -> None:
        """The pictures within a tiling pattern's cell (ISO 32000-1 8.7.3), each once, at the size that it prints."""
        if not isinstance(pattern, pikepdf.Stream) or len(self._open) >= self._limits.nesting:
            return
        matrix = _matrix(array_numbers(get(pattern, "/Matrix"))) or IDENTITY
        cell = PageMarks(media=_EVERYTHING, trim=self.marks.trim)
        inner = Interpreter(cell, self._fonts, self._layers, self._limits)
        inner._open = [*self._open, identity(pattern)]
        if identity(pattern) not in self._open:
            base = self._stack[0].ctm if self._stack else self._state.ctm
            inner.draw(stream_bytes(pattern), get(pattern, "/Resources"), multiply(matrix, base), _EVERYTHING)
            self.marks.pictures.extend(picture._replace(box=box) for picture in cell.pictures)

    # External objects

    def _external(self, operands: bytes) -> None:
        drawn = get(get(self._resources, "/XObject"), first_name(operands) or "/")
        if self._hidden or not isinstance(drawn, pikepdf.Stream) or self._layers.hides(get(drawn, "/OC")):
            return
        kind = name(get(drawn, "/Subtype"))
        if kind == "Image":
            self._place(placed_image(drawn, self._state.ctm, self._resources))
            if get(drawn, "/SMask") is not None:
                self.marks.transparency = True
        elif kind == "Form":
            self._form(drawn)

    def _inline(self, operands: bytes) -> None:
        if not self._hidden:
            self._place(inline_image(operands, self._state.ctm, self._resources))

    def _place(self, picture: Picture | None) -> None:
        state = self._state
        box = self.marks.visible(picture.box, state.clip) if picture else None
        if picture is None or box is None or state.fill_alpha <= 0:
            return
        if picture.colour == "mask":
            if not self.marks.prints(state.fill, box, state.fill_alpha):
                return
            paint: colour.Paint | None = state.fill
        else:
            paint = None
            self.marks.colours.add(picture.colour.removeprefix("indexed-"))
        self.marks.pictures.append(picture)
        self.marks.grounds.append(box)
        self.marks.add_ink(box, paint)

    def _form(self, form: pikepdf.Stream, matrix: Matrix | None = None) -> None:
        """A form XObject (ISO 32000-1 8.10), drawn with its own resources; one that draws itself is cut there."""
        key = identity(form)
        if key != (0, 0) and key in self._open:
            return
        if len(self._open) >= self._limits.nesting:
            raise ValueError("forms within forms, too deep to follow")
        if name(get(get(form, "/Group"), "/S")) == "Transparency":
            self.marks.transparency = True
        kept = (self._state, self._resources, self._stack, self._path, self._pending_clip, self._content_marks,
                self._hidden)  # fmt: skip
        self._state = self._state.saved()
        self._restart()
        self._open.append(key)
        own = matrix or _matrix(array_numbers(get(form, "/Matrix"))) or IDENTITY
        self._state.ctm = multiply(own, self._state.ctm)
        bounds = array_numbers(get(form, "/BBox"))
        if len(bounds) == 4:
            x0, y0, x1, y1 = bounds
            self._clip_to(transform((min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)), self._state.ctm))
        own_resources = get(form, "/Resources")
        self._resources = own_resources if own_resources is not None else self._resources
        try:
            self._follow(stream_bytes(form))
        finally:
            self._open.pop()
            (self._state, self._resources, self._stack, self._path, self._pending_clip, self._content_marks,
             self._hidden) = kept  # fmt: skip

    def draw_appearance(self, form: pikepdf.Stream, ctm: Matrix, matrix: Matrix, clip: Box) -> None:
        """An annotation's appearance stream, placed by ``matrix`` (ISO 32000-1 12.5.5)."""
        self._state = GraphicsState(ctm=ctm, clip=clip)
        self._restart()
        self._form(form, matrix)

    # Marked content

    def _begin_marked(self, operands: bytes) -> None:
        hides = False
        if operands.lstrip()[:3] == b"/OC":
            properties = get(get(self._resources, "/Properties"), last_name(operands) or "/")
            hides = self._layers.hides(properties)
        self._content_marks.append(hides)
        self._hidden += hides

    def _end_marked(self, _: bytes) -> None:
        if self._content_marks:
            self._hidden -= self._content_marks.pop()

    # Text

    def _begin_text(self, _: bytes) -> None:
        self._state.text_matrix = self._state.line_matrix = IDENTITY
        self._text_clip = None

    def _end_text(self, _: bytes) -> None:
        if self._text_clip is not None:
            self._clip_to(self._text_clip)
            self._text_clip = None

    def _font(self, operands: bytes) -> None:
        named = first_name(operands)
        size = numbers(operands)
        spec = get(get(self._resources, "/Font"), named) if named else None
        self._state.font = self._fonts.take(spec) if spec is not None else None
        if self._state.font is not None and self._state.font.kind == "type3":
            self._state.font.type3_ink = self._type3_ink
        self._state.size = size[-1] if size else 0.0

    def _type3_ink(self, font: Font, code: int) -> Box | None:
        """The ink of a Type 3 glyph (ISO 32000-1 9.6.5), in its glyph space."""
        encoding = get(font.type3, "/Encoding")
        wanted, at = None, 0
        for member in array(get(encoding, "/Differences")):
            if isinstance(member, pikepdf.Name):
                wanted = str(member) if at == code else wanted
                at += 1
            else:
                at = int(number(member) or 0)
        procedure = get(get(font.type3, "/CharProcs"), wanted) if wanted else None
        if not isinstance(procedure, pikepdf.Stream) or identity(procedure) in self._open:
            return None
        glyph = PageMarks(media=_EVERYTHING, trim=_EVERYTHING)
        inner = Interpreter(glyph, self._fonts, self._layers, self._limits)
        inner._open = [*self._open, identity(procedure)]
        if len(inner._open) < self._limits.nesting:
            resources = get(font.type3, "/Resources")
            inner.draw(stream_bytes(procedure), resources or self._resources, IDENTITY, _EVERYTHING)
        return glyph.ink

    def _character_space(self, operands: bytes) -> None:
        self._state.character_space = _last(operands, self._state.character_space)

    def _word_space(self, operands: bytes) -> None:
        self._state.word_space = _last(operands, self._state.word_space)

    def _stretch(self, operands: bytes) -> None:
        self._state.stretch = _last(operands, 100 * self._state.stretch) / 100

    def _leading(self, operands: bytes) -> None:
        self._state.leading = _last(operands, self._state.leading)

    def _rise(self, operands: bytes) -> None:
        self._state.rise = _last(operands, self._state.rise)

    def _mode(self, operands: bytes) -> None:
        self._state.mode = int(_last(operands, self._state.mode))

    def _text_matrix(self, operands: bytes) -> None:
        matrix = _matrix(numbers(operands))
        if matrix:
            self._state.text_matrix = self._state.line_matrix = matrix

    def _move(self, operands: bytes) -> None:
        step = numbers(operands)
        if len(step) >= 2:
            self._move_by(step[-2], step[-1])

    def _move_by(self, x: float, y: float) -> None:
        self._state.line_matrix = multiply((1, 0, 0, 1, x, y), self._state.line_matrix)
        self._state.text_matrix = self._state.line_matrix

    def _move_and_lead(self, operands: bytes) -> None:
        step = numbers(operands)
        if len(step) >= 2:
            self._state.leading = -step[-1]
            self._move_by(step[-2], step[-1])

    def _next_line(self, _: bytes = b"") -> None:
        self._move_by(0, -self._state.leading)

    def _show_on_next_line(self, operands: bytes) -> None:
        self._next_line()
        self._show(operands)

    def _show_spaced(self, operands: bytes) -> None:
        spaces = numbers(operands.split(b"(")[0].split(b"<")[0])
        if len(spaces) >= 2:
            self._state.word_space, self._state.character_space = spaces[:2]
        self._show_on_next_line(operands)

    def _show(self, operands: bytes) -> None:
        """Tj and TJ: walk along the baseline in ems and note the ink of what is shown."""
        state = self._state
        font = state.font
        if font is None or not state.size:
            return
        if font.vertical:
            self._show_vertically(operands)
            return
        spacing = state.character_space / state.size
        words = state.word_space / state.size
        x = 0.0
        letters: list[str] = []
        x0 = y0 = 1e9
        x1 = y1 = -1e9
        pieces = font.pieces
        for token, adjustment in SHOWN_PIECES.findall(operands):
            if not token:
                step = _figure(adjustment) / 1000
                x -= step
                if step < -_WORD_GAP and letters:
                    letters.append(" ")
                continue
            piece = pieces.get(token) or font.piece(token)
            ink = piece.ink
            if ink is not None:
                if spacing or (words and piece.spaces):
                    ink = _spaced_ink(piece.glyphs, spacing, words)
                x0 = min(x0, x + ink[0])
                x1 = max(x1, x + ink[2])
                y0 = min(y0, ink[1])
                y1 = max(y1, ink[3])
            x += piece.advance + spacing * len(piece.glyphs) + words * piece.spaces
            letters.append(piece.text)
        if x1 >= x0:
            self._note_run(font, (x0, y0, x1, y1), x, "".join(letters), operands)
        self._advance(x * state.size * state.stretch, 0)

    def _linear(self) -> Matrix:
        """From ems along the baseline to what a reader sees."""
        state = self._state
        scale = (state.size * state.stretch, 0.0, 0.0, state.size, 0.0, state.rise)
        return multiply(multiply(scale, state.text_matrix), state.ctm)

    def _advance(self, x: float, y: float) -> None:
        self._state.text_matrix = multiply((1, 0, 0, 1, x, y), self._state.text_matrix)

    def _note_run(self, font: Font, ink: Box, end: float, text: str, operands: bytes) -> None:
        state = self._state
        matrix = self._linear()
        slanted = bool(operands) and _is_slanted(matrix)
        box = self._slanted_box(font, matrix, operands) if slanted else transform(ink, matrix)
        if box is None:
            return
        if state.mode >= 4:
            self._text_clip = union(self._text_clip, box)
        if state.mode in (_INVISIBLE, _CLIP_ONLY) or self._hidden:
            return
        paint, alpha = (state.stroke, state.stroke_alpha) if state.mode % 4 == 1 else (state.fill, state.fill_alpha)
        if state.mode % 4 in (1, 2):
            half = state.line_width * min(scales(state.ctm)) / 2
            box = (box[0] - half, box[1] - half, box[2] + half, box[3] + half)
        shown = self.marks.visible(box, state.clip)
        if shown is not None and shown != box and operands and not slanted:
            shown = self._visible_glyphs(font, matrix, operands)
        if shown is None or not self.marks.prints(paint, shown, alpha):
            return
        size = scales(matrix)[1]
        if font.kind == "type3":
            size *= scales(font.type3_matrix)[1] * 1000 if scales(font.type3_matrix)[1] < 0.01 else 1
        start, stop = apply(matrix, 0, 0), apply(matrix, end, 0)
        self.marks.add_run(Run(shown, start, stop, text, font, size), paint)

    def _placed(self, font: Font, operands: bytes) -> Iterator[tuple[bytes, Piece, float]]:
        """The shown pieces again, each with where it starts, in ems: for the few runs that need a closer look."""
        state = self._state
        spacing, words = state.character_space / state.size, state.word_space / state.size
        x = 0.0
        for token, adjustment in SHOWN_PIECES.findall(operands):
            if not token:
                x -= _figure(adjustment) / 1000
                continue
            piece = font.piece(token)
            yield token, piece, x
            x += piece.advance + spacing * len(piece.glyphs) + words * piece.spaces

    def _visible_glyphs(self, font: Font, matrix: Matrix, operands: bytes) -> Box | None:
        """What is seen of a run that is cut: up to its last visible glyph, which may end before the cut."""
        state = self._state
        spacing, words = state.character_space / state.size, state.word_space / state.size
        seen: Box | None = None
        for _, piece, x in self._placed(font, operands):
            extra = 0.0
            for start, ink, is_space, _ in piece.glyphs:
                if ink is not None:
                    across = x + start + extra
                    glyph = transform((ink[0] + across, ink[1], ink[2] + across, ink[3]), matrix)
                    seen = union(seen, self.marks.visible(glyph, state.clip))
                extra += spacing + (words if is_space else 0.0)
        return seen

    def _slanted_box(self, font: Font, matrix: Matrix, operands: bytes) -> Box | None:
        a, b, c, d, e, f = matrix
        linear = (round(a, 5), round(b, 5), round(c, 5), round(d, 5), 0.0, 0.0)
        box: Box | None = None
        for token, _, x in self._placed(font, operands):
            ink = font.slanted_ink(token, linear)
            if ink is not None:
                dx, dy = a * x + e, b * x + f
                box = union(box, (ink[0] + dx, ink[1] + dy, ink[2] + dx, ink[3] + dy))
        return box

    def _show_vertically(self, operands: bytes) -> None:
        """Vertical writing (ISO 32000-1 9.7.4.3): each glyph hangs from its origin and the next one stands below."""
        state = self._state
        font = state.font
        if font is None:
            return
        y, ink, letters = 0.0, None, []
        for token, adjustment in SHOWN_PIECES.findall(operands):
            if not token:
                y -= _figure(adjustment) / 1000
                continue
            piece = font.piece(token)
            for glyph in piece.glyphs:
                drop = font.decoder.char_disp(glyph.code)
                across, down = drop if isinstance(drop, tuple) else (None, 880)
                across = 500.0 if across is None else across
                if glyph.ink:
                    x0, y0, x1, y1 = glyph.ink
                    dx, dy = -across / 1000, y - down / 1000
                    ink = union(ink, (x0 + dx, y0 + dy, x1 + dx, y1 + dy))
                y += font.decoder.char_width(glyph.code) - state.character_space / state.size
            letters.append(piece.text)
        if ink:
            self._note_run(font, ink, 0.0, "".join(letters), b"")
        self._advance(0, y * state.size)


def _is_slanted(matrix: Matrix) -> bool:
    """Neither upright nor turned by a right angle."""
    a, b, c, d, _, _ = matrix
    return bool((a and b) or (c and d))


def _spaced_ink(glyphs: Any, spacing: float, words: float) -> Box:
    """The ink of a piece whose letters and words are set apart."""
    extra = 0.0
    x0 = y0 = 1e9
    x1 = y1 = -1e9
    for start, ink, is_space, _ in glyphs:
        if ink is not None:
            x0, y0 = min(x0, start + extra + ink[0]), min(y0, ink[1])
            x1, y1 = max(x1, start + extra + ink[2]), max(y1, ink[3])
        extra += spacing + (words if is_space else 0.0)
    return x0, y0, x1, y1


def _matrix(values: list[float]) -> Matrix | None:
    if len(values) < 6:
        return None
    a, b, c, d, e, f = values[-6:]
    return a, b, c, d, e, f


def _figure(token: bytes) -> float:
    try:
        return float(token)
    except ValueError:
        return 0.0


def _last(operands: bytes, otherwise: float) -> float:
    values = numbers(operands)
    return values[-1] if values else otherwise


def _or(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value


def _initial(space: colour.Space) -> list[float]:
    """A space's first colour (ISO 32000-1 8.6.8): black, or full tint."""
    if space.family == "cmyk":
        return [0.0, 0.0, 0.0, 1.0]
    return [1.0] * space.components if space.family == "spot" else [0.0] * space.components


def _components(operands: bytes) -> list[float]:
    return numbers(operands.split(b"/", 1)[0])


_OPERATIONS: dict[bytes, Callable[[Interpreter, bytes], None]] = {
    b"q": Interpreter._save, b"Q": Interpreter._restore, b"cm": Interpreter._concatenate,
    b"w": Interpreter._line_width, b"gs": Interpreter._extended_state,
    b"g": Interpreter._fill_gray, b"G": Interpreter._stroke_gray, b"rg": Interpreter._fill_rgb,
    b"RG": Interpreter._stroke_rgb, b"k": Interpreter._fill_cmyk, b"K": Interpreter._stroke_cmyk,
    b"cs": Interpreter._fill_space, b"CS": Interpreter._stroke_space,
    b"sc": Interpreter._fill_components, b"scn": Interpreter._fill_components,
    b"SC": Interpreter._stroke_components, b"SCN": Interpreter._stroke_components,
    b"m": Interpreter._path_points, b"l": Interpreter._path_points, b"c": Interpreter._path_points,
    b"v": Interpreter._path_points, b"y": Interpreter._path_points, b"re": Interpreter._rectangle,
    b"W": Interpreter._clip, b"W*": Interpreter._clip, b"n": Interpreter._end_path,
    b"f": Interpreter._fill, b"F": Interpreter._fill, b"f*": Interpreter._fill,
    b"S": Interpreter._stroke, b"s": Interpreter._stroke,
    b"B": Interpreter._fill_and_stroke, b"B*": Interpreter._fill_and_stroke,
    b"b": Interpreter._fill_and_stroke, b"b*": Interpreter._fill_and_stroke,
    b"sh": Interpreter._shade, b"Do": Interpreter._external, b"BI": Interpreter._inline,
    b"BDC": Interpreter._begin_marked, b"BMC": Interpreter._begin_marked, b"EMC": Interpreter._end_marked,
    b"BT": Interpreter._begin_text, b"ET": Interpreter._end_text, b"Tf": Interpreter._font,
    b"Tc": Interpreter._character_space, b"Tw": Interpreter._word_space, b"Tz": Interpreter._stretch,
    b"TL": Interpreter._leading, b"Ts": Interpreter._rise, b"Tr": Interpreter._mode,
    b"Tm": Interpreter._text_matrix, b"Td": Interpreter._move, b"TD": Interpreter._move_and_lead,
    b"T*": Interpreter._next_line, b"Tj": Interpreter._show, b"TJ": Interpreter._show,
    b"'": Interpreter._show_on_next_line, b'"': Interpreter._show_spaced,
}  # fmt: skip
