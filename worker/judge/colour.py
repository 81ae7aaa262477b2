"""Rules about colour and ink: spaces, coverage, black text, thin lines, transparency, the printing condition.

A grey of equal red, green and blue is grey for a printer of grey alone, and RGB for one of four inks.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from worker.judge.asked import is_asked
from worker.judge.case import Case, Draft, among, mark, on_pages, some_of, worst_first
from worker.judge.models import Measured, Required
from worker.judge.pdfx import LEVELS
from worker.judge.registry import rule
from worker.measure.models import Box, ColourPlace, MarkKind, MixedText, OutputIntent, PageColour, Transparency
from worker.profiles import Profile
from worker.units import show_number
from worker.words import comma, semicolon, told

ROUNDED_INK = 1.0
"""Percent by which a sum may be over before it is accused: four inks of a picture, each rounded to a byte."""
ROUNDED_RULE = 0.01
"""Points by which a rule may be thinner: programs round to a hundredth (common practice, no source)."""
LARGE_TYPE = 24.0
"""Points from which on inks that stand a little apart do no harm to letters (common practice, no source)."""
_DARK = 0.2
"""A colour is black where no light comes through by more than this: (1 - ink) (1 - black) of each of three inks."""
_COLOURED_INKS = ("Cyan", "Magenta", "Yellow")

_FAMILIES: dict[int, PageColour] = {3: "rgb", 4: "cmyk"}
"""By the numbers that make a colour."""

COLOURS: tuple[PageColour, ...] = ("gray", "rgb", "rgb-gray", "cmyk", "spot", "lab", "registration")
MARK_KINDS: tuple[MarkKind, ...] = ("text", "drawing", "picture")
"""In the order in which they are told."""

Found = list[tuple[int, ColourPlace]]


def taken_spaces(profile: Profile) -> set[str] | None:
    """The colour spaces that the printer takes; None where the profile does not say."""
    spaces = profile.interior.colour.spaces
    return None if spaces is None else set(spaces)


def prints_colour(profile: Profile) -> bool:
    """Whether the printer may have inks in four colours: it says so, or does not say."""
    taken = taken_spaces(profile)
    return taken is None or bool(taken & {"cmyk", "rgb"})


@rule("colour-space")
def colour_space(case: Case) -> Iterator[Draft]:
    """A cause for each kind of colour that is not taken; for a printer of black alone all colour is one."""
    taken = taken_spaces(case.profile)
    if taken is None:
        return
    for cause, colours in _foreign(taken):
        found = [
            (page.page, place)
            for page in case.read_pages
            for place in page.coloured
            if place.colour in colours and (place.colour, place.of) != ("registration", "text")
        ]
        if found:
            yield _foreign_colour(case, cause, found)


def _foreign(taken: set[str]) -> Iterator[tuple[str, set[PageColour]]]:
    spot: set[PageColour] = set() if "spot" in taken else {"spot"}
    if not taken & {"cmyk", "rgb"}:
        yield "colour", {"rgb", "cmyk", "lab", "registration", *spot}
        return
    if "rgb" not in taken:
        yield "rgb", {"rgb", "rgb-gray"}
    if "cmyk" not in taken:
        yield "cmyk", {"cmyk"}
    yield "spot", spot
    yield "lab", {"lab"}


def _foreign_colour(case: Case, cause: str, found: Found) -> Draft:
    colours = {place.colour for _, place in found}
    spots = list(dict.fromkeys(ink for _, place in found for ink in place.inks))
    taken = taken_spaces(case.profile) or set()
    return Draft(
        form="rgb-gray" if colours == {"rgb-gray"} else cause,
        cause=cause,
        pages=[page for page, _ in found],
        facts={
            "found": _by_kind(case, found),
            "colours": told("units.lists.and").join(_colour(colour) for colour in COLOURS if colour in colours),
            "names": told("phrases.colour-space.names", names=some_of(spots)) if spots else "",
            "printed": told(f"phrases.colour-space.black{'-and-spot' if 'spot' in taken else ''}"),
        },
        marks=(
            mark(page, place.box, told("marks.colour", kind=_kind(place.of), colour=_colour(place.colour)))
            for page, place in found
        ),
    )


def _by_kind(case: Case, found: Found) -> str:
    """``text on page 3; pictures on pages 4–6``."""
    kinds: dict[MarkKind, list[int]] = {}
    for page, place in found:
        kinds.setdefault(place.of, []).append(page)
    return semicolon(
        told("phrases.colour-space.found", kind=_kind(of), pages=case.on_pages(kinds[of]))
        for of in MARK_KINDS
        if of in kinds
    )


def _colour(colour: str) -> str:
    return told(f"phrases.colours.{colour}")


def _kind(of: MarkKind) -> str:
    return told(f"phrases.mark-kinds.{of}")


class Heavy(NamedTuple):
    """One place where more ink is asked for than is taken, in percent."""

    percent: float
    page: int
    box: Box
    bound: bool


@rule("ink-coverage")
def ink_coverage(case: Case) -> Iterator[Draft]:
    """Two causes: pictures are converted anew, and colours of text and drawings are set anew.

    Where the printer has black alone, what is in four inks is told as colour; black text of several inks is told as
    such.
    """
    most = case.interior.colour.most_ink
    if most is None:
        return
    for form, places in (("picture", _heavy_pictures(case)), ("", _heavy_marks(case))):
        heavy = sorted((place for place in places if place.percent > most + ROUNDED_INK), reverse=True)
        if heavy:
            yield _too_much_ink(heavy, most, form)


def _too_much_ink(heavy: list[Heavy], most: float, form: str) -> Draft:
    worst = max(heavy, key=lambda place: (place.percent, -place.page))
    pages = {place.page for place in heavy}
    return Draft(
        form=form,
        cause=form,
        pages=list(pages),
        measured=Measured(value=worst.percent, unit="percent"),
        required=Required(value=most, unit="percent", relation="at-most"),
        facts={
            "is_": f"{worst.percent:.0f}",
            "most": f"{most:g}",
            "where": worst.page,
            "among": among("phrases.ink-coverage.among", len(pages)),
            "bound": told("phrases.ink-coverage.bound") if worst.bound else "",
        },
        marks=(mark(place.page, place.box, f"{place.percent:.0f} %") for place in heavy),
    )


def _heavy_pictures(case: Case) -> Iterator[Heavy]:
    if _takes_cmyk(case):
        for page in case.read_pages:
            for place in page.ink_places:
                if place.of == "picture":
                    yield Heavy(place.percent, page.page, place.box, place.bound)


def _heavy_marks(case: Case) -> Iterator[Heavy]:
    for page in case.read_pages:
        for place in page.ink_places:
            if place.of == "drawing" and _could_print(case, place.inks):
                yield Heavy(place.percent, page.page, place.box, place.bound)
        for text in page.mixed_text:
            if _could_print(case, text.inks) and not (text.registration or _is_rich_black(case, text)):
                yield Heavy(sum(text.inks.values()), page.page, text.box, False)


def _takes_cmyk(case: Case) -> bool:
    taken = taken_spaces(case.profile)
    return taken is None or "cmyk" in taken


def _could_print(case: Case, inks: Mapping[str, float]) -> bool:
    return _takes_cmyk(case) or not set(inks) & set(_COLOURED_INKS)


def inks_not_known(case: Case) -> Iterator[str]:
    """Pages on which inks cannot be summed: the printer's conversion decides them, or they were not read."""
    if not _takes_cmyk(case):
        return
    converted = {page.page for page in case.read_pages if {"rgb", "lab"} & {place.colour for place in page.coloured}}
    if converted:
        yield told("untried.inks-unknown", pages=on_pages(converted).capitalize())
    unread = {each.page for each in case.measurements.images if each.colour.endswith("cmyk") and each.ink is None}
    if unread:
        yield told("untried.inks-not-read", pages=on_pages(unread).capitalize())


