"""The rule about what a file does by itself: a print file only shows its pages."""

from __future__ import annotations

from collections.abc import Iterator

from worker.judge.case import Case, Draft, mark, on_pages
from worker.judge.registry import rule
from worker.measure.models import ActiveContent, Place
from worker.words import comma, semicolon, told

_GROUPS: dict[str, frozenset[str]] = {
    "script": frozenset({"JavaScript"}),
    "program": frozenset({"Launch"}),
    "media": frozenset(
        {"Screen", "Movie", "Sound", "RichMedia", "3D", "Rendition", "GoTo3DView", "RichMediaExecute"}
    ),
    "files": frozenset({"FileAttachment"}),
    "form": frozenset({"SubmitForm", "ResetForm", "ImportData", "XFA"}),
    "address": frozenset({"URI"}),
    "switch": frozenset({"SetOCGState", "Hide"}),
    "command": frozenset({"Named", "Trans", "other"}),
}  # fmt: skip
"""What acts, by what it means to the person who made the book (ISO 32000-1 Table 198 and 12.5.6)."""
ACTING_ANNOTATIONS = frozenset({"Screen", "Movie", "Sound", "RichMedia", "3D", "FileAttachment"})
"""Annotations that this rule speaks of."""


@rule("active-content")
def active_content(case: Case) -> Iterator[Draft]:
    """One finding that names all that was found: one export without any of it mends the file."""
    document = case.measurements.document
    counts = {"files": document.embedded_files, "form": document.form_fields}
    found = {group: [each for each in document.active if each.what in whats] for group, whats in _GROUPS.items()}
    named = [group for group in _GROUPS if found[group] or counts.get(group)]
    if not named:
        return
    places: list[tuple[Place, str]] = [
        (place, told(f"marks.active-content.{group}"))
        for group in named
        for each in found[group]
        for place in each.places
    ]
    yield Draft(
        pages=[page for group in named for each in found[group] for page in each.pages],
        facts={
            "found": semicolon(_told(group, found[group], counts.get(group, 0)) for group in named),
            "without": comma(told(f"phrases.active-content.without.{group}") for group in named),
        },
        marks=(mark(place.page, place.box, text) for place, text in places),
    )


def _told(group: str, found: list[ActiveContent], count: int) -> str:
    """What was found, how many where that is counted, and on which pages where that is known."""
    pages = {page for each in found for page in each.pages}
    what = told(f"phrases.active-content.found.{group}")
    in_all = told("phrases.active-content.in-all", count=count) if count > 1 else ""
    notes = comma(filter(None, (in_all, on_pages(pages) if pages else "")))
    return told("phrases.active-content.noted", found=what, notes=notes) if notes else what
