"""Rules about the file as a whole."""

from __future__ import annotations

from collections.abc import Iterator

from worker.book.wording import plain_letters
from worker.judge.case import Case, Draft, some_of
from worker.judge.models import Measured, Required
from worker.judge.registry import rule
from worker.measure.models import Document
from worker.units import show_size
from worker.words import counted, semicolon, told

MOST_REPAIRS = 2


@rule("damaged-file")
def damaged_file(case: Case) -> Iterator[Draft]:
    document = case.measurements.document
    if document.unreadable and document.unreadable.reason == "damaged":
        yield Draft(form="unreadable", facts={"reason": document.unreadable.detail})
    elif not document.unreadable and not case.pages:
        yield Draft(form="unreadable", facts={"reason": told("phrases.damaged-file.no-pages")})
    elif document.repaired:
        yield Draft(form="repaired", facts={"reason": _repairs(document)})


def _repairs(document: Document) -> str:
    return semicolon(document.repairs[:MOST_REPAIRS]) or told("phrases.damaged-file.mended")


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


@rule("pdf-version")
def pdf_version(case: Case) -> Iterator[Draft]:
    asked, is_ = case.interior.file.pdf_versions, case.measurements.document.pdf_version
    if asked is None or is_ is None or not is_.replace(".", "", 1).isdecimal():
        return
    least, most = asked
    form = "early" if _version(is_) < _version(least) else "late" if _version(is_) > _version(most) else None
    if form:
        taken = told(
            f"phrases.pdf-version.{'alone' if least == most else 'range'}", version=most, least=least, most=most
        )
        yield Draft(form=form, cause=form, facts={"is_": is_, "least": least, "most": most, "taken": taken})


def _version(written: str) -> tuple[int, ...]:
    return tuple(int(part) for part in written.split(".") if part)


@rule("layers")
def layers(case: Case) -> Iterator[Draft]:
    names = list(dict.fromkeys(case.measurements.document.layers))
    if names:
        count = len(case.measurements.document.layers)
        yield Draft(
            measured=Measured(value=count, unit="count"),
            required=Required(value=0, unit="count", relation="at-most"),
            facts={"is_": counted("phrases.layers", count), "names": some_of(names)},
        )


@rule("document-title")
def document_title(case: Case) -> Iterator[Draft]:
    """One that says the title page's and more, or a part of it, is near enough: a subtitle or an author may be too."""
    title, printed = case.measurements.document.title, case.book.title if case.book else None
    if title is None:
        yield Draft(form="none", cause="none")
    elif printed and not _is_said(plain_letters(title), plain_letters(printed)):
        yield Draft(form="other", cause="other", facts={"is_": title, "printed": printed})


def title_not_compared(case: Case) -> Iterator[str]:
    """What of the rule about the title is left where no title page was found."""
    if case.book is None or case.book.title is None:
        yield told("untried.no-title-page")


def _is_said(title: str, printed: str) -> bool:
    return not printed or (bool(title) and (title in printed or printed in title))
