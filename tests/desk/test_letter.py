"""The letter says what the report says: each finding that has to be changed, where, and the number to type.

The report's own figures are those that ``tests/report`` holds against Typst and LibreOffice.
"""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from tests.desk import desk
from tests.report.books import MEASURED_AT, book, finding, inside_finding, judgement, unreadable
from tests.web import rows
from tests.web.visit import Visit
from worker.book import read_book
from worker.compare import compared, earlier_report
from worker.judge import judge
from worker.judge.models import Finding, Weight
from worker.profiles import builtin_profiles
from worker.report.compose import compose
from worker.report.letter import Occasion, letter
from worker.report.models import Report
from worker.store import Store
from worker.words import told

CAME = datetime(2026, 11, 28, 14, 0, tzinfo=UTC)
OCCASION = Occasion("Maud Kittering", "The Salt Road", CAME)
PROFILE = builtin_profiles()["ternhaven-mono"]


def _report(*findings: Finding, inside: float = 27.4) -> Report:
    measurements = book(96, inside=inside)
    return compose(measurements, read_book(measurements), judgement(findings, 96), PROFILE, measured_at=MEASURED_AT)


REFUSED = finding("font-not-embedded", Weight.REFUSAL, (7,), title="A font is missing", remedy="Embed Helvetica.")
SPOILT = finding("thin-rule", Weight.SPOILAGE, (9, 10), title="A rule is too thin")
POLISH = finding("widow", Weight.POLISH, (), title="A widow")


def test_it_has_a_greeting_a_verdict_each_finding_and_the_caution_once() -> None:
    report = _report(inside_finding((3, 4, 5)), REFUSED, SPOILT, POLISH)
    text = letter(report, OCCASION, "in")
    assert text.startswith("Dear Maud Kittering,\n\nThank you for the file of “The Salt Road” that came on 28 November")
    assert "would turn it away as it is: 2 things have to be changed first." in text
    for each in report.findings:
        assert f". {each.title}\n" in text
        assert each.remedy in text
        assert each.detail in text
        assert not each.pages or f" {each.page_ranges}\n" in text
    assert text.count(told("letter.caution")) == 1
    assert text.rstrip().endswith("With kind regards")


def test_the_numbers_to_type_are_those_of_the_report() -> None:
    measurements = book(300, inside=27.4)
    report = compose(
        measurements,
        read_book(measurements),
        judge(measurements, PROFILE, book=read_book(measurements)),
        PROFILE,
        measured_at=MEASURED_AT,
    )
    text = letter(report, OCCASION, "in")
    (inside,) = [setting for setting in report.setup if setting.name == "inside"]
    assert inside.set is not None
    assert f"Inside margin: {inside.set / 72:.3f}".rstrip("0").rstrip(".") in text
    assert "before you order" not in text  # an author orders nothing


@pytest.mark.parametrize(
    ("findings", "verdict", "asks"),
    [
        ((), "nothing in it has to be changed", False),
        ((POLISH,), "nothing in it has to be changed", False),
        ((SPOILT,), "would take it; but 1 thing would spoil the printed book", True),
        ((REFUSED,), "1 thing has to be changed first", True),
        ((REFUSED, inside_finding((3,))), "2 things have to be changed first", True),
    ],
)
def test_the_verdict_is_one_sentence(findings: tuple[Finding, ...], verdict: str, asks: bool) -> None:
    text = letter(_report(*findings), OCCASION, "in")
    assert verdict in text
    assert ("Please make these changes" in text) == asks


def test_what_is_mended_new_and_still_there_since_the_last_file() -> None:
    earlier = _report(inside_finding((3, 4, 5)), SPOILT)
    later = _report(SPOILT, POLISH).model_copy(
        update={"file": earlier.file.model_copy(update={"sha256": "6f" * 32, "name": "salt-road-2.pdf"})}
    )
    report = compared(later, earlier_report(earlier.model_dump_json().encode()))
    text = letter(report, OCCASION, "in")
    assert "Mended since your last file: Text too near the spine." in text
    assert "New in this one: A widow." in text
    assert "Still there: A rule is too thin." in text


def test_another_number_of_pages_than_agreed_on_is_asked_about() -> None:
    occasion = Occasion("Maud Kittering", "The Salt Road", CAME, expected_pages=312, link=True, signed="Orla Fenwick")
    text = letter(_report(REFUSED), occasion, "in")
    assert "We counted on 312 pages, and this file has 96." in text
    assert "by the link that you have from us" in text
    assert text.endswith("With kind regards\nOrla Fenwick\n")
    agreed = Occasion("Maud Kittering", "The Salt Road", CAME, expected_pages=96)
    assert "We counted on" not in letter(_report(REFUSED), agreed, "in")


def test_a_file_that_cannot_be_read_is_to_be_exported_again() -> None:
    torn = unreadable()
    report = compose(torn, read_book(torn), judge(torn, PROFILE), PROFILE, measured_at=MEASURED_AT)
    text = letter(report, OCCASION, "in")
    assert "Please export the book as a PDF once more" in text
    assert "0 pages" not in text


def test_a_strangers_words_cannot_break_the_letter() -> None:
    evil = _report(REFUSED.model_copy(update={"title": "A\nDear all,\u202e", "detail": "\x1b[2J"}))
    text = letter(evil, Occasion("Maud\u202e", "The Salt\x00Road", CAME), "in")
    assert not {"\x00", "\x1b", "\u202e"} & set(text)
    assert "\nDear all" not in text


def test_it_is_shown_to_be_copied_and_as_plain_text(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    desk.inspected(store, title)
    place = f"/titles/{title.id}/submissions/1/letter"
    page = visit.get(place)
    plain = visit.client.get(f"{place}.txt")
    assert plain.mimetype == "text/plain"
    assert plain.headers["X-Content-Type-Options"] == "nosniff"
    assert plain.get_data(as_text=True).strip() in page.text
    assert "Text too near the spine" in page.text
    assert "with number" not in page.text


def test_who_has_sent_it_waits_for_the_author(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    desk.inspected(store, title)
    form = visit.get(f"/titles/{title.id}/submissions/1/letter").form("/standing")
    assert visit.submit(form, standing="waiting-for-author").status_code == 303
    assert desk.now(store, title).standing == "waiting-for-author"


def test_there_is_no_letter_without_a_report(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    desk.submitted(store, title, rows.queued(store))
    for number in (0, 1, 2, 10**30):
        for end in ("letter", "letter.txt"):
            assert visit.get(f"/titles/{title.id}/submissions/{number}/{end}").status == 404
