"""What must be true of whatever is read of a file, however bad it is; where it is not, ``Broken`` names the law."""

from __future__ import annotations

import math
import traceback
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

from worker.judge import judge
from worker.measure import measure
from worker.measure.limits import LimitReached
from worker.measure.models import Box, Measurements, Page
from worker.profiles import Profile, builtin_profiles, load_profile
from worker.reading import Reading, found_in, leave, reading_of, with_lines
from worker.report.compose import compose
from worker.report.html import render_html
from worker.report.text import render_text

NOW = datetime(2026, 11, 25, tzinfo=UTC)
_ROUNDING = 2e-3
_UNREAD = {
    "its content is damaged",
    "a stream inflates past 256 MB",
    "more than 6,000,000 drawing operators on one page",
    "its CropBox lies outside its MediaBox",
    "it has no MediaBox, so its size is not known",
    "its MediaBox is empty, so its size is not known",
    "the file names it and has no such page",
}
"""The reasons for which a page may be left unread; any other is a fault of the reader."""


class Broken(AssertionError):
    """A law that does not hold: ``law`` is what findings are told apart by."""

    def __init__(self, law: str, detail: str) -> None:
        super().__init__(f"{law}: {detail}")
        self.law = law
        self.detail = detail


@dataclass(frozen=True)
class Answer:
    """How a file was answered: ``measured``, ``unreadable`` or ``limit``, and which; of how many pages how many not."""

    kind: str
    detail: str = ""
    pages: int = 0
    unread: int = 0


def examine(path: Path, *, base: Measurements | None = None, spoilt_page: int = 0) -> Answer:
    """Read the file as the fenced child does, judge it, set its reports. Raises ``Broken``.

    With ``base`` the file is the same but for one page, and all the others must have measured the same.
    """
    try:
        measured = measure(path)
    except LimitReached as crossed:
        if base is not None:
            raise Broken("one page spoils the book", f"{crossed.limit}: {crossed}") from crossed
        return Answer("limit", crossed.limit)
    except Exception as error:
        raise _raised("reading", error) from error
    check_facts(measured)
    if base is not None:
        check_the_others(measured, base, spoilt_page)
    try:
        reading = _kept(measured, path.parent)
    except Exception as error:
        raise _raised("keeping", error) from error
    for at, profile in enumerate(_profiles()):  # one of them, by chance, is set twice
        _check_reports(reading, measured, profile, twice=at == measured.file.bytes % len(_profiles()))
    if measured.document.unreadable is not None:
        return Answer("unreadable", measured.document.unreadable.reason)
    unread = sum(page.unread is not None for page in measured.pages)
    return Answer("measured", pages=len(measured.pages), unread=unread)


@cache
def _profiles() -> tuple[Profile, ...]:
    return tuple(load_profile(profile_id) for profile_id in builtin_profiles())


def _raised(during: str, error: Exception) -> Broken:
    """Findings are told apart by the kind of error and the innermost place of ours that it went through."""
    if isinstance(error, Broken):
        return error
    frames = traceback.extract_tb(error.__traceback__)
    ours = [frame for frame in frames if "/worker/" in frame.filename] or frames
    place = f"{Path(ours[-1].filename).name}:{ours[-1].name}"
    return Broken(f"{during}: {type(error).__name__} in {place}", f"{error} (line {ours[-1].lineno})"[:500])


def _expect(holds: bool, law: str, detail: object = "") -> None:
    if not holds:
        raise Broken(law, str(detail)[:500])


def _figures(value: Any) -> Iterator[float]:
    if isinstance(value, float):
        yield value
    elif isinstance(value, dict):
        for member in value.values():
            yield from _figures(member)
    elif isinstance(value, (list, tuple)):
        for member in value:
            yield from _figures(member)


def check_facts(measured: Measurements) -> None:
    """The laws of the facts themselves. Raises ``Broken``."""
    count = measured.document.pages
    _expect(all(map(math.isfinite, _figures(measured.model_dump()))), "a figure is not finite")
    _expect([page.page for page in measured.pages] == list(range(1, count + 1)), "pages are not 1 to n", count)
    _expect((count == 0) == (measured.document.unreadable is not None), "no pages, and readable", measured.document)
    for page in measured.pages:
        _check_page(page)
    for kind in (measured.images, measured.links, measured.annotations):
        for fact in kind:
            _expect(1 <= fact.page <= count, "a fact is on no page", fact)
            _expect(_in_order(fact.box), "a box is not in order", fact)
    for image in measured.images:
        _expect(min(image.pixels) > 0 and min(image.ppi) >= 0 and image.bits > 0, "a picture of no size", image)
    for font in measured.fonts:
        _expect(bool(font.pages) and sorted(set(font.pages)) == list(font.pages), "pages of a font out of order", font)
        _expect(font.pages[0] >= 1 and font.pages[-1] <= count, "a font is on no page", font)
        _expect(0 <= font.sizes[0] <= font.sizes[1], "sizes of a font out of order", font)
        _expect(all(_in_order(place.box) and place.page in font.pages for place in font.places), "a font's place", font)
    for acting in measured.document.active:
        _expect(set(acting.pages) <= set(range(1, count + 1)), "something acts on no page", acting)


