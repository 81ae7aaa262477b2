"""The paragraphs that the sample books are filled with (``prose.txt``): invented, like all of Tern Island.

``chapters`` shuffles them and fills in names by a seed, so that the same seed always sets the same book.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

PEOPLE = ("Ottoline", "Isbel", "Sefa", "Marrin", "old Tamsel", "Wenna", "Jorrie Pell", "the schoolmistress", "Morwen")
BOATS = ("the Patient Anne", "the Second Thought", "the Curlew", "the Merganser", "the Long Promise")
MONTHS = ("February", "March", "May", "late August", "September", "October", "November")
WINDS = ("north", "north-east", "south-west", "west")
COUNTS = ("three", "four", "seven", "nine", "eleven", "a dozen")
PLACES = ("the slip", "the net loft", "the post office", "the chapel steps", "the upper field", "the coal store")

_BANK = tuple(
    " ".join(paragraph.split())
    for paragraph in (Path(__file__).with_name("prose.txt").read_text("utf-8").split("\n\n"))
)


def _capital(text: str) -> str:
    """``text`` with its first letter made a capital (a name such as ``the schoolmistress`` may open it)."""
    return text[0].upper() + text[1:]


def _filled(paragraph: str, draw: random.Random) -> str:
    """The paragraph with its names, boats, months, winds, numbers and places drawn."""
    text = paragraph.format(
        person=draw.choice(PEOPLE),
        boat=draw.choice(BOATS),
        month=draw.choice(MONTHS),
        wind=draw.choice(WINDS),
        count=draw.choice(COUNTS),
        place=draw.choice(PLACES),
    )
    return ". ".join(_capital(sentence) for sentence in text.split(". "))


def paragraphs(seed: int) -> Iterator[str]:
    """An endless run of paragraphs; none comes again before all the others have been used."""
    draw = random.Random(seed)  # noqa: S311 - a seed is wanted here, not a secret
    order = list(_BANK)
    while True:
        draw.shuffle(order)
        for paragraph in order:
            yield _filled(paragraph, draw)


def chapters(count: int, *, words: int, seed: int) -> list[list[str]]:
    """``count`` chapters of whole paragraphs, each of about ``words`` words, the same for the same ``seed``."""
    supply = paragraphs(seed)
    book = []
    for _ in range(count):
        chapter: list[str] = []
        while sum(len(paragraph.split()) for paragraph in chapter) < words:
            chapter.append(next(supply))
        book.append(chapter)
    return book
