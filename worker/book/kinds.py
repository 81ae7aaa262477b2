"""What each page is: title and imprint page, contents, opening, plate, blank; and where the body of the book starts.

The order of the parts is that of the Chicago Manual of Style, 1.4, and New Hart's Rules, 1.2.1 (both read second-hand).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from worker.book.grid import LARGER, Setting
from worker.book.heads import Body
from worker.book.isbn import isbns_in
from worker.book.models import ContentsList, Imprint, Opening, PageKind, Part
from worker.book.numerals import Number
from worker.book.wording import plain_letters
from worker.measure.models import Image, Line

MOST_ON_TITLE = 14
"""Lines of a title page, the publisher's among them."""
MOST_OF_DEDICATION = 6
NARROW = 0.8
"""Of the measure: a dedication has no line that is wider."""
MOST_OF_CAPTION = 4
"""Lines of a page that shows a picture and is no page of text."""
LEAST_OF_PLATE = 0.15
"""Of the page's area: a picture that is smaller stands in the text."""
SAME_SIZE = 0.05
NUMBERED = 0.6
_COPYRIGHT = ("©", "(c)", "copyright")
_LONGEST_LINE = 200


@dataclass(frozen=True)
class Kinds:
    """The kinds of all pages by number, where body and back matter start, and what the front matter says."""

    of: Mapping[int, PageKind]
    body: int | None
    back: int | None
    title: str | None
    imprint: Imprint | None

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
    plates: frozenset[int],
) -> Kinds:
    """Tell what every page is."""
    of: dict[int, PageKind] = {body.leaf.number: _plain_kind(body) for body in bodies}
    of |= dict.fromkeys(plates, "plate")
    of |= {opening.page: "part" if opening.kind == "part" else "opening" for opening in openings}
    for each in contents:
        of |= dict.fromkeys(each.pages, "contents" if each.kind == "contents" else "list")
    body = _start_of_body(of, numbers, openings, contents)
    last_of_front = body or min((opening.page for opening in openings), default=1)
    front = [each for each in bodies if each.leaf.number < last_of_front and of[each.leaf.number] == "text"]
    titles = _title_pages(front, setting)
    imprint = _imprint(front, titles, setting)
    of |= titles
    if imprint is not None:
        of[imprint.page] = "imprint"
    of |= _dedications(front, of, imprint, setting)
    title_page = next((each for each in front if of[each.leaf.number] == "title"), None)
    return Kinds(
        of=of,
        body=body,
        back=_start_of_back(openings),
        title=_largest(title_page.lines) if title_page else None,
        imprint=imprint,
    )


