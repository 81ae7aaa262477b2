"""Rules about blank pages."""

from __future__ import annotations

from collections.abc import Iterator

from worker.book import Book
from worker.judge.case import Case, Draft, among, on_pages
from worker.judge.models import Measured, Required
from worker.judge.registry import rule
from worker.units import runs
from worker.words import counted, told

Run = tuple[int, int]


@rule("blank-run")
def blank_run(case: Case) -> Iterator[Draft]:
    """Inside the book: a run that closes it is `blank-end`'s, one that opens it `blank-first`'s where that is asked."""
    asked = case.interior.blanks.longest_run
    if asked is None:
        return
    first_asked = case.interior.blanks.first is False
    inside = [run for run in _runs(case) if run[1] < len(case.pages) and not (first_asked and run[0] == 1)]
    long = [run for run in inside if _length(run) > asked]
    yield from _unexpected(case, {page for first, last in long for page in range(first, last + 1)})
    if long:
        longest = max(long, key=_length)
        pages = [page for first, last in long for page in range(first, last + 1)]
        yield Draft(
            pages=pages,
            measured=Measured(value=_length(longest), unit="pages"),
            required=Required(value=asked, unit="pages", relation="at-most"),
            facts={
                "is_": counted("phrases.blank-pages", _length(longest)),
                "stand": counted("phrases.blank-run.stand", _length(longest)),
                "asked": _at_most(asked),
                "longest": on_pages(range(longest[0], longest[1] + 1)),
                "among": among("phrases.blank-run.among", len(long)),
                "pages": on_pages(pages),
            },
        )


def _unexpected(case: Case, told: set[int]) -> Iterator[Draft]:
    """Blanks that no opening asks for, in the body of the book: those of a long run are told as that. Where no opening
    could be read nothing is said."""
    pages = case.book.pages if case.book and case.book.openings else ()
    unexpected = [page.page for page in pages if page.expected is False and page.part != "front"]
    unexpected = [page for page in unexpected if _text_goes_on(case.book, page)] if case.book else []
    left = [page for page in unexpected if page not in told]
    if left:
        facts: dict[str, object] = {"pages": on_pages(left), "them": counted("phrases.blank-run.them", len(left))}
        yield Draft(pages=left, form="unexpected", cause="unexpected", facts=facts)


def _text_goes_on(book: Book, page: int) -> bool:
    """Whether what follows a blank is neither an opening nor headed like one, or follows two blanks."""
    following = next((each for each in book.pages[page:] if each.kind != "blank"), None)
    in_a_row = page >= 2 and "blank" in (book.pages[page - 2].kind, book.pages[min(page, len(book.pages) - 1)].kind)
    return in_a_row or (following is not None and following.kind == "text" and following.starts_with_text)


@rule("blank-first")
def blank_first(case: Case) -> Iterator[Draft]:
    """Lists every page of the run that opens the book: taking out page 1 alone would leave another blank one first."""
    opening = [run for run in _runs(case) if run[0] == 1]
    if case.interior.blanks.first is False and opening:
        pages = list(range(1, opening[0][1] + 1))
        if len(pages) == len(case.pages):
            yield _nothing_printed(case)
            return
        those = on_pages(pages)
        agreeing = {each: counted(f"phrases.blank-first.{each}", len(pages)) for each in ("have", "them")}
        yield Draft(pages=pages, facts={"pages": those.capitalize(), "those": those, **agreeing})


@rule("blank-end")
def blank_end(case: Case) -> Iterator[Draft]:
    """Lists the surplus. Blanks that fill the last sheet, where the printer asks for a multiple, are no surplus."""
    asked = case.interior.blanks.end
    closing = [run for run in _runs(case) if run[1] == len(case.pages)]
    if asked is None or not closing:
        return
    first, last = closing[0]
    if first == 1:
        if case.interior.blanks.first is not False:
            yield _nothing_printed(case)
        return
    filling = -(first - 1) % (case.page_count.multiple or 1)
    surplus = list(range(first + max(asked, filling), last + 1))
    if surplus:
        yield Draft(
            pages=surplus,
            measured=Measured(value=_length((first, last)), unit="pages"),
            required=Required(value=max(asked, filling), unit="pages", relation="at-most"),
            facts={
                "is_": counted("phrases.blank-pages", _length((first, last))),
                "asked": _at_most(max(asked, filling)),
                "pages": on_pages(surplus),
            },
        )


def _nothing_printed(case: Case) -> Draft:
    """A file of blank pages alone is one fault, told by the first rule that is asked of it."""
    return Draft(form="all", pages=[page.page for page in case.pages])


def _at_most(count: int) -> str:
    return counted("phrases.blanks-taken", count) if count else told("phrases.blanks-taken.none")


def _length(run: Run) -> int:
    return run[1] - run[0] + 1


def _runs(case: Case) -> list[Run]:
    return runs(page.page for page in case.pages if page.blank)
