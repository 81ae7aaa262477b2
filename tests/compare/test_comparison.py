"""A flawed book and the mended one: findings are mended, new or staying as the two were set; laws of comparing.

What was made wrong on which page is how the books were asked to be set; where pages went is told by Typst's layout.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.books.designs.by_typst import layout
from tests.books.designs.sound import PLAIN
from tests.compare.books import MORE_FRONT, Book, as_earlier, made, went
from tests.report.books import MEASURED_AT, book, finding, inside_finding, judgement
from worker.book import read_book
from worker.compare import compared
from worker.judge.models import Finding, NotChecked, Weight
from worker.profiles import Profile, load_profile
from worker.report.compose import compose
from worker.report.html import render_html
from worker.report.models import Comparison, Report
from worker.report.text import render_text

PRINTER = load_profile("ternhaven-mono")


@dataclass(frozen=True)
class Pair:
    """A flawed book and the one that was made of it, and the pages whose folios are wrong in them."""

    old: Book
    new: Book
    wrong: tuple[int, int]
    wrong_now: tuple[int, int]
    comparison: Comparison
    report: Report


@pytest.fixture(scope="module")
def pair(tmp_path_factory: pytest.TempPathFactory) -> Pair:
    """Text too near the outer edge, and two wrong folios; then wider margins, two leaves more in front, one wrong folio
    mended, one left as it is, another made wrong, and a running head that is another chapter's."""
    folder = tmp_path_factory.mktemp("pair")
    reset = PLAIN.but(outside=60.0, front=MORE_FRONT)
    flawed = PLAIN.but(outside=12.0)
    places, after = layout(flawed), layout(reset)
    mended, stays = (places.openings[at] + 1 for at in (1, 3))
    (still,) = went(places, after)[stays] & {after.openings[3] + 1}
    made_wrong = after.openings[4] + 1
    head_on = next(page for page in range(after.openings[2] + 1, after.openings[2] + 3) if page % 2)
    old = made(flawed.but(wrong_folios={str(mended): "97", str(stays): "98"}), folder / "old.pdf")
    new = made(
        reset.but(
            wrong_folios={str(still): "98", str(made_wrong): "99"},
            wrong_heads={str(head_on): PLAIN.chapters[0]["title"]},
        ),
        folder / "new.pdf",
    )
    report = compared(new.report, as_earlier(old.report))
    assert report.comparison is not None
    return Pair(old, new, (mended, stays), (still, made_wrong), report.comparison, report)


def test_findings_are_mended_new_and_staying_as_the_books_were_set(pair: Pair) -> None:
    assert [each.rule for each in pair.comparison.mended] == ["outside-margin"]
    assert [each.rule for each in pair.comparison.new] == ["running-head"]
    assert [each.rule for each in pair.comparison.staying] == ["folio-order"]
    assert pair.comparison.untold == ()
    assert pair.comparison.note is None
    assert not pair.comparison.same_file
    assert pair.comparison.summary == ("Of 2 earlier findings 1 is mended and 1 stays; 1 is new.")


def test_of_a_finding_that_stays_pages_are_mended_new_and_staying(pair: Pair) -> None:
    (folios,) = pair.comparison.staying
    mended, stays = pair.wrong
    still, made_wrong = pair.wrong_now
    assert stays != still, "the page has moved"
    assert (folios.pages_mended, folios.pages_staying, folios.pages_new) == ((mended,), (still,), (made_wrong,))


def test_what_is_compared_with_is_named(pair: Pair) -> None:
    against = pair.comparison.against
    assert (against.name, against.sha256) == ("old.pdf", pair.old.reading.facts.file.sha256)
    assert against.pages == pair.old.reading.facts.document.pages
    assert against.verdict == "not-pressworthy"


