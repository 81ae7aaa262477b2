"""Which pages are shown as plates: the worst of each finding, as many as a report can carry."""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence

from worker.judge.models import Finding

MOST_FINDINGS = 60
"""Findings that have plates."""
MOST_OF_A_FINDING = 3
MOST_PLATES = 90
"""Plates of a whole report. One that is drawn from the measurements takes 3 kB or so."""
MOST_PICTURED = 40
"""Pages that are rendered for one report: more would take seconds, and pass what the report has room for."""


def worst_pages(findings: Sequence[Finding], there: Container[int]) -> list[tuple[int, ...]]:
    """For each finding the pages of its plates, worst first; only pages that are ``there``, none where it has no mark.

    Every finding has its first plate before any has its second.
    """
    wanted = [_marked(finding, there) for finding in findings[:MOST_FINDINGS]]
    shown: list[list[int]] = [[] for _ in findings]
    left = MOST_PLATES
    for finding, page in _in_turn(wanted):
        if left:
            shown[finding].append(page)
            left -= 1
    return [tuple(pages) for pages in shown]


def pages_to_picture(findings: Sequence[Finding], there: Container[int]) -> list[int]:
    """The pages that are worth a picture, each once: the first plates of all findings before the second ones."""
    shown = worst_pages(findings, there)
    return list(dict.fromkeys(page for _, page in _in_turn(shown)))[:MOST_PICTURED]


def _marked(finding: Finding, there: Container[int]) -> tuple[int, ...]:
    pages = dict.fromkeys(mark.page for mark in finding.marks if mark.page in there)
    return tuple(pages)[:MOST_OF_A_FINDING]


def _in_turn(wanted: Sequence[Sequence[int]]) -> Iterator[tuple[int, int]]:
    """The first page of each finding, then the second of each, and so on; with the finding's place."""
    for turn in range(MOST_OF_A_FINDING):
        for finding, pages in enumerate(wanted):
            if turn < len(pages):
                yield finding, pages[turn]
