"""The pages before the text: half title, title page, imprint, dedication, told by what they say and how they are set.

The order is that of the Chicago Manual of Style, 1.4, and New Hart's Rules, 1.2.1 (both read second-hand): half title,
title page, imprint on its verso, dedication, contents.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from worker.book.grid import LARGER, Setting
from worker.book.heads import Body
from worker.book.isbn import isbns_in
from worker.book.models import Imprint, PageKind
from worker.book.wording import plain_letters
from worker.measure.models import Line

MOST_ON_TITLE = 14
"""Lines of a title page, the publisher's among them."""
MOST_OF_FEW = 6
"""Lines of a half title, and of a dedication."""
NARROW = 0.8
"""Of the measure: a dedication has no line that is wider."""
SAME_SIZE = 0.05
ALIKE = 0.1
"""Sizes that differ by a smaller share are one, where a title page is told from a half title."""
APART = 3.0
"""Ems between two lines in the largest type that are not of one title."""
IN_FRONT = 8
"""Pages at the front of a book without other divisions that may be its front matter."""
AT_THE_END = 4
"""Pages at the end that may bear the imprint: some countries have it there."""
SUNK = 1.2
"""Leadings by which a dedication stands lower than text does."""
LOW = 0.25
"""Of the page's height: where pictures are above the text, this is low."""
_NOTICE = re.compile(r"©|\(c\)\s*\d{4}|^\W*copyright\b|\bcopyright\b.*\d{4}", re.IGNORECASE)
"""The sign, or the word where it is no other sentence's: at the start of a line, or before a year."""
_CIRCLED = re.compile("\ufffd\\s?c\\b")
"""A © that is drawn as a circle around a letter, as it comes out of the file."""
_EDITION = re.compile(
    r"\b(?:edition|impression|printing|first published|first printed|auflage|édition|edición|edizione|edição|kiadás)\b",
    re.IGNORECASE,
)
"""Words for an edition in some languages: they tell no kind of page, and only what such a line is."""
_LONGEST_LINE = 200


def front_matter(
    front: Sequence[Body], rest: Sequence[Body], setting: Setting, contents: int | None
) -> tuple[dict[int, PageKind], str | None, Imprint | None]:
    """The kinds of pages of the front matter that are no contents and no openings, the title, and the imprint.

    ``front``: the pages with text before the body; ``rest``: those of the body and after it; ``contents``: the first
    page of the contents, if it is in front.
    """
    title = _title_page(front, setting)
    imprint = _imprint(front, title, setting) or _imprint_at_end(rest)
    kinds: dict[int, PageKind] = {} if title is None else _title_pages(front, title)
    if imprint is not None:
        kinds.setdefault(imprint.page, "imprint")
    starts = title.leaf.number if title else imprint.page if imprint else None
    if starts is not None:
        others = [body for body in front if body.leaf.number not in kinds]
        kinds |= _dedications(others, setting, starts, contents)
    return kinds, _largest(title.lines) if title else None, imprint


def _title_page(front: Sequence[Body], setting: Setting) -> Body | None:
    """The page with the largest type; where a half title is set as large, the page that says more."""
    large = [body for body in front if len(body.lines) <= MOST_ON_TITLE and _size(body) >= LARGER * setting.size]
    if not large:
        return None
    largest = max(map(_size, large))
    alike = [body for body in large if _size(body) >= (1 - ALIKE) * largest]
    first = min(alike, key=lambda body: (-round(_size(body)), -len(body.lines), body.leaf.number))
    return next(
        (body for body in large if body is not first and _is_of(first, body) and _says_more(body, first)), first
    )


def _title_pages(front: Sequence[Body], title: Body) -> dict[int, PageKind]:
    """The title page, and pages that say some of its words alone: the half title, and a second one before the text."""
    few = [body for body in front if body is not title and len(body.lines) <= MOST_OF_FEW and _is_of(body, title)]
    kinds: dict[int, PageKind] = {body.leaf.number: "half-title" for body in few}
    return kinds | {title.leaf.number: "title"}


def _is_of(few: Body, many: Body) -> bool:
    """Whether one page says nothing but words that another begins or goes on with."""
    said = _letters(few)
    return bool(said) and said in _letters(many)


def _says_more(one: Body, other: Body) -> bool:
    return len(_letters(one)) > len(_letters(other))


def _letters(body: Body) -> str:
    return plain_letters(" ".join(line.text for line in body.lines))


def _imprint(front: Sequence[Body], title: Body | None, setting: Setting) -> Imprint | None:
    """The page with an ISBN or a copyright notice: one of its own, or else the title page; or else the title's verso,
    where all is set smaller than the text."""
    own = [read for body in front if body is not title and (read := _notices(body))]
    if own:
        return next((read for read in own if read.isbns), own[0])
    if title is None:
        return None
    after = next((body for body in front if body.leaf.number == title.leaf.number + 1), None)
    if after is not None and title.leaf.number % 2 and all(line.size < setting.size for line in after.lines):
        return Imprint(page=after.leaf.number)
    return _notices(title)


def _imprint_at_end(rest: Sequence[Body]) -> Imprint | None:
    """A page at the end that has both an ISBN and a copyright notice."""
    found = (_notices(body) for body in rest[-AT_THE_END:])
    return next((read for read in found if read and read.isbns and read.copyright), None)


def _notices(body: Body) -> Imprint | None:
    text = "\n".join(line.text for line in body.lines)
    isbns = tuple(dict.fromkeys(isbns_in(text)))
    lines = (_CIRCLED.sub("©", line.text) for line in body.lines)
    notice = next((line for line in lines if _NOTICE.search(line[:_LONGEST_LINE])), None)
    if not isbns and notice is None:
        return None
    edition = next((line.text for line in body.lines if _EDITION.search(line.text[:_LONGEST_LINE])), None)
    return Imprint(
        page=body.leaf.number,
        isbns=isbns,
        copyright=notice[:_LONGEST_LINE] if notice else None,
        edition=edition[:_LONGEST_LINE] if edition else None,
    )


def _dedications(others: Sequence[Body], setting: Setting, title: int, contents: int | None) -> dict[int, PageKind]:
    """Pages of a few words in type of the text's size, set low, between the title page and the contents."""
    return {
        body.leaf.number: "dedication"
        for body in others
        if title < body.leaf.number < (contents or body.leaf.number + 1)
        and len(body.lines) <= MOST_OF_FEW
        and all(line.box[2] - line.box[0] < NARROW * setting.measure for line in body.lines)
        and _size(body) < 2 * setting.size
        and _is_low(body, setting)
    }


def _is_low(body: Body, setting: Setting) -> bool:
    return setting.sunk(body) >= SUNK or body.leaf.from_head(body.lines[0].baseline) >= LOW * body.leaf.height


def _size(body: Body) -> float:
    return max((line.size for line in body.lines), default=0.0)


def _largest(lines: Sequence[Line]) -> str:
    """The title: what is set largest, from the head down, with small words between its lines."""
    largest = max(line.size for line in lines)
    at = [place for place, line in enumerate(lines) if line.size >= (1 - SAME_SIZE) * largest]
    last = next((one for one, other in pairwise(at) if _are_apart(lines[one], lines[other])), at[-1])
    return " ".join(line.text for line in lines[at[0] : last + 1])


def _are_apart(upper: Line, lower: Line) -> bool:
    return upper.baseline - lower.baseline > APART * upper.size
