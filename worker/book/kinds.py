"""What each page is, and where body and back matter start; blanks, and whether a convention asks for them."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass

from worker.book.front_matter import IN_FRONT, SUNK, front_matter
from worker.book.grid import Setting
from worker.book.heads import Body
from worker.book.models import ContentsList, Imprint, NotRead, Opening, PageKind, Part
from worker.book.numerals import Number
from worker.measure.geometry import around
from worker.measure.models import Image

MOST_OF_CAPTION = 4
"""Lines of a page that shows a picture and is no page of text."""
LEAST_OF_PLATE = 0.15
"""Of the page's area: a picture that is smaller stands in the text."""
BESIDE = 1.5
"""Leadings from a running line to what belongs to it: a rule, a device beside the folio."""
RULE = 2
"""Pixels: a picture of no more on a side is a rule."""
NUMBERED = 0.6
FRONT_OF_BOOK = 1 / 3
"""Of the book's pages: a contents that starts within them is in front."""
NO_TITLE = "no page before the text is told from the others by larger type, as a title page is"


@dataclass(frozen=True)
class Kinds:
    """The kinds of all pages by number, where body and back matter start, and what the front matter says."""

    of: Mapping[int, PageKind]
    body: int | None
    back: int | None
    title: str | None
    imprint: Imprint | None
    fresh: frozenset[int] = frozenset()
    """Pages that begin with a heading, or lower than others."""
    not_read: NotRead | None = None

    def part(self, page: int) -> Part:
        if self.body is not None and page < self.body:
            return "front"
        return "back" if self.back is not None and page >= self.back else "body"


def kinds_of(
    bodies: Sequence[Body],
    setting: Setting,
    numbers: Mapping[int, Number],
    openings: Sequence[Opening],
    contents: Sequence[ContentsList],
    images: Sequence[Image],
    plates: frozenset[int],
) -> Kinds:
    """Tell what every page is."""
    shown = {image.page for image in images if min(image.pixels) > RULE}
    of: dict[int, PageKind] = {body.leaf.number: _plain_kind(body, setting, shown) for body in bodies}
    of |= dict.fromkeys(plates, "plate")
    of |= {opening.page: "part" if opening.kind == "part" else "opening" for opening in openings}
    for each in contents:
        of |= dict.fromkeys(each.pages, "contents" if each.kind == "contents" else "list")
    body = _start_of_body(of, numbers, openings, contents)
    starts = body or min((opening.page for opening in openings), default=IN_FRONT)
    front = [each for each in bodies if each.leaf.number < starts and of[each.leaf.number] == "text" and each.lines]
    rest = [each for each in bodies if each.leaf.number >= starts and each.lines]
    listed = next((each.pages[0] for each in contents if each.pages[0] < starts), None)
    told, title, imprint = front_matter(front, rest, setting, listed)
    return Kinds(
        of=of | told,
        body=body,
        back=_start_of_back(openings),
        title=title,
        imprint=imprint,
        fresh=frozenset(each.leaf.number for each in bodies if each.lines and _begins_anew(each, setting)),
        not_read=NotRead(what="front-matter", why=NO_TITLE) if title is None else None,
    )


def expected_blanks(kinds: Kinds) -> dict[int, bool]:
    """Of each blank whether a convention asks for it. Left out are those at the very end of the file, a recto before
    what opens on a verso, of which conventions differ, and a verso before what may open something or not.

    One blank is expected on the verso before what opens on a recto, and on the verso of a part's title, a half title, a
    dedication, a plate (CMOS 16 1.4 to 1.50, from memory).
    """
    last = max((page for page, kind in kinds.of.items() if kind != "blank"), default=0)
    expected = {}
    for page in range(1, last):
        if kinds.of[page] != "blank":
            continue
        if page % 2 and _opens(kinds, page + 1) and kinds.of.get(page - 1) != "blank":
            continue
        asked = page % 2 == 0 and (_opens(kinds, page + 1) or _has_blank_verso(kinds, page - 1))
        if asked or page % 2 or page + 1 not in kinds.fresh:
            expected[page] = asked
    return expected


def _opens(kinds: Kinds, page: int) -> bool:
    kind = kinds.of.get(page, "blank")
    return kind not in ("blank", "text") or page == kinds.body or (kind == "text" and kinds.part(page) != "body")


def _has_blank_verso(kinds: Kinds, page: int) -> bool:
    return kinds.of.get(page) in ("part", "half-title", "title", "dedication", "plate")


def _plain_kind(body: Body, setting: Setting, shown: Container[int]) -> PageKind:
    """Text, or a blank: a page with nothing but what runs around the text is one, with the rules beside that."""
    if body.lines:
        return "text"
    page, ink = body.leaf.page, body.leaf.page.ink
    if page.unread or page.page in shown:
        return "plate"
    running = around([line.box for line in (*body.above, *body.below)])
    near = BESIDE * setting.leading
    drawn = ink is not None and (running is None or ink[1] < running[1] - near or ink[3] > running[3] + near)
    return "plate" if drawn else "blank"


def _begins_anew(body: Body, setting: Setting) -> bool:
    return not setting.is_text(body.lines[0]) or setting.sunk(body) >= SUNK


def plates_of(bodies: Sequence[Body], images: Sequence[Image]) -> frozenset[int]:
    """Pages with a large picture and no more text than a caption."""
    covered: dict[int, float] = {}
    for image in images:
        x0, y0, x1, y1 = image.box
        covered[image.page] = covered.get(image.page, 0.0) + (x1 - x0) * (y1 - y0)
    few = {body.leaf.number: body for body in bodies if len(body.lines) <= MOST_OF_CAPTION}
    large = (page for page, area in covered.items() if page in few and area >= LEAST_OF_PLATE * _area(few[page]))
    return frozenset(large)


def _area(body: Body) -> float:
    x0, y0, x1, y1 = body.leaf.page.trim
    return (x1 - x0) * (y1 - y0)


def _start_of_body(
    of: Mapping[int, PageKind],
    numbers: Mapping[int, Number],
    openings: Sequence[Opening],
    contents: Sequence[ContentsList],
) -> int | None:
    """Where arabic numbers follow roman ones or start at 1, after the contents if that is in front; else the first
    opening after the contents, or at all."""
    listed = max((each.pages[-1] for each in contents if each.pages[0] < FRONT_OF_BOOK * len(of)), default=0)
    arabic = next((page for page, number in sorted(numbers.items()) if number.numerals == "arabic"), None)
    if arabic is not None and arabic > listed:
        roman = any(number.numerals != "arabic" and page < arabic for page, number in numbers.items())
        if roman or (arabic > 1 and numbers[arabic].value == 1):
            return arabic
    opened = [opening.page for opening in openings]
    return min((page for page in opened if page > listed), default=min(opened, default=None))


def _start_of_back(openings: Sequence[Opening]) -> int | None:
    """The first of the openings at the end that have no number, where most others have one."""
    chapters = [opening for opening in openings if opening.kind == "chapter"]
    numbered = [opening for opening in chapters if _is_numbered(opening)]
    if len(numbered) < NUMBERED * len(chapters) or not numbered:
        return None
    return next((opening.page for opening in chapters if opening.page > numbered[-1].page), None)


def _is_numbered(opening: Opening) -> bool:
    return opening.number is not None or opening.title[:1].isdigit()
