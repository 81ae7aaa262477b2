"""What every operator works on: the graphics state, the resources at hand, the path, and the marks made so far."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar, TypeVar

from worker.measure.content import instructions
from worker.measure.geometry import IDENTITY, Box, Matrix, Outline, around_points, corners, intersection, within
from worker.measure.layers import Layers
from worker.measure.limits import LimitReached, WorkLimits
from worker.measure.marks import PageMarks
from worker.measure.path import Path
from worker.measure.resources import Resources, ResourceShelf
from worker.measure.state import GraphicsState

EVERYTHING: Box = (-1e9, -1e9, 1e9, 1e9)
NOTHING: Box = (0.0, 0.0, -1.0, -1.0)
MOST_CORNERS = 500
_MOST_OUTLINES = 4
"""Clip paths of more corners, or more of them one within the other, count by their boxes."""

Operation = Callable[[Any, bytes], None]
Method = TypeVar("Method", bound=Callable[..., None])


def operator(*names: str) -> Callable[[Method], Method]:
    """Says which operators a method of the machine carries out; it is given their operands, as bytes."""

    def named(method: Method) -> Method:
        method.operators = names  # type: ignore[attr-defined]
        return method

    return named


class Machine:
    """Follows content streams into ``marks``. One a page; fonts and layers are the document's."""

    operations: ClassVar[dict[bytes, Operation]] = {}

    def __init__(self, marks: PageMarks, shelf: ResourceShelf, layers: Layers, limits: WorkLimits) -> None:
        self.marks = marks
        self.shelf = shelf
        self.layers = layers
        self.limits = limits
        self.resources = Resources(None, shelf)
        self.state = GraphicsState(ctm=IDENTITY, clip=EVERYTHING)
        self.open: list[tuple[int, int]] = []
        """The forms, patterns and glyphs that are being drawn, the outermost first."""
        self.cells: dict[Any, Any] = {}
        """The patterns that were drawn on this page, once for each place and colour."""
        self._followed = 0
        self.restart()

    def __init_subclass__(cls) -> None:
        methods = [method for kind in reversed(cls.__mro__) for method in vars(kind).values()]
        cls.operations = {
            name.encode(): method for method in methods for name in getattr(method, "operators", ())
        }  # fmt: skip

    def restart(self) -> None:
        """What begins anew with each content stream."""
        self.stack: list[GraphicsState] = []
        self.path = Path()
        self.text_clip: Box | None = None
        self.marked: list[bool] = []
        self.hidden = 0

    def begin(self, resources: Any, ctm: Matrix, clip: Box) -> None:
        """Take up a content stream that is drawn from nothing."""
        self.resources = self.shelf.take(resources)
        self.state = GraphicsState(ctm=ctm, clip=clip)
        self.restart()

    def follow(self, data: bytes) -> None:
        """Carry out one content stream. Raises ``LimitReached`` past the limit of operators."""
        operations, most = self.operations, self.limits.operators
        followed = self._followed
        for operands, name in instructions(data):
            followed += 1
            operation = operations.get(name)
            if operation is not None:
                self._followed = followed
                operation(self, operands)
                followed = self._followed
            if followed > most:
                raise LimitReached("operators", f"more than {most:,} drawing operators on one page")
        self._followed = followed

    def clip_to(self, box: Box | None, outline: Outline = ()) -> None:
        """Nothing outside ``box`` is shown from here on, nor outside ``outline`` in it where that is no rectangle."""
        self.state.clip = (intersection(self.state.clip, box) if box else None) or NOTHING
        if outline and sum(map(len, outline)) <= MOST_CORNERS:
            self.state.outlines = (*self.state.outlines[-_MOST_OUTLINES:], outline)

    def seen(self, box: Box, shape: Outline = ()) -> Box | None:
        """The part of a mark that would print, the box itself where all of it does; None where nothing does.

        ``shape`` is the mark's own where it does not fill its box.
        """
        shown = self.marks.visible(box, self.state.clip)
        if not self.state.outlines or shown is None:
            return shown
        left = shape or (corners(shown, IDENTITY),)
        for outline in self.state.outlines:
            left = within(outline, left)
        cut = around_points(left)
        cut = intersection(cut, shown) if cut else None
        return shown if cut == shown else cut

    def inner(self, marks: PageMarks, drawn: tuple[int, int]) -> Machine:
        """Another machine for something that is drawn within, with marks of its own."""
        machine = type(self)(marks, self.shelf, self.layers, self.limits)
        machine.open = [*self.open, drawn]
        return machine
