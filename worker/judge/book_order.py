"""The rule about the order of the front matter.

Half title, title page, imprint, dedication, contents: Chicago 1.4 and New Hart's Rules 1.2.1 (both read second-hand)
agree on that much. They differ on where foreword and preface stand, so nothing is said of these.
"""

from __future__ import annotations

from collections.abc import Iterator

from worker.book.models import BookPage, PageKind
from worker.judge.book_facts import built, whole
from worker.judge.case import Case, Draft, mark
from worker.judge.registry import rule
from worker.words import told

ORDER: tuple[PageKind, ...] = ("half-title", "title", "imprint", "dedication", "contents")


@rule("front-matter-order")
def front_matter_order(case: Case) -> Iterator[Draft]:
    """The first page of each, in the order of the file: one that stands before what it should follow is named."""
    book = built(case)
    if not book:
        return
    first: dict[PageKind, BookPage] = {}
    for page in book.pages:
        if page.part == "front" and page.kind in ORDER:
            first.setdefault(page.kind, page)
    found = sorted(first, key=lambda kind: first[kind].page)
    for at, kind in enumerate(found):
        behind = [other for other in found[at + 1 :] if ORDER.index(other) < ORDER.index(kind)]
        if behind:
            page, other = first[kind], behind[-1]
            yield Draft(
                pages=[page.page],
                facts={
                    "what": _named(kind).capitalize(),
                    "page": page.page,
                    "other": _named(other),
                    "there": first[other].page,
                },
                marks=[mark(page.page, whole(page, case), told("marks.stands-before", other=_named(other)))],
            )
            return


def _named(kind: PageKind) -> str:
    return told(f"phrases.front-matter-order.{kind}")