@rule("rich-black-text")
def rich_black_text(case: Case) -> Iterator[Draft]:
    """Text in a black of several inks, and in the colour that is on every plate.

    Black text in RGB is told by the rule about colour spaces where the printer takes no RGB: one export mends both.
    """
    texts = [(page.page, text) for page in case.read_pages for text in page.mixed_text]
    registration = [(page, text) for page, text in texts if text.registration]
    rich = [(page, text) for page, text in texts if not text.registration and _is_rich_black(case, text)]
    for form, found in (("registration", registration), ("", rich)):
        if found:
            yield _mixed_black(case, form, found)


def _is_rich_black(case: Case, text: MixedText) -> bool:
    """Whether it is accused as such: black, small enough to suffer, on a press that has the inks."""
    return _takes_cmyk(case) and text.sizes[0] < LARGE_TYPE and _is_black(text.inks)


def _is_black(inks: Mapping[str, float]) -> bool:
    light = 1 - inks.get("Black", 0.0) / 100
    return all((1 - inks.get(ink, 0.0) / 100) * light <= _DARK for ink in _COLOURED_INKS)


def _mixed_black(case: Case, form: str, found: list[tuple[int, MixedText]]) -> Draft:
    page, worst = min(found, key=lambda at: (at[1].sizes[0], at[0]))
    least, most = worst.sizes[0], max(text.sizes[1] for _, text in found)
    return Draft(
        form=form,
        cause=form,
        pages=[page for page, _ in found],
        measured=Measured(value=least, unit="pt"),
        facts={
            "pages": case.on_pages(page for page, _ in found),
            "where": page,
            "inks": comma(f"{ink} {share:.0f} %" for ink, share in worst.inks.items()),
            "sizes": _sizes(_points(least), _points(most)),
        },
        marks=(mark(on, text.box, _points(text.sizes[0])) for on, text in found),
    )


