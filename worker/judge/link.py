"""Rules about links and other annotations."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from worker.judge.active import ACTING_ANNOTATIONS
from worker.judge.case import Case, Draft, mark, on_pages
from worker.judge.models import Measured, Required
from worker.judge.registry import rule
from worker.words import comma, counted, told

OF_THE_TRADE = {"TrapNet", "PrinterMark"}
"""Annotations that are made for the printer (ISO 32000-1 14.11.3 and 14.11.6)."""

_ACTING = ("launch", "javascript")


@rule("link-annotation")
def link_annotation(case: Case) -> Iterator[Draft]:
    """Of links that run a script or start a program ``active-content`` speaks."""
    apart = () if case.profile.weights.get("active-content") == "off" else _ACTING
    links = [link for link in case.measurements.links if link.kind not in apart]
    if case.interior.links.allowed is not False or not links:
        return
    pages = sorted({link.page for link in links})
    kinds = Counter(link.kind for link in links)
    yield Draft(
        pages=pages,
        measured=Measured(value=len(links), unit="count"),
        required=Required(value=0, unit="count", relation="at-most"),
        facts={
            "is_": counted("phrases.links", len(links)),
            "kinds": _of_kinds({told(f"phrases.link-annotation.{kind}"): count for kind, count in kinds.most_common()}),
            "pages": on_pages(pages),
        },
        marks=(mark(link.page, link.box, told("marks.link")) for link in links),
    )


@rule("other-annotation")
def other_annotation(case: Case) -> Iterator[Draft]:
    """Comments and the like have no place in any print file, whatever a printer says of links.

    Of those that act (films, attachments) ``active-content`` speaks.
    """
    apart = OF_THE_TRADE if case.profile.weights.get("active-content") == "off" else OF_THE_TRADE | ACTING_ANNOTATIONS
    notes = [note for note in case.measurements.annotations if note.kind not in apart]
    if not notes:
        return
    pages = sorted({note.page for note in notes})
    kinds = Counter(note.kind for note in notes)
    yield Draft(
        pages=pages,
        measured=Measured(value=len(notes), unit="count"),
        required=Required(value=0, unit="count", relation="at-most"),
        facts={
            "is_": counted("phrases.annotations", len(notes)),
            "kinds": _of_kinds(dict(kinds.most_common())),
            "pages": on_pages(pages),
        },
        marks=(mark(note.page, note.box, note.kind) for note in notes),
    )


def _of_kinds(kinds: Mapping[str, int]) -> str:
    return comma(counted("phrases.of-a-kind", count, kind=kind) for kind, count in kinds.items())