def _check_page(page: Page) -> None:
    _expect(page.unread is None or page.unread in _UNREAD, f"a page is unread: {page.unread}", page.page)
    for box in ("media", "crop", "bleed", "trim", "art"):
        own = getattr(page, box)
        _expect(_in_order(own) and own[0] < own[2] and own[1] < own[3], f"the {box} box has no area", own)
        _expect(_within(own, page.media), f"the {box} box is not within the media", page)
    _expect(
        _near(page.trim[:2], (0.0, 0.0), _slack(page.media)), "the trim box does not start at the origin", page.trim
    )
    _expect(page.rotate in (0, 90, 180, 270) and page.user_unit > 0, "a page turned or scaled otherwise", page)
    _expect(page.blank == (page.ink is None and page.unread is None), "blank and ink disagree", page)
    if page.ink is not None:
        _expect(_in_order(page.ink) and _within(page.ink, page.media), "ink is not within the media", page)
    if page.text is not None:
        _expect(page.ink is not None and _within(page.text, page.ink), "text is not within the ink", page)
    _check_text(page)
    _expect(page.thinnest_rule is None or page.thinnest_rule >= 0, "a rule of less than nothing", page.thinnest_rule)
    _expect(page.most_ink is None or page.most_ink >= 0, "less than no ink", page.most_ink)


def _check_text(page: Page) -> None:
    has_text = page.text is not None
    _expect(has_text == (page.margins is not None), "margins and text disagree", page)
    _expect(has_text == (page.smallest_type is not None), "type and text disagree", page)
    _expect(page.smallest_type is None or page.smallest_type >= 0, "type of less than no size", page.smallest_type)
    if page.text is None or page.margins is None:
        return
    left, right = (
        (page.margins.inside, page.margins.outside)
        if page.side == "recto"
        else (page.margins.outside, page.margins.inside)
    )
    told = (left, page.margins.foot, page.trim[2] - right, page.trim[3] - page.margins.head)
    _expect(_near(told, page.text, _slack(page.media)), "margins are not from the text", page)
    for line in page.lines:
        _expect(_in_order(line.box) and _within(line.box, page.text), "a line is not within the text", line)


def _slack(box: Box) -> float:
    """What rounding may take, of figures as large as those of this box."""
    return _ROUNDING + max(map(abs, box)) * 1e-9


def _in_order(box: Box) -> bool:
    return box[0] <= box[2] and box[1] <= box[3]


def _within(inner: Box, outer: Box) -> bool:
    slack = _slack(outer)
    low = inner[0] >= outer[0] - slack and inner[1] >= outer[1] - slack
    return low and inner[2] <= outer[2] + slack and inner[3] <= outer[3] + slack


def _near(one: tuple[float, ...], other: tuple[float, ...], slack: float) -> bool:
    return all(abs(a - b) <= slack for a, b in zip(one, other, strict=True))


def _kept(measured: Measurements, folder: Path) -> Reading:
    """What comes back over the fence."""
    leave(reading_of(measured), folder)
    reading = found_in(folder)
    whole = measured.model_dump_json()
    _expect(Measurements.model_validate_json(whole).model_dump_json() == whole, "JSON and back is not the same")
    _expect(with_lines(reading.facts, reading.lines).model_dump_json() == whole, "facts and lines are not the whole")
    return reading


def _check_reports(reading: Reading, measured: Measurements, profile: Profile, *, twice: bool) -> None:
    try:
        once = _reports(reading, measured, profile)
        again = _reports(reading, measured, profile) if twice else once
    except Exception as error:
        raise _raised("reporting", error) from error
    _expect(once == again, "a report differs from itself", profile.id)


def _reports(reading: Reading, measured: Measurements, profile: Profile) -> tuple[str, str, str]:
    judgement = judge(reading.facts, profile)
    report = compose(reading.facts, reading.book, judgement, profile, measured_at=NOW)
    for finding in report.findings:
        _expect(all(1 <= page <= report.pages for page in finding.pages), "a finding is on no page", finding)
    return report.model_dump_json(), render_text(report), render_html(report, measured, profile)


def check_the_others(measured: Measurements, base: Measurements, spoilt: int) -> None:
    """All but the spoilt page measure as they did. Raises ``Broken``."""
    _expect(measured.document.pages == base.document.pages, "a spoilt page changes the count", measured.document.pages)
    for page, before in zip(measured.pages, base.pages, strict=True):
        _expect(page.page == spoilt or page == before, "a spoilt page changes another", (page, before))
    for kind in ("images", "links", "annotations"):
        now, then = (_elsewhere(getattr(facts, kind), spoilt) for facts in (measured, base))
        _expect(now == then, f"a spoilt page changes {kind} elsewhere", (now, then))
    _expect(
        _fonts_elsewhere(measured, spoilt) == _fonts_elsewhere(base, spoilt), "a spoilt page changes fonts elsewhere"
    )


def _elsewhere(facts: tuple[Any, ...], spoilt: int) -> list[Any]:
    return [fact for fact in facts if fact.page != spoilt]


def _fonts_elsewhere(measured: Measurements, spoilt: int) -> list[tuple[Any, ...]]:
    fonts = (
        (font.name, font.kind, font.embedded, [page for page in font.pages if page != spoilt],
         [place for place in font.places if place.page != spoilt])
        for font in measured.fonts
    )  # fmt: skip
    return sorted((font for font in fonts if font[3]), key=str)
