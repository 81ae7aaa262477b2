"""The report as a calm text for a terminal or a pipe: the same findings, numbers and cautions as the page."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from worker.judge.models import Finding, Weight
from worker.report import words
from worker.report.book_facts import book_facts
from worker.report.fore_edge import findings_by_page
from worker.report.glossary import Glossary
from worker.report.models import Report
from worker.report.outlook import outlook
from worker.report.rows import Row, row
from worker.report.since import since
from worker.units import Unit
from worker.words import grouped, told

LEAST_WIDTH = 40
LABEL = 18
"""The column in which labels stand, where there is room for it."""
RULES = {Weight.REFUSAL: "┃", Weight.SPOILAGE: "│", Weight.POLISH: "┆"}
"""The weights as the thickness of a line, on the text's own fore-edge and beside its findings."""
PLAIN_LEAF = "·"
MOST_OPENINGS = 12
"""A terminal shows the first chapters, the page all of them."""

BOLD, FAINT, USUAL = "\x1b[1m", "\x1b[2m", "\x1b[0m"


def render_text(report: Report, *, unit: Unit = "in", width: int = 80, colour: bool = False) -> str:
    """The report wrapped to ``width`` columns, lengths in ``unit`` with the other beside it.

    With ``colour`` headings are bold and labels faint, for a terminal; without it the text holds no control codes.
    """
    page = _Page(max(LEAST_WIDTH, width), unit, colour)
    lines = [*page.head(report), *page.since(report), *page.findings(report), *page.setup(report), *page.book(report)]
    lines += [*page.words(), *page.colophon(report)]
    return "\n".join(lines).rstrip() + "\n"