def test_all_three_forms_of_the_report_say_it_first(pair: Pair) -> None:
    data = json.loads(pair.report.model_dump_json())
    assert data["comparison"]["mended"][0]["rule"] == "outside-margin"
    assert Report.model_validate(data).model_dump(mode="json") == data
    text = render_text(pair.report, unit="in")
    page = _Words(render_html(pair.report, pair.new.reading.measurements, load_profile("common-paperback"))).text
    for whole in (text, page):
        assert whole.index("Since the earlier file") < whole.index("What to change")
        plain = " ".join(whole.split())
        for said in (pair.comparison.summary, "old.pdf", "Mended", "New", "Staying"):
            assert said in plain
        assert f"Mended: page {pair.wrong[0]} of the earlier file" in plain


def test_without_an_earlier_file_nothing_is_said_of_one(pair: Pair) -> None:
    assert "earlier file" not in render_text(pair.new.report)
    assert pair.new.report.comparison is None


def test_a_report_compared_with_itself_has_nothing_mended_and_nothing_new(pair: Pair) -> None:
    for each in (pair.old, pair.new):
        comparison = compared(each.report, as_earlier(each.report)).comparison
        assert comparison is not None
        assert comparison.same_file
        assert (comparison.mended, comparison.new, comparison.untold) == ((), (), ())
        assert [(one.key, one.pages_staying) for one in comparison.staying] == [
            (one.key, one.pages) for one in each.report.findings
        ]
        assert all(one.pages_new == one.pages_mended == () for one in comparison.staying)
        assert comparison.pages_map == ((1, each.report.pages, 1),)


_PAGES = st.sets(st.integers(1, 30)).map(lambda pages: tuple(sorted(pages)))
_FINDINGS = st.dictionaries(st.sampled_from(["widow", "orphan", "sinkage", "small-type", "thin-rule"]), _PAGES)


@given(_FINDINGS, _FINDINGS)
def test_every_finding_and_every_page_is_told_once(
    before: dict[str, tuple[int, ...]], now: dict[str, tuple[int, ...]]
) -> None:
    """A book of thirty pages and the same one with two pages put in before page 11."""
    traces = tuple(f"{page:04}" * 1 for page in range(30))
    longer = (*traces[:10], "newp", "newq", *traces[10:])
    old = _report(before, traces, name="old.pdf")
    new = _report(now, longer, name="new.pdf")
    comparison = compared(new, as_earlier(old)).comparison
    assert comparison is not None
    assert comparison.pages_map == ((1, 10, 1), (11, 30, 13))
    assert {each.key for each in comparison.mended} == before.keys() - now.keys()
    assert {each.key for each in comparison.new} == now.keys() - before.keys()
    assert {each.key for each in comparison.staying} == now.keys() & before.keys()
    for each in comparison.staying:
        was, is_now = set(before[each.key]), set(now[each.key])
        moved = {page if page <= 10 else page + 2 for page in was}
        assert set(each.pages_staying) == moved & is_now
        assert set(each.pages_new) == is_now - moved
        assert {page if page <= 10 else page + 2 for page in each.pages_mended} == moved - is_now


def test_a_rule_that_was_not_tried_this_time_mends_nothing() -> None:
    old = _report({"widow": (3,), "ink-coverage": (4,)}, name="old.pdf")
    comparison = compared(_report({}, name="new.pdf"), as_earlier(old)).comparison  # ink-coverage is not tried
    assert comparison is not None
    assert [each.rule for each in comparison.mended] == ["widow"]
    assert [each.rule for each in comparison.untold] == ["ink-coverage"]
    assert "1 cannot be told" in comparison.summary


def test_what_was_not_tried_before_may_have_been_there() -> None:
    old = _report({}, name="old.pdf").model_copy(update={"not_checked": (NotChecked(rule="widow", why="No prose."),)})
    note = _note(_report({"widow": (3,)}, name="new.pdf"), old)
    assert "could not try widow" in note


def test_another_printer_and_another_revision_are_said() -> None:
    new = _report({"widow": (3,)}, name="new.pdf")
    other = new.profile.model_copy(update={"id": "skerrylight-colour", "name": "Skerrylight, colour"})
    assert "another printer, Skerrylight, colour" in _note(new, new.model_copy(update={"profile": other}))
    revised = new.profile.model_copy(update={"revision": "1999-01"})
    assert "revision 1999-01" in _note(new, new.model_copy(update={"profile": revised}))
    assert "a book of 300 pages" in _note(new, new.model_copy(update={"judged_as_pages": 300}))


