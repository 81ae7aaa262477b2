"""Rules about the file as a whole."""

from __future__ import annotations

from collections.abc import Iterator

from worker.judge.case import Case, Draft
from worker.judge.registry import rule


@rule("damaged-file")
def damaged_file(case: Case) -> Iterator[Draft]:
    document = case.measurements.document
    if document.unreadable and document.unreadable.reason == "damaged":
        yield Draft(form="unreadable", facts={"reason": document.unreadable.detail})
    elif document.repaired:
        yield Draft(form="repaired", facts={"reason": "; ".join(document.repairs[:2])})


@rule("encrypted")
def encrypted(case: Case) -> Iterator[Draft]:
    document = case.measurements.document
    if document.unreadable and document.unreadable.reason == "password":
        yield Draft(form="password")
    elif document.encrypted and case.profile.interior.file.encryption is not True:
        yield Draft(form="open")
