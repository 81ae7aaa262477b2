"""The document outline (ISO 32000-1 12.3.3), which readers show as bookmarks: titles, and the pages they lead to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any

import pikepdf

from worker.measure.models import Bookmark
from worker.measure.pdfobjects import array, dictionary, get, identity, name, text, tree_leaves

MOST_BOOKMARKS = 20_000
_DEPTH = 24
_LONGEST_TITLE = 500


def bookmarks(catalogue: Any, pages: Mapping[tuple[int, int], int]) -> tuple[Bookmark, ...]:
    """The entries of the outline in their order, levels from 0; ``pages`` are the page objects' numbers, from 1."""
    return tuple(_entries(get(get(catalogue, "/Outlines"), "/First"), _Destinations(catalogue, pages)))


def _entries(first: Any, destinations: _Destinations) -> Iterator[Bookmark]:
    pending = [(first, 0)]
    seen: set[tuple[int, int]] = set()
    while pending and len(seen) < MOST_BOOKMARKS:
        entry, level = pending.pop()
        if dictionary(entry) is None or identity(entry) in seen or level > _DEPTH:
            continue
        seen.add(identity(entry))
        title = text(get(entry, "/Title"))
        if title:
            yield Bookmark(level=level, title=title[:_LONGEST_TITLE], page=destinations.page_of(entry))
        pending += [(get(entry, "/Next"), level), (get(entry, "/First"), level + 1)]


class _Destinations:
    """Where entries lead (12.3.2)."""

    def __init__(self, catalogue: Any, pages: Mapping[tuple[int, int], int]) -> None:
        self._catalogue = catalogue
        self._pages = pages

    def page_of(self, entry: Any) -> int | None:
        """The page that an entry of the outline leads to; None where it leads to none of this file."""
        destination = get(entry, "/Dest")
        action = get(entry, "/A")
        if destination is None and name(get(action, "/S")) == "GoTo":
            destination = get(action, "/D")
        if isinstance(destination, pikepdf.Name):
            destination = get(get(self._catalogue, "/Dests"), destination)
        elif isinstance(destination, pikepdf.String):
            destination = self._named.get(bytes(destination))
        if dictionary(destination) is not None:
            destination = get(destination, "/D")
        page = next(iter(array(destination)), None)
        return self._pages.get(identity(page)) if page is not None else None

    @cached_property
    def _named(self) -> dict[bytes, Any]:
        """The destinations that the name tree has (7.9.6)."""
        leaves = tree_leaves(get(get(self._catalogue, "/Names"), "/Dests"), "/Names")
        return {
            bytes(key): value for key, value in zip(leaves, leaves, strict=False) if isinstance(key, pikepdf.String)
        }
