"""How often Python looks for cycles among what it holds: seldom, for what is known of a book has none.

A long book is half a million small objects. Looking through them as often as is usual takes a twentieth of reading
one, and a third of taking up one that is kept.
"""

from __future__ import annotations

import gc

_YOUNG, _MIDDLE, _OLD = 100_000, 50, 1000
"""Objects made, and collections of the generation before, until a generation is looked through."""


def collect_seldom() -> None:
    """Leave what is there alone for good, and look through what comes after it seldom."""
    gc.freeze()
    gc.set_threshold(_YOUNG, _MIDDLE, _OLD)
