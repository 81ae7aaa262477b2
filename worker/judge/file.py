"""Rules about the file as a whole."""

from __future__ import annotations

from collections.abc import Iterator

from worker.judge.case import Case, Draft
from worker.judge.models import Measured, Required
from worker.judge.registry import rule
from worker.units import show_size

MOST_REPAIRS = 2


@rule("damaged-file")
def damaged_file(case: Case) -> Iterator[Draft]:
    document = case.measurements.document
    if document.unreadable and document.unreadable.reason == "damaged":
        yield Draft(form="unreadable", facts={"reason": document.unreadable.detail})
    elif not document.unreadable and not case.pages:
        yield Draft(form="unreadable", facts={"reason": "it has no pages"})
    elif document.repaired:
        yield Draft(form="repaired", facts={"reason": "; ".join(document.repairs[:MOST_REPAIRS]) or "it was mended"})


@rule("encrypted")
def encrypted(case: Case) -> Iterator[Draft]:
    """A password is always in the way; encryption that opens without one is, where the printer does not take it."""
    document = case.measurements.document
    if document.unreadable and document.unreadable.reason == "password":
        yield Draft(form="password")
    elif document.encrypted and case.interior.file.encryption is False:
        yield Draft(form="open")


@rule("file-size")
def file_size(case: Case) -> Iterator[Draft]:
    most, is_ = case.interior.file.most_bytes, case.measurements.file.bytes
    if most is not None and is_ > most:
        yield Draft(
            measured=Measured(value=is_, unit="bytes"),
            required=Required(value=most, unit="bytes", relation="at-most"),
            facts={"is_": show_size(is_), "asked": show_size(most)},
        )
