"""The rule about PDF/X (ISO 15930): whether the file is of a kind that is asked for, and is what it claims.

Tested is what the measurements show; it is no full conformance check, and what is not looked at is said. What the parts
of the standard ask is from memory (their texts are not free), so clauses go by what they are about, not by number.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from worker.judge.case import Case, Draft, mark, some_of
from worker.judge.link import OF_THE_TRADE
from worker.judge.models import Mark
from worker.judge.registry import rule
from worker.measure.models import Box, OutputIntent, Page
from worker.words import comma, counted, semicolon, told

_NEAR = 0.01
"""Points by which one box may stand out of another: producers round."""


class Level(NamedTuple):
    """One kind of PDF/X, and what sets it apart."""

    part: str
    pdf: tuple[int, int]
    """The latest PDF version."""
    blind: bool = True
    """As PDF/X-1a and PDF/X-3: identified in the Info dictionary, with nothing that came after PDF 1.4."""
    device_colour: bool = False
    """As PDF/X-1a: grey, CMYK and spot colours alone."""
    profile: bool = False
    """As PDF/X-4: the profile of the printing condition is in the file; a registered name is not enough."""


LEVELS: dict[str, Level] = {
    "PDF/X-1a:2001": Level("ISO 15930-1", (1, 3), device_colour=True),
    "PDF/X-3:2002": Level("ISO 15930-3", (1, 3)),
    "PDF/X-1a:2003": Level("ISO 15930-4", (1, 4), device_colour=True),
    "PDF/X-3:2003": Level("ISO 15930-6", (1, 4)),
    "PDF/X-4": Level("ISO 15930-7", (1, 6), blind=False, profile=True),
    "PDF/X-4p": Level("ISO 15930-7", (1, 6), blind=False),
}


@dataclass(frozen=True)
class Breach:
    """One thing in which a file is not what it claims."""

    what: str
    pages: tuple[int, ...] = ()
    marks: tuple[Mark, ...] = ()


Test = Callable[[Case, str, Level], Iterable[Breach]]


@rule("pdfx-conformance")
def pdfx_conformance(case: Case) -> Iterator[Draft]:
    claim, asked = case.measurements.document.pdfx, case.interior.file.pdfx
    if claim is None or claim not in asked:
        form = "none" if claim is None else "other"
        yield Draft(form=form, cause=form, facts={"asked": _either(asked), "is_": some_of([claim or ""])})
    elif claim in LEVELS:
        breaches = [breach for test in _TESTS for breach in test(case, claim, LEVELS[claim])]
        if breaches:
            yield _broken(case, claim, breaches)


def _broken(case: Case, claim: str, breaches: Sequence[Breach]) -> Draft:
    """One finding for all points: one export by the right setting mends them together."""
    level = LEVELS[claim]
    wrong = [told(f"pdfx.points.{breach.what}.wrong", pages=case.on_pages(breach.pages)) for breach in breaches]
    latest = "{}.{}".format(*level.pdf)
    settings = [told(f"pdfx.points.{breach.what}.set", latest=latest) for breach in breaches]
    return Draft(
        form="broken",
        cause="broken",
        pages=[page for breach in breaches for page in breach.pages],
        facts={
            "is_": claim,
            "part": level.part,
            "points": counted("phrases.pdfx-conformance", len(wrong)),
            "breaches": semicolon(wrong),
            "settings": semicolon(settings),
        },
        marks=(each for breach in breaches for each in breach.marks),
    )


def not_looked_at(case: Case) -> Iterator[str]:
    """What of the standard is not tested on a file that claims it."""
    claim = case.measurements.document.pdfx
    if claim is not None and claim in case.interior.file.pdfx:
        yield told(f"pdfx.untested.{'known' if claim in LEVELS else 'unknown'}", is_=claim)


def _either(asked: Iterable[str]) -> str:
    *others, last = asked
    return told("units.lists.or", others=comma(others), last=last) if others else last


def _identification(case: Case, claim: str, level: Level) -> Iterator[Breach]:
    facts = case.measurements.document.pdfx_facts
    if not level.blind:
        if facts.in_xmp != claim:
            yield Breach("key-in-xmp")
    elif facts.in_info is None:
        yield Breach("key-in-info")


def _file(case: Case, _: str, level: Level) -> Iterator[Breach]:
    document = case.measurements.document
    if document.pdf_version is not None and _version(document.pdf_version) > level.pdf:
        yield Breach("version")
    if level.blind and document.pdfx_facts.object_streams:
        yield Breach("object-streams")
    if document.encrypted:
        yield Breach("encryption")
    if document.active or document.embedded_files:
        yield Breach("actions", tuple(sorted({page for each in document.active for page in each.pages})))
    if level.blind and document.layers:
        yield Breach("layers")


def _version(written: str) -> tuple[int, int]:
    major, _, minor = written.partition(".")
    return (int(major), int(minor)) if major.isdigit() and minor.isdigit() else (0, 0)


def _metadata(case: Case, _: str, __: Level) -> Iterator[Breach]:
    document = case.measurements.document
    facts = document.pdfx_facts
    if facts.trapped not in ("True", "False"):
        yield Breach("trapped")
    if document.title is None:
        yield Breach("title")
    if not (facts.created and facts.modified):
        yield Breach("dates")
    if not facts.identifier:
        yield Breach("identifier")


def _intent(case: Case, _: str, level: Level) -> Iterator[Breach]:
    intents = [intent for intent in case.measurements.document.output_intents if intent.subtype == "GTS_PDFX"]
    if len(intents) != 1:
        yield Breach("several-intents" if intents else "no-intent")
    for intent in intents[:1]:
        yield from map(Breach, _faults_of_intent(intent, level))


def _faults_of_intent(intent: OutputIntent, level: Level) -> Iterator[str]:
    if intent.condition is None:
        yield "condition"
    if level.profile and not intent.profile_embedded:
        yield "profile"
    if level.blind and not intent.profile_embedded and intent.registry is None:
        yield "registry"
    wrong_class = intent.profile_class not in (None, "prtr")
    if wrong_class or (level.device_colour and intent.profile_components == 3):
        yield "profile-class"


def _boxes(case: Case, _: str, __: Level) -> Iterator[Breach]:
    neither = [page for page in case.pages if not {"trim", "art"} & set(page.declared)]
    both = [page for page in case.pages if {"trim", "art"} <= set(page.declared)]
    loose = [page for page in case.pages if not _is_nested(page)]
    for what, pages in (("no-cut", neither), ("two-cuts", both), ("nesting", loose)):
        if pages:
            yield Breach(what, _numbers(pages))


def _is_nested(page: Page) -> bool:
    """Trim or art within bleed, all within the media."""
    cuts = [page.trim if name == "trim" else page.art for name in page.declared if name in ("trim", "art")]
    return not page.beyond_media and ("bleed" not in page.declared or all(_within(cut, page.bleed) for cut in cuts))


def _within(inner: Box, outer: Box) -> bool:
    low = all(inner[side] >= outer[side] - _NEAR for side in (0, 1))
    return low and all(inner[side] <= outer[side] + _NEAR for side in (2, 3))


def _fonts(case: Case, _: str, __: Level) -> Iterator[Breach]:
    missing = [font for font in case.measurements.fonts if not font.embedded]
    marks = tuple(mark(place.page, place.box, font.name) for font in missing for place in font.places)
    if missing:
        yield Breach("fonts", tuple(sorted({page for font in missing for page in font.pages})), marks)


def _colour(case: Case, _: str, level: Level) -> Iterator[Breach]:
    foreign = [page for page in case.read_pages if {"rgb", "rgb-gray", "lab"} & set(page.colours)]
    seen_through = [page for page in case.read_pages if page.transparency]
    if level.device_colour and foreign:
        yield Breach("colour", _numbers(foreign))
    if level.blind and seen_through:
        yield Breach("transparency", _numbers(seen_through))


def _pictures(case: Case, _: str, level: Level) -> Iterator[Breach]:
    """JPEG 2000 came with PDF 1.5, JBIG2 with 1.4; LZW is kept out of all parts."""
    barred = {"LZWDecode", "LZW"} | ({"JPXDecode"} if level.blind else set())
    barred |= {"JBIG2Decode"} if level.pdf < (1, 4) else set()
    found = [image for image in case.measurements.images if image.filter in barred]
    if found:
        marks = tuple(mark(image.page, image.box, image.filter or "") for image in found)
        yield Breach("compression", tuple(sorted({image.page for image in found})), marks)


def _annotations(case: Case, _: str, __: Level) -> Iterator[Breach]:
    """They may lie outside the bleed alone; where no BleedBox is declared, outside the cut."""
    links = [(link.page, link.box, told("marks.link")) for link in case.measurements.links]
    others = [(note.page, note.box, note.kind) for note in case.measurements.annotations]
    inside = [
        each for each in links + others if each[2] not in OF_THE_TRADE and _touches(case.pages[each[0] - 1], each[1])
    ]
    if inside:
        yield Breach(
            "annotations", tuple(sorted({page for page, _, _ in inside})), tuple(mark(*each) for each in inside)
        )


def _touches(page: Page, box: Box) -> bool:
    kept = next((getattr(page, name) for name in ("bleed", "trim", "art") if name in page.declared), page.crop)
    return box[0] < kept[2] and box[2] > kept[0] and box[1] < kept[3] and box[3] > kept[1]


def _numbers(pages: Iterable[Page]) -> tuple[int, ...]:
    return tuple(page.page for page in pages)


_TESTS: tuple[Test, ...] = (
    _identification, _file, _metadata, _intent, _boxes, _fonts, _colour, _pictures, _annotations,
)  # fmt: skip
