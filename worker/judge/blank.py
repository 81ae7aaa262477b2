"""Rules about blank pages."""

from __future__ import annotations

from collections.abc import Iterator

from worker.judge.case import Case, Draft
from worker.judge.models import Measured, Required
from worker.judge.registry import rule
from worker.units import runs


@rule("blank-run")
def blank_run(case: Case) -> Iterator[Draft]:
    asked = case.profile.interior.blanks.longest_run
    if asked is None:
        return
    last = len(case.pages)
    inside = [run for run in runs(_blanks(case)) if run[0] > 1 and run[1] < last]
    long = [(first, end) for first, end in inside if end - first + 1 > asked]
    if long:
        longest = max(end - first + 1 for first, end in long)
        yield Draft(
            pages=[page for first, end in long for page in range(first, end + 1)],
            measured=Measured(value=longest, unit="pages"),
            required=Required(value=asked, unit="pages", relation="at-most"),
            facts={"is_": longest, "asked": asked},
        )


@rule("blank-first")
def blank_first(case: Case) -> Iterator[Draft]:
    if case.profile.interior.blanks.first is False and case.pages and case.pages[0].blank:
        yield Draft(pages=[1])


@rule("blank-end")
def blank_end(case: Case) -> Iterator[Draft]:
    asked = case.profile.interior.blanks.end
    closing = runs(_blanks(case))[-1:]
    if asked is None or not closing or closing[0][1] != len(case.pages):
        return
    first, last = closing[0]
    if last - first + 1 > asked:
        yield Draft(
            pages=list(range(first + asked, last + 1)),
            measured=Measured(value=last - first + 1, unit="pages"),
            required=Required(value=asked, unit="pages", relation="at-most"),
            facts={"is_": last - first + 1, "asked": asked},
        )


def _blanks(case: Case) -> list[int]:
    return [page.page for page in case.pages if page.blank]
