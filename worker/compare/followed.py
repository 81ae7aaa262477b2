"""Pages of one setting of a book followed into another, by the samples of words that their traces share.

Pages count from 1. A page that shares enough goes where most of its samples went, wherever that is: chapters may have
changed places. One that shares little goes there only if that lies between the pages around it. Pages without words,
and those whose words are all new, take the places that are left between their neighbours.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from worker.book.traces import FEWEST, samples

MOST_REPEATS = 8
"""Words that come on more pages than so many are running heads and the like, and tell no page from another."""

FIRM = 2
"""Samples shared that tell where a page went without a look at its neighbours."""

STRONG = 4
"""Samples shared that speak for a place wherever it is."""

WIDEST = 6
"""Pages that may lie between the places of two neighbours for each page between them, where all are looked through."""

ALSO = 8
"""A page went to others too where at least every eighth sample of those shared did: its text runs over."""


@dataclass(frozen=True)
class Followed:
    """``main`` is where most of an old page went, for those that went anywhere; ``all`` has each of its new pages.

    ``known`` counts the old pages that were found by their words, ``worded`` those that have any.
    """

    main: Mapping[int, int]
    all: Mapping[int, frozenset[int]]
    known: int
    worded: int

    @cached_property
    def sources(self) -> dict[int, set[int]]:
        """The old pages that each new page is made from."""
        found: dict[int, set[int]] = defaultdict(set)
        for old, news in self.all.items():
            for new in news:
                found[new].add(old)
        return found

    @property
    def runs(self) -> tuple[tuple[int, int, int], ...]:
        """``main`` in short: old pages from first to last that went, one by one, to new pages from the third on."""
        found: list[tuple[int, int, int]] = []
        for old, new in sorted(self.main.items()):
            if found and found[-1][1] == old - 1 and new - old == found[-1][2] - found[-1][0]:
                found[-1] = (found[-1][0], old, found[-1][2])
            else:
                found.append((old, old, new))
        return tuple(found)


def follow(old: Sequence[str], new: Sequence[str]) -> Followed:
    """Follow the pages of one file into another, by the traces of both."""
    votes = _votes(old, new)
    main = _by_words(votes, old)
    _drop_strays(main, votes, len(old), len(new))
    _between_neighbours(votes, main, old, new)
    known = len(main)
    _left_over(main, {page for shared in votes.values() for page in shared}, old, new)
    _running_on(main, votes, old)
    return Followed(
        main=main,
        all={page: _all(place, votes.get(page, Counter())) for page, place in main.items()},
        known=known,
        worded=sum(map(bool, old)),
    )


def unmoved(pages: int) -> Followed:
    """The pages of a file followed into the same file."""
    every = range(1, pages + 1)
    return Followed({page: page for page in every}, {page: frozenset({page}) for page in every}, pages, pages)


def _votes(old: Sequence[str], new: Sequence[str]) -> dict[int, Counter[int]]:
    """For each old page, how many samples it shares with which new pages.

    Words that come several times are paired in their order, if they come as often in both files.
    """
    old_pages, new_pages = _pages_of(old), _pages_of(new)
    votes: dict[int, Counter[int]] = defaultdict(Counter)
    for sample, froms in old_pages.items():
        places = new_pages.get(sample, ())
        if len(froms) == len(places) <= MOST_REPEATS:
            for page, place in zip(froms, places, strict=True):
                votes[page][place] += 1
    return dict(votes)


def _pages_of(traces: Sequence[str]) -> dict[str, list[int]]:
    pages: dict[str, list[int]] = defaultdict(list)
    for page, trace in enumerate(traces, start=1):
        for sample in dict.fromkeys(samples(trace)):
            pages[sample].append(page)
    return pages


def _by_words(votes: Mapping[int, Counter[int]], old: Sequence[str]) -> dict[int, int]:
    """The pages that share enough to be sure."""
    placed = ((page, _most(shared)) for page, shared in votes.items())
    return {page: place for page, (place, count) in placed if _sure(count, old[page - 1])}


def _sure(count: int, trace: str) -> bool:
    """Whether so many samples shared tell where a page went: some, or most of the few that it has."""
    return count >= FIRM or 2 * count > len(samples(trace))


def _drop_strays(main: dict[int, int], votes: Mapping[int, Counter[int]], old: int, new: int) -> None:
    """Drop the places that a few words alone speak for, out of the order that the pages around keep."""
    placed = [(0, 0), *sorted(main.items()), (old + 1, new + 1)]
    for before, (page, place), after in zip(placed, placed[1:], placed[2:], strict=False):
        in_order = before[1] <= place <= after[1]
        if not in_order and before[1] <= after[1] and votes[page][place] < STRONG:
            del main[page]


def _most(shared: Counter[int]) -> tuple[int, int]:
    """The place that most samples went to, the first of several, and how many did."""
    return max(shared.items(), key=lambda each: (each[1], -each[0]))


def _between_neighbours(
    votes: dict[int, Counter[int]], main: dict[int, int], old: Sequence[str], new: Sequence[str]
) -> None:
    """Place the pages that share little, where it agrees with the pages placed before and after them.

    Words that come many times in the book are few there, and tell too.
    """
    for first, before, after in _gaps(main, len(old), len(new)):
        places = range(max(1, before[1]), min(len(new), after[1]) + 1)
        nearby = _nearby(places, new) if len(places) <= (after[0] - first + 1) * WIDEST else {}
        for page in range(first, after[0]):
            fitting = Counter({at: n for at, n in votes.get(page, {}).items() if at in places})
            shared = Counter(at for sample in set(samples(old[page - 1])) for at in nearby.get(sample, ()))
            if shared and _sure(_most(shared)[1], old[page - 1]):
                fitting = votes[page] = shared
            if fitting:
                main[page] = _most(fitting)[0]


def _nearby(places: range, new: Sequence[str]) -> dict[str, list[int]]:
    """On which of these new pages each sample is, of those that are on one or two."""
    found: dict[str, list[int]] = defaultdict(list)
    for place in places:
        for sample in set(samples(new[place - 1])):
            found[sample].append(place)
    return {sample: at for sample, at in found.items() if len(at) <= 2}


def _left_over(main: dict[int, int], shared: set[int], old: Sequence[str], new: Sequence[str]) -> None:
    """Pair the pages between two that are placed with those between their places: from the end, then from the start.

    From the end first, because a blank belongs to the opening after it. Pages whose words are all new are paired only
    where there are as many as before: they were written anew. ``shared`` are new pages with words of old ones.
    """
    taken = shared.union(main.values())
    for first, before, after in _gaps(main, len(old), len(new)):
        olds = list(range(first, after[0]))
        news = [place for place in range(before[1] + 1, after[1]) if place not in taken]
        rewritten = len(olds) == len(news)
        while olds and news and _alike(old[olds[-1] - 1], new[news[-1] - 1], rewritten):
            main[olds.pop()] = news.pop()
        for page, place in zip(olds, news, strict=False):
            if not _alike(old[page - 1], new[place - 1], rewritten):
                break
            main[page] = place


def _running_on(main: dict[int, int], votes: Mapping[int, Counter[int]], old: Sequence[str]) -> None:
    """Place the few lines of a page that has no place yet where the text of the page before it now ends.

    Only where that has run over to a further page: otherwise those lines may as well have been taken out.
    """
    for page, trace in enumerate(old, start=1):
        before = main.get(page - 1)
        if page in main or before is None or not 0 < len(samples(trace)) <= FEWEST:
            continue
        after = main.get(page + 1, before + 2)
        beyond = [place for place in votes.get(page - 1, {}) if before < place <= after]
        if beyond:
            main[page] = max(beyond)


def _alike(old: str, new: str, rewritten: bool) -> bool:
    """Whether neither page has words, or both have, which may be other words."""
    return rewritten if old and new else not (old or new)


def _gaps(main: Mapping[int, int], old: int, new: int) -> list[tuple[int, tuple[int, int], tuple[int, int]]]:
    """The runs of old pages that are not placed: the first of each, and the placed pages before and after it.

    A placed page is its old number and its new one; the ends of the book are placed too.
    """
    placed = [(0, 0), *sorted(main.items()), (old + 1, new + 1)]
    return [(before[0] + 1, before, after) for before, after in pairwise(placed) if after[0] - before[0] > 1]


def _all(place: int, shared: Counter[int]) -> frozenset[int]:
    count = sum(shared.values())
    return frozenset({place, *(page for page, each in shared.items() if each >= FIRM and each * ALSO >= count)})
