"""The pages in their order (ISO 32000-1 7.7.3), with what each inherits, before any library mends the tree."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest
from typing import Any, NamedTuple

import pikepdf

from worker.measure.pdfobjects import array, dictionary, get, identity

INHERITED = ("/Resources", "/MediaBox", "/CropBox", "/Rotate")
_SIZE = ("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox", "/Rotate", "/UserUnit")
_DEPTH = 200


class PageNode(NamedTuple):
    """A page's dictionary and what the tree above hands down to it.

    A page is ``lost`` where the tree names one and there is no dictionary: it keeps its number, so that the pages after
    it stay on their sides, and its size is taken to be that of the page before it (of the next, at the start).
    """

    page: pikepdf.Object
    inherited: dict[str, Any]
    lost: bool = False


def page_nodes(pdf: pikepdf.Pdf) -> list[PageNode]:
    """All pages. A node met twice on the way down, or too deep, is passed over; a lost branch counts as one page."""
    nodes = list(_leaves(get(pdf.Root, "/Pages")))
    size_of = next((node for node in nodes if not node.lost), None)
    for at, node in enumerate(nodes):
        if not node.lost:
            size_of = node
        elif size_of is not None:
            nodes[at] = _of_the_size_of(size_of)
    return nodes


def _leaves(root: Any) -> Iterator[PageNode]:
    pending: list[tuple[Any, dict[str, Any], frozenset[tuple[int, int]]]] = [(root, {}, frozenset())]
    while pending:
        node, inherited, above = pending.pop()
        if dictionary(node) is None:
            if above:
                yield PageNode(pikepdf.Dictionary(), inherited, lost=True)
            continue
        if identity(node) in above or len(above) > _DEPTH:
            continue
        kids = get(node, "/Kids")
        if not isinstance(kids, pikepdf.Array):
            yield PageNode(node, inherited)
            continue
        handed_down = inherited | {key: value for key in INHERITED if (value := node.get(key)) is not None}
        below = above | {identity(node)}
        pending.extend((kid, handed_down, below) for kid in reversed(_without_torn_references(kids)))


def _without_torn_references(kids: pikepdf.Array) -> list[Any]:
    """A reference of which a byte is damaged, ``7 0 X``, is read as two numbers and a null: the last stands for it."""
    members = array(kids)
    return [
        member
        for member, following in zip_longest(members, members[1:], fillvalue=pikepdf.Dictionary())
        if not isinstance(member, int) or dictionary(following) is not None
    ]


def _of_the_size_of(node: PageNode) -> PageNode:
    own = {key: value for key in _SIZE if (value := node.page.get(key)) is not None}
    return PageNode(pikepdf.Dictionary(own), node.inherited, lost=True)