def expected_blanks(kinds: Kinds) -> dict[int, bool]:
    """Of each blank whether a convention asks for it. Left out are those at the very end of the file, and a recto
    before what opens on a verso, of which conventions differ.

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
        expected[page] = page % 2 == 0 and (_opens(kinds, page + 1) or _has_blank_verso(kinds, page - 1))
    return expected


def _opens(kinds: Kinds, page: int) -> bool:
    kind = kinds.of.get(page, "blank")
    return kind not in ("blank", "text") or (kind == "text" and kinds.part(page) != "body")


def _has_blank_verso(kinds: Kinds, page: int) -> bool:
    return kinds.of.get(page) in ("part", "half-title", "title", "dedication", "plate")


def _plain_kind(body: Body) -> PageKind:
    """Text, or a blank: a page with nothing but what runs around the text is one."""
    if body.lines:
        return "text"
    ink = body.leaf.page.ink
    running = [line.box for line in (*body.above, *body.below)]
    drawn = ink is not None and (not running or ink[1] < min(box[1] for box in running) - 1
                                 or ink[3] > max(box[3] for box in running) + 1)  # fmt: skip
    return "plate" if drawn or body.leaf.page.unread else "blank"


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
    """Where arabic numbers follow roman ones or start at 1; else the first opening after the contents, or at all."""
    arabic = [page for page, number in sorted(numbers.items()) if number.numerals == "arabic"]
    roman = [page for page, number in numbers.items() if number.numerals != "arabic"]
    if arabic and ((roman and min(roman) < arabic[0]) or (arabic[0] > 1 and numbers[arabic[0]].value == 1)):
        return arabic[0]
    opened = [opening.page for opening in openings]
    if not opened:
        return None
    in_front = [each.pages[-1] for each in contents if each.pages[0] < len(of) / 3]
    after = [page for page in opened if page > max(in_front, default=0)]
    return min(after, default=min(opened))


def _start_of_back(openings: Sequence[Opening]) -> int | None:
    """The first of the openings at the end that have no number, where most others have one."""
    chapters = [opening for opening in openings if opening.kind == "chapter"]
    numbered = [opening for opening in chapters if _is_numbered(opening)]
    if len(numbered) < NUMBERED * len(chapters) or not numbered:
        return None
    return next((opening.page for opening in chapters if opening.page > numbered[-1].page), None)


def _is_numbered(opening: Opening) -> bool:
    return opening.number is not None or opening.title[:1].isdigit()


def _title_pages(front: Sequence[Body], setting: Setting) -> dict[int, PageKind]:
    """The title page has the largest type of the front matter; the half title says some of its words before it."""
    large = [body for body in front if len(body.lines) <= MOST_ON_TITLE and _size(body) >= LARGER * setting.size]
    if not large:
        return {}
    title = max(large, key=lambda body: (round(_size(body)), len(body.lines), -body.leaf.number))
    words = plain_letters(" ".join(line.text for line in title.lines))
    found: dict[int, PageKind] = {title.leaf.number: "title"}
    for body in front:
        said = plain_letters(" ".join(line.text for line in body.lines))
        if body.leaf.number < title.leaf.number and said and len(body.lines) <= MOST_OF_DEDICATION and said in words:
            found[body.leaf.number] = "half-title"
    return found


def _imprint(front: Sequence[Body], titles: Mapping[int, PageKind], setting: Setting) -> Imprint | None:
    """The page that has an ISBN or a copyright notice; it may be the title page itself, which then stays one."""
    for body in front:
        text = "\n".join(line.text for line in body.lines)
        isbns = tuple(dict.fromkeys(isbns_in(text)))
        notice = next((line.text for line in body.lines if any(sign in line.text.lower() for sign in _COPYRIGHT)), None)
        if (isbns or notice) and body.leaf.number not in titles:
            return Imprint(page=body.leaf.number, isbns=isbns, copyright=notice[:_LONGEST_LINE] if notice else None)
    after = next((body for body in front if titles.get(body.leaf.number - 1) == "title"), None)
    if after is not None and after.leaf.number % 2 == 0 and all(line.size < setting.size for line in after.lines):
        return Imprint(page=after.leaf.number)
    return None


def _dedications(
    front: Sequence[Body], of: Mapping[int, PageKind], imprint: Imprint | None, setting: Setting
) -> dict[int, PageKind]:
    """Pages of a few words in type of the text's size, after the title page."""
    title = next((page for page, kind in of.items() if kind == "title"), imprint.page if imprint else None)
    if title is None:
        return {}
    return {
        body.leaf.number: "dedication"
        for body in front
        if body.leaf.number > title
        and of[body.leaf.number] == "text"
        and len(body.lines) <= MOST_OF_DEDICATION
        and all(line.box[2] - line.box[0] < NARROW * setting.measure for line in body.lines)
        and _size(body) < 2 * setting.size
    }


def _size(body: Body) -> float:
    return max((line.size for line in body.lines), default=0.0)


def _largest(lines: Sequence[Line]) -> str:
    """What is set largest, from the head down."""
    largest = max(line.size for line in lines)
    return " ".join(line.text for line in lines if line.size >= (1 - SAME_SIZE) * largest)