def test_a_report_without_traces_is_compared_as_a_whole() -> None:
    """One that was made before reports had any: its JSON has no such member."""
    old = json.loads(_report({"widow": (3,), "orphan": (4,)}, name="old.pdf").model_dump_json())
    del old["traces"]
    new = _report({"widow": (5,)}, name="new.pdf")
    comparison = compared(new, as_earlier(Report.model_validate(old))).comparison
    assert comparison is not None
    assert [each.rule for each in comparison.mended] == ["orphan"]
    (stays,) = comparison.staying
    assert (stays.pages, stays.pages_mended, stays.pages_new, stays.pages_staying) == ((5,), (), (), ())
    assert (comparison.followed, comparison.pages_map) == (False, ())
    assert "could not be followed" in (comparison.note or "")


def test_another_book_is_said_to_be_one() -> None:
    ours, theirs = (tuple(f"{sign}{page:03}" for page in range(30)) for sign in "ab")
    assert "may be another book" in _note(_report({}, theirs, name="new.pdf"), _report({}, ours, name="old.pdf"))


def test_figures_before_and_now_stand_side_by_side() -> None:
    old = _whole((inside_finding((3, 5), worst=20.0),), name="old.pdf")
    new = compared(_whole((inside_finding((3, 5), worst=27.4),), name="new.pdf"), as_earlier(old))
    assert new.comparison is not None
    (stays,) = new.comparison.staying
    assert stays.measured_before is not None
    assert stays.measured is not None
    assert (stays.measured_before.value, stays.measured.value) == (20.0, 27.4)
    assert "Measured 0.278 in (7.1 mm) before, 0.381 in (9.7 mm) now" in " ".join(render_text(new).split())


@given(st.text(max_size=200))
def test_titles_and_names_of_an_earlier_report_are_text_on_the_page(words: str) -> None:
    """An earlier report is a stranger's JSON: no element of the page comes from it."""
    hostile = f"<img src=x onerror=alert(1)>{words}\N{RIGHT-TO-LEFT OVERRIDE}</p>"
    old = json.loads(_report({"widow": (3,)}, name="old.pdf").model_dump_json())
    old["findings"][0]["title"] = old["file"]["name"] = hostile
    old["profile"] |= {"id": "elsewhere", "name": hostile}
    report = compared(_report({}, name="new.pdf"), as_earlier(Report.model_validate(old)))
    shown = _Words(render_html(report, book(30), PRINTER))
    assert "img" not in shown.tags
    assert "onerror=alert(1)" in shown.text
    assert "\N{RIGHT-TO-LEFT OVERRIDE}" not in shown.text


class _Words(HTMLParser):
    """The tags of a page, and its words without its style."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self._said: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        if self.tags and self.tags[-1] not in ("style", "title"):
            self._said.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self._said).split())


def _report(found: dict[str, tuple[int, ...]], traces: tuple[str, ...] = (), *, name: str) -> Report:
    return _whole(tuple(finding(rule, Weight.POLISH, pages) for rule, pages in found.items()), traces, name=name)


def _whole(findings: tuple[Finding, ...], traces: tuple[str, ...] = (), *, name: str) -> Report:
    pages = len(traces) or 30
    traces = traces or tuple(f"{page:04}" for page in range(pages))
    measured = book(pages)
    file = measured.file.model_copy(update={"name": name, "sha256": name.encode().hex().ljust(64, "0")})
    measured = measured.model_copy(update={"file": file})
    profile: Profile = PRINTER
    return compose(
        measured, read_book(measured), judgement(findings, pages), profile, measured_at=MEASURED_AT, traces=traces
    )


def _note(new: Report, old: Report) -> str:
    comparison = compared(new, as_earlier(old)).comparison
    assert comparison is not None
    return comparison.note or ""
