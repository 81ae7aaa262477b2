"""How a book is built, as far as it is read from its measurements. No opinion, no profile.

Lengths are points. Distances are from the trimmed edge. ``None``: it has none, or none shows.
"""

from __future__ import annotations

from worker.measure.models import BindingEdge, Fact


class EdgeOfBlock(Fact):
    """One edge: where the block usually stands, how far ink hangs out of it, and the ink nearest to the trim."""

    usual: float
    hang: float
    worst: float


class RunningLine(Fact):
    """The running heads or folios that stand in one margin: their edges towards the trim, and their type size."""

    usual: float
    worst: float
    size: float


class TextBlock(Fact):
    """The frame that the text stands in: its left and right edges on odd and on even pages, its head and foot.

    Edges are None in a book without text; ``header`` and ``footer`` are None where none repeats.
    """

    odd_left: EdgeOfBlock | None = None
    odd_right: EdgeOfBlock | None = None
    even_left: EdgeOfBlock | None = None
    even_right: EdgeOfBlock | None = None
    head: EdgeOfBlock | None = None
    foot: EdgeOfBlock | None = None
    header: RunningLine | None = None
    footer: RunningLine | None = None

    def odd_inside(self, bound_at: BindingEdge) -> EdgeOfBlock | None:
        """The inside edge of odd pages, the first page being one that opens the book."""
        return self.odd_left if bound_at == "left" else self.odd_right

    def odd_outside(self, bound_at: BindingEdge) -> EdgeOfBlock | None:
        """The outside edge of odd pages."""
        return self.odd_right if bound_at == "left" else self.odd_left

    def inside(self, bound_at: BindingEdge) -> EdgeOfBlock | None:
        """The inside edge for all pages: the nearest of odd and even ones."""
        return _nearest(self.odd_inside(bound_at), self.even_right if bound_at == "left" else self.even_left)

    def outside(self, bound_at: BindingEdge) -> EdgeOfBlock | None:
        """The outside edge for all pages."""
        return _nearest(self.odd_outside(bound_at), self.even_left if bound_at == "left" else self.even_right)


class Book(Fact):
    """What was read of how the book is built."""

    block: TextBlock


def _nearest(odd: EdgeOfBlock | None, even: EdgeOfBlock | None) -> EdgeOfBlock | None:
    if odd is None or even is None:
        return odd or even
    return EdgeOfBlock(
        usual=min(odd.usual, even.usual), hang=max(odd.hang, even.hang), worst=min(odd.worst, even.worst)
    )
