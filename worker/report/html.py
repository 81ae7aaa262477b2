"""The report as one HTML file that stands alone: no network, no outside font, no script.

Everything that comes from the PDF is escaped, and a policy in the file itself forbids all that it does not need.
"""

from __future__ import annotations

from base64 import b64encode
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
from worker.report.plate import plate
from worker.report.rows import row
from worker.report.sheets import DISPLAY_TYPE, pictures_by_page
from worker.report.since import since
from worker.report.spread_map import spread_map
from worker.units import runs
from worker.words import comma, counted, day, grouped, in_force, told

MOST_PLATES = 60


@dataclass(frozen=True)
class Told:
    """A finding ready to be set: its place in the report, its figures in words, its pages as runs."""

    number: int
    finding: Finding
    measured: str
    required: str
    runs: list[tuple[int, int]]
    plate: Markup


def render_html(report: Report, measurements: Measurements, profile: Profile) -> str:
    """The report of one inspection as a whole HTML document."""

    def live(page: Page) -> Box | None:
        return live_area(page, profile, report.judged_as_pages)

    binding = bound_at(measurements, profile)
    return (
        _environment()
        .get_template("report.html")
        .render(
            report=report,
            profile=profile,
            words=words,
            language=in_force().tag,
            since=since(report.comparison, profile.unit, report.pages) if report.comparison else None,
            policy=content_security_policy(),
            style=_style(),
            fore_edge=fore_edge(len(measurements.pages), report.findings, binding),
            spread_map=spread_map(
                measurements, report.findings, live, binding, report.book.folios if report.book else None
            ),
            found=_tell(report, measurements, profile),
            rows=[row(setting, profile.unit) for setting in report.setup],
            outlook=outlook(report, profile.unit),
            glossary=Glossary(),
            weights={weight: sum(finding.weight == weight for finding in report.findings) for weight in Weight},
            facts=facts(measurements, profile.unit, binding),
            book_facts=book_facts(report.book, profile.unit),
            right_bound=binding == "right",
        )
    )


def content_security_policy() -> str:
    """What a report needs to be shown: its own style, known by its hash, and nothing else."""
    digest = b64encode(sha256(_style().encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"


def _tell(report: Report, measurements: Measurements, profile: Profile) -> list[Told]:
    told = []
    drawing = _Plates(report, measurements, profile)
    for number, finding in enumerate(report.findings, start=1):
        measured, required = words.compared(finding.rule, finding.measured, finding.required, profile.unit)
        drawn = drawing.of(finding) if number <= MOST_PLATES else Markup("")
        told.append(Told(number, finding, measured, required, runs(finding.pages), drawn))
    return told


class _Plates:
    """Draws the worst page of each finding that has a mark on one."""

    def __init__(self, report: Report, measurements: Measurements, profile: Profile) -> None:
        self._pages = {page.page: page for page in measurements.pages}
        self._images = pictures_by_page(measurements)
        self._binding = bound_at(measurements, profile)
        self._profile = profile
        self._judged_as_pages = report.judged_as_pages
        sizes = sorted(line.size for page in measurements.pages for line in page.lines)
        self._display = DISPLAY_TYPE * sizes[len(sizes) // 2] if sizes else 14.0

    def of(self, finding: Finding) -> Markup:
        page = self._pages.get(finding.marks[0].page) if finding.marks else None
        if page is None or page.unread:
            return Markup("")
        live = live_area(page, self._profile, self._judged_as_pages)
        marks = marks_on([finding], page.page, self._binding)
        return plate(page, self._images.get(page.page, ()), live, marks, self._display)


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