def _sizes(least: str, most: str) -> str:
    return least if least == most else told("phrases.rich-black-text.sizes", least=least, most=most)


@rule("thin-rule")
def thin_rule(case: Case) -> Iterator[Draft]:
    asked = case.interior.colour.least_rule
    if asked is None:
        return
    known = ((page.page, page.thinnest_rule) for page in case.read_pages)
    thin = {page: width for page, width in known if width is not None and width < asked - ROUNDED_RULE}
    if not thin:
        return
    worst, *_ = order = worst_first(thin)
    boxes = {page: case.pages[page - 1].thinnest_rule_box for page in order}
    yield Draft(
        pages=list(thin),
        measured=Measured(value=thin[worst], unit="pt"),
        required=Required(value=asked, unit="pt", relation="at-least"),
        facts={
            "is_": _points(thin[worst]),
            "asked": _points(asked),
            "where": worst,
            "among": among("phrases.thin-rule.among", len(thin)),
            "zero": "" if thin[worst] else told("phrases.thin-rule.zero"),
        },
        marks=(mark(page, box, _points(thin[page])) for page in order if (box := boxes[page]) is not None),
    )


def _points(length: float) -> str:
    """Type and rules are measured in points whatever the profile's unit (custom of the trade)."""
    return f"{show_number(length, 2)} pt"


@rule("transparency")
def transparency(case: Case) -> Iterator[Draft]:
    found = [page for page in case.read_pages if page.transparency]
    if case.interior.colour.transparency is not False or not found:
        return
    places = [(page.page, place) for page in found for place in page.transparency_places]
    kinds: dict[Transparency, None] = dict.fromkeys(place.kind for _, place in places)
    yield Draft(
        pages=[page.page for page in found],
        facts={
            "pages": case.on_pages(page.page for page in found),
            "kinds": comma(_transparency(kind) for kind in kinds),
        },
        marks=(mark(page, place.box, _transparency(place.kind)) for page, place in places),
    )


def _transparency(kind: Transparency) -> str:
    return told(f"phrases.transparency.{kind}")


@rule("output-intent")
def output_intent(case: Case) -> Iterator[Draft]:
    """What a file for a printer of PDF/X says of the printing condition.

    A file that is not the PDF/X that is asked for, or has none or several where one is due, is told so by the rule
    about PDF/X; here it is where that rule is off.
    """
    intents = case.measurements.document.output_intents
    own = [intent for intent in intents if intent.subtype == "GTS_PDFX"]
    if not own:
        if not is_asked("pdfx-conformance", case.profile):
            yield Draft(form="none", cause="none")
    elif _differ(intents) and (len(own) == 1 or not is_asked("pdfx-conformance", case.profile)):
        yield Draft(form="several", cause="several", facts={"names": some_of([_condition(each) for each in intents])})
    elif (family := _contradicting(case, own[0])) and not _told_by_pdfx(case):
        facts: dict[str, object] = {"condition": _condition(own[0]), "family": family, "taken": _taken_in_words(case)}
        yield Draft(form="other-family", cause="other-family", facts=facts)


def _differ(intents: Iterable[OutputIntent]) -> bool:
    return len({(intent.condition, intent.profile_components) for intent in intents}) > 1


def _contradicting(case: Case, intent: OutputIntent) -> str | None:
    """The family of the intent's profile, where the printer does not take it while it takes another."""
    taken = taken_spaces(case.profile)
    family: PageColour | None = _FAMILIES.get(intent.profile_components or 0)
    if taken is None or family is None or family in taken or (family == "cmyk" and "rgb" not in taken):
        return None
    return _colour(family)


def _told_by_pdfx(case: Case) -> bool:
    """PDF/X-1a bars profiles in RGB itself."""
    claim = case.measurements.document.pdfx
    own = is_asked("pdfx-conformance", case.profile) and claim in case.interior.file.pdfx
    return own and claim in LEVELS and LEVELS[claim].device_colour


def _condition(intent: OutputIntent) -> str:
    return intent.condition or told("phrases.output-intent.nameless")


def _taken_in_words(case: Case) -> str:
    return comma(_colour(space) for space in case.interior.colour.spaces or ())
