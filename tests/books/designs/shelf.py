"""The shelf: sound designs, and each flaw alone in the plain one and in another; ``python -m tests.books.designs`` has
every flaw in every design that can have it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from tests.books.designs.flaws import FLAWS, Flawed
from tests.books.designs.sound import SOUND

__all__ = ["FLAWED", "SOUND", "Flawed", "pairs"]

MOST_CHAPTERS = 10
Maker = Callable[[], Flawed]


def pairs() -> Iterator[tuple[str, str]]:
    """Every flaw, and every design of a few long chapters that can have it."""
    for flaw in FLAWS:
        for name, design in SOUND.items():
            if FLAWS[flaw].fits(design) and len(design.chapters) <= MOST_CHAPTERS:
                yield flaw, name


def made(flaw: str, name: str) -> Flawed:
    """A design with a flaw."""
    return FLAWS[flaw].spoil(SOUND[name])


def _spread() -> Iterator[tuple[str, str]]:
    """Each flaw in the plain design and in one more, another for each flaw as far as there are."""
    for at, flaw in enumerate(FLAWS):
        names = [name for of, name in pairs() if of == flaw]
        yield flaw, names[0]
        if len(names) > 1:
            yield flaw, names[1 + at % (len(names) - 1)]


FLAWED: dict[str, Maker] = {f"{flaw}, {name}": partial(made, flaw, name) for flaw, name in _spread()}
