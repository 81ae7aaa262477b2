"""The pages in their order (ISO 32000-1 7.7.3), with what each inherits, before any library mends the tree."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pikepdf

from worker.measure.pdfobjects import array, dictionary, get, identity

INHERITED = ("/Resources", "/MediaBox", "/CropBox", "/Rotate")
_DEPTH = 200


def pages_with_inheritance(pdf: pikepdf.Pdf) -> Iterator[tuple[Any, dict[str, Any]]]:
    """Yield ``(page, inherited)``; a node met twice on the way down, or too deep, is passed over."""
    root = get(pdf.Root, "/Pages")
    pending: list[tuple[Any, dict[str, Any], frozenset[tuple[int, int]]]] = [(root, {}, frozenset())]
    while pending:
        node, inherited, above = pending.pop()
        if dictionary(node) is None or identity(node) in above or len(above) > _DEPTH:
            continue
        kids = get(node, "/Kids")
        if not isinstance(kids, pikepdf.Array):
            yield node, inherited
            continue
        handed_down = inherited | {key: value for key in INHERITED if (value := node.get(key)) is not None}
        below = above | {identity(node)}
        pending.extend((kid, handed_down, below) for kid in reversed(array(kids)))
