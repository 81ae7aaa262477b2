"""Rules about links and other annotations."""

from __future__ import annotations

from collections.abc import Iterator

from worker.judge.case import MOST_MARKS, Case, Draft, mark
from worker.judge.models import Measured, Required
from worker.judge.registry import rule


@rule("link-annotation")
def link_annotation(case: Case) -> Iterator[Draft]:
    links = case.measurements.links
    if case.profile.interior.links.allowed is False and links:
        yield Draft(
            pages=sorted({link.page for link in links}),
            measured=Measured(value=len(links), unit="count"),
            required=Required(value=0, unit="count", relation="at-most"),
            facts={"is_": len(links)},
            marks=[mark(link.page, link.box, "link") for link in links[:MOST_MARKS]],
        )


@rule("other-annotation")
def other_annotation(case: Case) -> Iterator[Draft]:
    notes = case.measurements.annotations
    if case.profile.interior.links.allowed is False and notes:
        yield Draft(
            pages=sorted({note.page for note in notes}),
            measured=Measured(value=len(notes), unit="count"),
            required=Required(value=0, unit="count", relation="at-most"),
            facts={"is_": len(notes), "kinds": ", ".join(sorted({note.kind for note in notes}))},
            marks=[mark(note.page, note.box, note.kind) for note in notes[:MOST_MARKS]],
        )
