"""External objects (ISO 32000-1 8.8): images and forms; inline images (8.9.7)."""

from __future__ import annotations

import pikepdf

from worker.measure.geometry import (
    IDENTITY,
    Box,
    Matrix,
    as_matrix,
    corners,
    is_upright,
    multiply,
    normalised,
    transform,
)
from worker.measure.images import inline_image, placed_image
from worker.measure.marks import Picture
from worker.measure.operators.machine import Machine, operator
from worker.measure.paint import laid_on
from worker.measure.pdfobjects import get, identity, name, numbers, stream_bytes
from worker.measure.state import GraphicsState


class ObjectOperators(Machine):
    """``Do`` and ``BI``."""

    @operator("Do")
    def external(self, operands: bytes) -> None:
        drawn = self.resources.external(operands)
        if self.hidden or not isinstance(drawn, pikepdf.Stream) or self.layers.hides(get(drawn, "/OC")):
            return
        kind = name(get(drawn, "/Subtype"))
        if kind == "Image":
            self._place(placed_image(drawn, self.state.ctm, self.resources.raw))
        elif kind == "Form":
            self._form(drawn)

    @operator("BI")
    def inline(self, operands: bytes) -> None:
        if not self.hidden:
            self._place(inline_image(operands, self.state.ctm, self.resources.raw))

    def _place(self, picture: Picture | None) -> None:
        state = self.state
        box = self.seen(picture.box) if picture else None
        if picture is None or box is None or state.fill_alpha <= 0:
            return
        if picture.colour != "mask":
            self.marks.add_picture(picture, box, state.fill_manner)
        elif self.marks.prints(state.fill, box, state.fill_alpha):
            self.marks.add_stencil(picture, box, state.fill)

    def _form(self, form: pikepdf.Stream, matrix: Matrix | None = None) -> None:
        """A form XObject (8.10), drawn with its own resources; one that draws itself is cut there."""
        key = identity(form)
        if key != (0, 0) and key in self.open:
            return
        if len(self.open) >= self.limits.nesting:
            raise ValueError("forms within forms, too deep to follow")
        group = name(get(get(form, "/Group"), "/S")) == "Transparency"
        if group and self.state.fill_alpha <= 0:
            return
        kept = self.state, self.resources, self.stack, self.path, self.text_clip, self.marked, self.hidden
        self.state = self.state.copy()
        self.restart()
        self.open.append(key)
        self._enter(form, matrix)
        if group:
            self._begin_group()
        try:
            self.follow(stream_bytes(form))
        finally:
            self.open.pop()
            self.state, self.resources, self.stack, self.path, self.text_clip, self.marked, self.hidden = kept

    def _enter(self, form: pikepdf.Stream, matrix: Matrix | None) -> None:
        own = matrix or as_matrix(numbers(get(form, "/Matrix"))) or IDENTITY
        self.state.ctm = multiply(own, self.state.ctm)
        bounds = numbers(get(form, "/BBox"))
        if len(bounds) == 4:
            box, ctm = normalised(bounds), self.state.ctm
            self.clip_to(transform(box, ctm), () if is_upright(ctm) else (corners(box, ctm),))
        own_resources = get(form, "/Resources")
        if own_resources is not None:
            self.resources = self.shelf.take(own_resources)

    def _begin_group(self) -> None:
        """A transparency group (11.6.6) is laid on as a whole: within it alpha, blend mode and mask begin anew."""
        state = self.state
        box = self.seen(state.clip)
        if box:
            self.marks.see_through(state.fill_manner.transparency or "group", box)
        state.fill_alpha = state.stroke_alpha = 1.0
        anew = {"faint": False, "blends": False, "masked": False}
        state.fill_manner, state.fill = laid_on(state.fill, state.fill_manner, anew)
        state.stroke_manner, state.stroke = laid_on(state.stroke, state.stroke_manner, anew)

    def draw_appearance(self, form: pikepdf.Stream, ctm: Matrix, matrix: Matrix, clip: Box) -> None:
        """An annotation's appearance stream, placed by ``matrix`` (12.5.5)."""
        self.state = GraphicsState(ctm=ctm, clip=clip)
        self.restart()
        self._form(form, matrix)
