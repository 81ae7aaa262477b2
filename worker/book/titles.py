"""The words of a heading: the line that numbers a chapter, and its title. No language is asked for.

A number may be written out, and its word is any: ``Chapter Nine`` numbers a chapter because the other chapters of the
book begin with that word too.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from typing import NamedTuple

from worker.book.grid import style_of
from worker.book.numerals import number_in
from worker.book.wording import plain_letters, without_number
from worker.measure.models import Line

WIDE = 2.5
"""Ems from one line to the next: what stands lower is not of the same title."""
MOST_WORDS = 4
"""``Chapter Twenty and One``."""
LEAST_LETTERS = 4
"""Shorter words are articles, which many titles share."""
MOSTLY = 0.5
"""Of the openings: so many begin with the word for chapter; a preface and the like do not."""
LEAST_SHARED = 3

Part = Sequence[Line]


class Title(NamedTuple):
    """``number`` is the line above a title that numbers it, None where there is none; ``lines`` are those of both."""

    text: str
    number: str | None
    lines: Part


def parts_of(heading: Sequence[Line]) -> list[Part]:
    """The lines of a heading, those together that are set alike and close."""
    parts: list[list[Line]] = []
    for line in heading:
        if parts and _goes_on(parts[-1][-1], line):
            parts[-1].append(line)
        else:
            parts.append([line])
    return list(parts)


def labels_of(headings: Iterable[Sequence[Part]]) -> frozenset[str]:
    """The words that number chapters: most headings begin with a short line that has them, above another."""
    first = [_words(_text(parts[0])) for parts in headings if len(parts) > 1]
    shared = Counter(word for words in first if len(words) <= MOST_WORDS for word in set(words))
    least = max(LEAST_SHARED, MOSTLY * len(first))
    return frozenset(
        word for word, count in shared.items() if count >= least and word.isalpha() and len(word) >= LEAST_LETTERS
    )


def title_of(parts: Sequence[Part], labels: frozenset[str], least_size: float, listed: Collection[str] = ()) -> Title:
    """The title among the parts of a heading: the one that the contents or the outline has (``listed``: its
    spellings), or else the first that is no number, of the large ones where there are any (``least_size``, points).
    What follows, as the first section's heading, is not of it."""
    known = next((at for at, part in enumerate(parts) if _is_listed(part, listed)), None)
    if known is not None and sum(len(_words(_text(part))) for part in parts[:known]) <= MOST_WORDS:
        return _titled(parts[:known], parts[known])
    numbers = _numbering(parts, labels)
    rest = parts[len(numbers) :]
    large = [part for part in (*rest, *numbers) if part[0].size >= least_size]
    chosen = (large or rest or numbers)[0]
    if any(chosen is part for part in numbers):
        text = " ".join(map(_text, numbers))
        return Title(text, text, [line for part in numbers for line in part])
    return _titled(numbers, chosen)


def _titled(numbers: Sequence[Part], title: Part) -> Title:
    number = " ".join(map(_text, numbers)) or None
    return Title(_text(title), number, [line for part in (*numbers, title) for line in part])


def spellings(text: str) -> set[str]:
    """The letters of a heading with its number and without it: ``tide(1) manual`` begins with none."""
    return {plain_letters(text), plain_letters(without_number(text))} - {""}


def _is_listed(part: Part, listed: Collection[str]) -> bool:
    return not spellings(_text(part)).isdisjoint(listed)


def _numbering(parts: Sequence[Part], labels: frozenset[str]) -> Sequence[Part]:
    """The parts that number a chapter: a line, or a word and the number below it."""
    if _numbers(_text(parts[0]), labels):
        return parts[:1]
    below = _words(_text(parts[1])) if len(parts) > 2 else ()
    return parts[:2] if below and len(below) < MOST_WORDS and labels.issuperset(_words(_text(parts[0]))) else ()


def _numbers(text: str, labels: frozenset[str]) -> bool:
    """Whether a line says no more than a number, or one and a word (``Chapter 3``, ``3. fejezet``, ``Part Two``)."""
    words = _words(text)
    if len(words) <= 1:
        return bool(words) and number_in(text.strip(" .:")) is not None
    is_labelled = not labels.isdisjoint((words[0], words[-1]))
    return (len(words) == 2 and number_in(text.rsplit(maxsplit=1)[-1].strip(".:")) is not None) or (
        is_labelled and len(words) <= MOST_WORDS
    )


def _goes_on(above: Line, line: Line) -> bool:
    return style_of(above) == style_of(line) and above.baseline - line.baseline <= WIDE * line.size


def _text(part: Part) -> str:
    return " ".join(line.text for line in part)


def _words(text: str) -> tuple[str, ...]:
    return tuple(stripped for word in text.casefold().split() if (stripped := word.strip(".:,–—-")))