class _Page:
    """Sets one report; every method yields whole lines."""

    def __init__(self, width: int, unit: Unit, colour: bool) -> None:
        self._width = width
        self._unit = unit
        self._colour = colour
        self._glossary = Glossary()

    def head(self, report: Report) -> Iterator[str]:
        yield from self._wrapped(report.summary, bold=True)
        yield ""
        yield from self._labelled(told("page.labels.file"), report.file.name)
        yield from self._labelled(told("page.labels.pages"), _pages(report))
        profile = report.profile
        judge = told("page.labels.judged-for-whom", printer=profile.name, id=profile.id, revision=profile.revision)
        yield from self._labelled(told("page.labels.judged-for"), judge)
        yield from self._fore_edge(report)
        yield ""

    def _fore_edge(self, report: Report) -> Iterator[str]:
        """The book from its fore-edge: a sign for each leaf, or for a few leaves where the book is thick."""
        touched = findings_by_page(report.findings)
        if not touched or not report.pages:
            return
        leaves = (report.pages + 1) // 2
        room = min(leaves, self._width - 2 - len(str(report.pages)) - 2)
        flagged: list[Weight | None] = [None] * room
        for page, numbers in touched.items():
            place = min(room - 1, (page - 1) // 2 * room // leaves)
            weights = [report.findings[number - 1].weight for number in numbers]
            flagged[place] = _heaviest([*weights, flagged[place]])
        yield ""
        signs = "".join(RULES[weight] if weight else PLAIN_LEAF for weight in flagged)
        yield f"1 {signs} {report.pages}"

    def since(self, report: Report) -> Iterator[str]:
        """What has changed since an earlier file, where there is one."""
        if report.comparison is None:
            return
        changed = since(report.comparison, self._unit, report.pages)
        yield from self._heading(told("comparison.title"))
        yield from self._wrapped(changed.summary)
        yield ""
        yield from self._labelled(told("comparison.compared-with"), changed.against)
        yield from self._labelled(told("comparison.note-label"), changed.note)
        yield ""
        for group in changed.groups:
            yield from self._wrapped(group.name)
            for change in group.changes:
                sign = RULES[change.weight] + " "
                yield from self._wrapped(_weighed(change.title, change.weight), first=sign, rest=sign)
                for line in change.told:
                    yield from self._wrapped(line, first=sign + "  ", rest=sign + "  ")
            yield ""
        if changed.moved:
            yield from self._labelled(told("comparison.pages-label"), changed.moved)
            yield ""

    def findings(self, report: Report) -> Iterator[str]:
        if not report.findings:
            yield from self._wrapped(told("page.findings.none-on-a-screen"))
            yield ""
            return
        yield from self._heading(told("page.findings.title"))
        for number, finding in enumerate(report.findings, start=1):
            yield from self._finding(number, finding)
            yield ""

    def _finding(self, number: int, finding: Finding) -> Iterator[str]:
        sign = RULES[finding.weight] + " "
        title = f"{number}. {_weighed(finding.title, finding.weight)}"
        yield from self._wrapped(title, first=sign, rest=sign, bold=True)
        yield from self._wrapped(finding.detail, first=sign, rest=sign)
        for text in (finding.title, finding.detail, finding.effect, finding.remedy):
            self._glossary.explained(text)
        measured, required = words.compared(finding.rule, finding.measured, finding.required, self._unit)
        labelled = {
            "measured": measured,
            "asked": required,
            "where": _where(finding),
            "effect-short": finding.effect,
            "remedy": finding.remedy,
        }
        for label, text in labelled.items():
            yield from self._labelled(told(f"page.finding.{label}"), text, sign)

    def setup(self, report: Report) -> Iterator[str]:
        if not report.setup:
            return
        rows = [row(setting, self._unit) for setting in report.setup]
        yield from self._heading(told("setup.title"))
        yield from self._table(rows) if self._width >= _table_width(rows) else self._stacked(rows)
        yield ""
        for noted in rows:
            if noted.note:
                yield from self._wrapped(told("setup.noted", name=noted.name, note=noted.note))
        foretold = outlook(report, self._unit)
        if foretold:
            yield ""
            yield from self._wrapped(foretold)
        yield ""

    def _table(self, rows: list[Row]) -> Iterator[str]:
        columns = _cells(rows)
        widths = [max(len(cell) for cell in column) for column in zip(*columns, strict=True)]
        for index, cells in enumerate(columns):
            line = "  ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True)).rstrip()
            yield self._faint(line) if index == 0 else line

    def _stacked(self, rows: list[Row]) -> Iterator[str]:
        """Where the table is too wide for the screen, each setting stands by itself."""
        for one in rows:
            yield one.name
            for label, value in (("measured", one.measured), ("asked", one.required), ("type-this", one.typed)):
                yield from self._labelled(told(f"setup.{label}"), value or "–", "  ")

    def book(self, report: Report) -> Iterator[str]:
        facts = book_facts(report.book, self._unit, most_openings=MOST_OPENINGS)
        if facts:
            yield from self._heading(told("page.book.title"))
            for fact in facts:
                yield from self._wrapped(f"{fact.name}: {fact.value}", rest="  ")
            yield ""

    def words(self) -> Iterator[str]:
        """Only after all else: it explains what was used."""
        explained = list(self._glossary.entries())
        if explained:
            yield from self._heading(told("page.words.title"))
            for _, word, meaning in explained:
                yield from self._wrapped(f"{word}: {meaning}", rest="  ")
            yield ""

    def colophon(self, report: Report) -> Iterator[str]:
        if report.not_checked:
            yield from self._heading(told("colophon.not-checked.title"))
            for why, rules in words.by_reason(report.not_checked).items():
                yield from self._wrapped(f"{why} {', '.join(rules)}", rest="  ")
            yield ""
        yield from self._wrapped(told("page.caution"))

    def _heading(self, text: str) -> Iterator[str]:
        yield self._bold(text)
        yield ""

    def _labelled(self, label: str, text: str, sign: str = "") -> Iterator[str]:
        if not text:
            return
        first = f"{sign}{label}".ljust(LABEL)
        lines = list(self._wrapped(text, first=" " * len(first), rest=sign.ljust(LABEL)))
        yield self._faint(first) + lines[0][len(first) :]
        yield from lines[1:]

    def _wrapped(self, text: str, *, first: str = "", rest: str = "", bold: bool = False) -> Iterator[str]:
        text = words.shown(" ".join(text.split()))
        for line in textwrap.wrap(text, self._width, initial_indent=first, subsequent_indent=rest) or [first]:
            yield self._bold(line) if bold else line

    def _bold(self, text: str) -> str:
        return f"{BOLD}{text}{USUAL}" if self._colour else text

    def _faint(self, text: str) -> str:
        return f"{FAINT}{text}{USUAL}" if self._colour else text


def _pages(report: Report) -> str:
    if report.judged_as_pages == report.pages:
        return grouped(report.pages)
    return told("page.labels.judged-as", pages=grouped(report.pages), book=grouped(report.judged_as_pages))


def _weighed(title: str, weight: Weight) -> str:
    return told("page.labels.weighed", title=title, weight=told(f"verdict.weights.{weight.value}.name"))


def _heaviest(weights: Iterable[Weight | None]) -> Weight | None:
    order = list(Weight)
    return min((weight for weight in weights if weight), key=order.index, default=None)


def _where(finding: Finding) -> str:
    if not finding.pages:
        return told("page.finding.whole-file")
    return told("page.finding.on", so_many=words.so_many_pages(len(finding.pages)), pages=finding.page_ranges)


def _cells(rows: list[Row]) -> list[tuple[str, ...]]:
    head = tuple(told(f"setup.{name}") for name in ("setting", "measured", "asked", "type-this"))
    return [head, *((one.name, one.measured or "–", one.required or "–", one.typed) for one in rows)]


def _table_width(rows: list[Row]) -> int:
    return sum(max(len(cell) for cell in column) for column in zip(*_cells(rows), strict=True)) + 6
