"""The report as one HTML file that stands alone: no network, no outside font, no script.

Everything that comes from the PDF is escaped, and a policy in the file itself forbids all that it does not need.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Container, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from hashlib import sha256
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from worker.judge.live_area import live_area
from worker.judge.models import Finding, Weight
from worker.measure.models import Box, Measurements, Page
from worker.profiles import Profile
from worker.report import words
from worker.report.book_facts import book_facts
from worker.report.drawing import bound_at, marks_on
from worker.report.facts import facts
from worker.report.fore_edge import fore_edge
from worker.report.glossary import Glossary
from worker.report.models import Report
from worker.report.outlook import outlook
from worker.report.plate import picture, plate
from worker.report.rows import row
from worker.report.sheets import DISPLAY_TYPE, pictures_by_page
from worker.report.since import since
from worker.report.spread_map import spread_map
from worker.report.underlay import within_budget
from worker.report.worst_pages import worst_pages
from worker.units import runs
from worker.words import comma, counted, day, grouped, in_force, told

MOST_RUNS, FEW_RUNS = 40, 24
"""Runs of pages that stand beside a finding; of more than the first number, the second stand in the open."""
LARGEST = 2_900_000
"""Bytes of a report with pictures. One that is longer without any (a book of thousands of pages) has none."""


@dataclass(frozen=True)
class Told:
    """A finding ready to be set: its place in the report, its figures in words, its pages as runs."""

    number: int
    finding: Finding
    measured: str
    required: str
    runs: list[tuple[int, int]]
    plates: list[Plate]

    @property
    def shown(self) -> list[tuple[int, int]]:
        """The runs that stand in the open: all of them, or the first few of very many."""
        return self.runs if len(self.runs) <= MOST_RUNS else self.runs[:FEW_RUNS]

    @property
    def folded(self) -> list[tuple[int, int]]:
        """Those that are shown when they are asked for."""
        return self.runs[len(self.shown) :]


@dataclass(frozen=True)
class Plate:
    """A page of a finding, drawn; ``pictured`` where a picture of the page lies under the marks."""

    page: int
    drawn: Markup
    pictured: bool


def render_html(
    report: Report, measurements: Measurements, profile: Profile, *, pictures: Mapping[int, bytes] | None = None
) -> str:
    """The report of one inspection as a whole HTML document.

    ``pictures`` are those of :func:`worker.report.underlay.picture_order`, WebP by page, as far as there are any. A
    page without one is drawn from its measurements; so is one for which there is no room.
    """
    setting = _Setting(report, measurements, profile)
    shown = within_budget(pictures or {}, report)
    page = setting.page(shown)
    while shown and (over := len(page.encode()) - LARGEST) > 0:
        left = sum(map(len, shown.values())) - over * 3 // 4 - 1
        shown = within_budget(shown, report, left)
        page = setting.page(shown)
    return page


class _Setting:
    """A report ready to be set, with whatever pictures."""

    def __init__(self, report: Report, measurements: Measurements, profile: Profile) -> None:
        self._report = report
        self._profile = profile
        self._pages = {page.page: page for page in measurements.pages}
        self._plates = _Plates(report, measurements, profile)
        self._same = _told_alike(report, measurements, profile)

    def page(self, pictures: Mapping[int, bytes]) -> str:
        """The whole document; ``pictures`` are all shown."""
        return (
            _environment()
            .get_template("report.html")
            .render(
                self._same,
                policy=content_security_policy(pictured=bool(pictures)),
                pictures=[picture(self._pages[number], data) for number, data in pictures.items()],
                found=_tell(self._report, self._profile, self._plates, pictures),
                glossary=Glossary(),
            )
        )


def _told_alike(report: Report, measurements: Measurements, profile: Profile) -> dict[str, object]:
    """What a report says and draws, with pictures or without."""

    def live(page: Page) -> Box | None:
        return live_area(page, profile, report.judged_as_pages)

    binding = bound_at(measurements, profile)
    return {
        "report": report,
        "profile": profile,
        "words": words,
        "language": in_force().tag,
        "since": since(report.comparison, profile.unit, report.pages) if report.comparison else None,
        "style": _style(),
        "fore_edge": fore_edge(len(measurements.pages), report.findings, binding),
        "spread_map": spread_map(
            measurements, report.findings, live, binding, report.book.folios if report.book else None
        ),
        "rows": [row(setting, profile.unit) for setting in report.setup],
        "outlook": outlook(report, profile.unit),
        "weights": {weight: sum(finding.weight == weight for finding in report.findings) for weight in Weight},
        "facts": facts(measurements, profile.unit, binding),
        "book_facts": book_facts(report.book, profile.unit),
        "right_bound": binding == "right",
    }


def content_security_policy(*, pictured: bool = False) -> str:
    """What a report needs to be shown: its own style, known by its hash, pictures in itself if any, nothing else."""
    digest = b64encode(sha256(_style().encode()).digest()).decode()
    images = "img-src data:; " if pictured else ""
    return f"default-src 'none'; style-src 'sha256-{digest}'; {images}base-uri 'none'; form-action 'none'"


def _tell(report: Report, profile: Profile, plates: _Plates, pictures: Container[int]) -> list[Told]:
    found: list[Told] = []
    for finding, pages in zip(report.findings, worst_pages(report.findings, plates), strict=True):
        measured, required = words.compared(finding.rule, finding.measured, finding.required, profile.unit)
        drawn = [plates.of(finding, page, pictured=page in pictures) for page in pages]
        found.append(Told(len(found) + 1, finding, measured, required, runs(finding.pages), drawn))
    return found


class _Plates:
    """Draws the worst pages of findings; it contains the pages that it can draw."""

    def __init__(self, report: Report, measurements: Measurements, profile: Profile) -> None:
        self._pages = {page.page: page for page in measurements.pages if not page.unread}
        self._images = pictures_by_page(measurements)
        self._binding = bound_at(measurements, profile)
        self._profile = profile
        self._judged_as_pages = report.judged_as_pages
        sizes = sorted(line.size for page in measurements.pages for line in page.lines)
        self._display = DISPLAY_TYPE * sizes[len(sizes) // 2] if sizes else 14.0

    def __contains__(self, page: object) -> bool:
        return page in self._pages

    def of(self, finding: Finding, number: int, *, pictured: bool) -> Plate:
        page = self._pages[number]
        live = live_area(page, self._profile, self._judged_as_pages)
        marks = marks_on([finding], number, self._binding)
        images = self._images.get(number, ())
        return Plate(number, plate(page, images, live, marks, self._display, pictured=pictured), pictured)


def _finalize(value: object) -> object:
    """Strings from a file lose what could turn the line about; drawings of our own stay as they are."""
    return words.shown(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _marked(key: str, **facts: object) -> Markup:
    """A text of the catalogue into which names are put that are marked up."""
    return Markup(escape(in_force().text(key))).format(**facts)  # noqa: S704 - escaped


def _name(text: str) -> Markup:
    """A name from a file or a profile, kept apart from the direction in which the text around it is written."""
    return Markup("<bdi>{}</bdi>").format(words.shown(text))


def _moment(when: datetime) -> str:
    return told("dates.time", day=day(when), time=f"{when:%H:%M}", zone=when.tzname() or "")


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("worker.report"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_finalize,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals |= {
        "told": told, "counted": counted, "grouped": grouped, "comma": comma, "marked": _marked, "name": _name,
        "moment": _moment,
    }  # fmt: skip
    return environment


@cache
def _style() -> Markup:
    return Markup(files("worker.report").joinpath("templates/report.css").read_text("utf-8"))  # noqa: S704 - our own
