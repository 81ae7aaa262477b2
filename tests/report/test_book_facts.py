"""How the book is built, as the colophon and the spread map tell it."""

from __future__ import annotations

from tests.judge.built import OPENINGS, PAGES, TITLES, measured, sound_book
from tests.judge.factory import profile
from tests.report.books import MEASURED_AT
from worker.judge import judge
from worker.report.book_facts import book_facts
from worker.report.compose import compose
from worker.report.html import render_html
from worker.report.models import Report


def report(**changed: object) -> Report:
    book = sound_book().model_copy(update={"folios": {9: "1", 10: "2"}, **changed})
    judgement = judge(measured(), profile(), book=book)
    return compose(measured(), book, judgement, profile(), measured_at=MEASURED_AT)


def test_folios_are_told_in_runs_and_openings_with_their_pages() -> None:
    facts = {fact.name: fact.value for fact in book_facts(sound_book(), "in")}
    assert facts["Folios"].startswith("pages 9–67: 1 to 59")
    assert f"{TITLES[1]} (page {OPENINGS[1]}, folio 13)" in facts["Openings"]
    assert facts["Title page"] == "page 3"
    assert facts["Lines"].startswith("14 pt from line to line")


def test_a_book_that_was_not_read_has_no_such_facts() -> None:
    assert book_facts(None, "in") == ()


def test_the_report_has_the_book_and_the_page_shows_it() -> None:
    made = report()
    assert made.book is not None
    assert len(made.book.pages) == PAGES
    shown = render_html(made, measured(), profile())
    assert "<span>9 <i>1</i></span>" in shown
    assert "The book" in shown


def test_what_a_folio_says_is_escaped() -> None:
    shown = render_html(report(folios={9: "<b>1"}), measured(), profile())
    assert "<i>&lt;b&gt;1</i>" in shown
    assert "<b>1" not in shown


def test_the_number_to_start_with() -> None:
    """Front matter counted in arabic: chapter one is page 9 of the file, so the first page would be 2 − 9."""
    pages = tuple(
        page.model_copy(update={"folio": page.folio.model_copy(update={"value": page.folio.value + 8})})
        if page.folio
        else page
        for page in sound_book().pages
    )
    settings = {setting.name: setting for setting in report(pages=pages).setup}
    start = settings["folio-start"]
    assert (start.measured, start.required, start.set, start.unit) == (1, -7, -7, None)


def test_a_sound_book_need_not_be_told_where_to_start() -> None:
    assert "folio-start" not in {setting.name for setting in report().setup}
