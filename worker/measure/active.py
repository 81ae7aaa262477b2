"""What acts by itself in a file: scripts, actions other than going to a page, sound and film (ISO 32000-1 12.6, 13)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

import pikepdf

from worker.measure.geometry import Box
from worker.measure.models import ActiveContent, Place
from worker.measure.pdfobjects import array, dictionary, get, name

MEDIA = frozenset({"Screen", "Movie", "Sound", "RichMedia", "3D"})
"""Annotations that play or show what paper cannot (12.5.6.16 to 12.5.6.18, 13.6; RichMedia: ISO 32000-2 13.7)."""
ATTACHED = "FileAttachment"
_GOING = frozenset({"GoTo", "GoToR", "GoToE", "GoToDp", "Thread"})
_TURNING = frozenset({"NextPage", "PrevPage", "FirstPage", "LastPage"})
_ACTIONS = frozenset(
    {"URI", "Launch", "Sound", "Movie", "Hide", "Named", "SubmitForm", "ResetForm", "ImportData", "JavaScript",
     "SetOCGState", "Rendition", "Trans", "GoTo3DView", "RichMediaExecute"}
)  # fmt: skip
_MOST_CHAINED = 64
_MOST_BOOKMARKS = 100_000
_MOST_PLACES = 12


class Acting(NamedTuple):
    """One thing that acts: the standard's name for it, and where; page 0 is the file as a whole."""

    what: str
    page: int = 0
    box: Box | None = None


def actions(action: Any, *, on_link: bool = False) -> Iterator[str]:
    """The names of an action and of those chained to it (12.6.2), without those that go to a page.

    ``on_link`` leaves out web addresses too: a link is counted as one.
    """
    pending = [action]
    for _ in range(_MOST_CHAINED):  # a chain may loop
        action = pending.pop() if pending else None
        own = name(get(action, "/S"))
        if own is None:
            return
        following = get(action, "/Next")
        if following is not None:
            pending += array(following) or [following]
        if _acts(own, action) and not (on_link and own == "URI"):
            yield own if own in _ACTIONS else "other"


def _acts(own: str, action: Any) -> bool:
    return own not in _GOING and not (own == "Named" and name(get(action, "/N")) in _TURNING)


def on_page(page: Any, number: int) -> list[Acting]:
    """What a page does when it is opened or closed."""
    return [Acting(what, number) for what in dict.fromkeys(triggered(page))]


def on_annotation(annotation: Any, kind: str | None, number: int, box: Box | None) -> list[Acting]:
    """What an annotation does; an address that a link leads to is told with the links."""
    found = [kind] if kind in MEDIA or kind == ATTACHED else []
    found += [*actions(get(annotation, "/A"), on_link=kind == "Link"), *triggered(annotation)]
    return [Acting(what, number, box) for what in dict.fromkeys(found)]


def triggered(holder: Any) -> Iterator[str]:
    """The names of the additional actions of a page, an annotation, a field or the catalogue (12.6.3)."""
    events = dictionary(get(holder, "/AA"))
    if events is not None:
        for event in events.keys():  # noqa: SIM118
            yield from actions(events[event])


def in_catalogue(catalogue: Any) -> Iterator[Acting]:
    """What acts in the file as a whole: on opening, by named scripts, from bookmarks, in forms."""
    opening = get(catalogue, "/OpenAction")
    names = get(catalogue, "/Names")
    found = [*actions(opening), *triggered(catalogue)]
    found += ["JavaScript"] if get(names, "/JavaScript") is not None else []
    found += ["Rendition"] if get(names, "/Renditions") is not None else []
    found += ["XFA"] if get(get(catalogue, "/AcroForm"), "/XFA") is not None else []
    for item in _bookmarks(get(catalogue, "/Outlines")):
        found += actions(item.get("/A"))
    return map(Acting, dict.fromkeys(found))


def _bookmarks(outlines: Any) -> Iterator[pikepdf.Dictionary]:
    """The items of the outline (12.3.3), in no order; loops are cut."""
    pending: list[Any] = [get(outlines, "/First")]
    seen: set[tuple[int, int]] = set()
    while pending and len(seen) < _MOST_BOOKMARKS:
        item = pending.pop()
        if not isinstance(item, pikepdf.Dictionary) or item.objgen in seen:
            continue
        seen.add(item.objgen)
        yield item
        pending += [item.get("/Next"), item.get("/First")]


def active_facts(acting: Iterable[Acting]) -> tuple[ActiveContent, ...]:
    """One entry for each kind of thing, in the order of their names."""
    kinds: dict[str, list[Acting]] = {}
    for each in acting:
        kinds.setdefault(each.what, []).append(each)
    return tuple(
        ActiveContent(
            what=what,
            pages=tuple(sorted({each.page for each in found} - {0})),
            places=tuple(Place(page=each.page, box=each.box) for each in found if each.box is not None)[:_MOST_PLACES],
        )
        for what, found in sorted(kinds.items())
    )
