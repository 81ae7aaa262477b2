"""No word of a report stands in code: in a language in which every word is marked, no plain English word is left."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pikepdf
import pypdfium2 as pdfium
import pytest
from pikepdf import Array, Name

from tests.report.books import MEASURED_AT, unreadable
from tests.words.pseudo import ACCENTED, TAG, marked, pseudo_language
from worker.book import Book, read_book
from worker.compare import compared, earlier_report
from worker.judge import judge
from worker.measure import measure
from worker.measure.models import Measurements
from worker.profiles import Profile, builtin_profiles
from worker.proof.making import make_proof
from worker.proof.order import order_of
from worker.reading import Reading, reading_of
from worker.report.compose import compose
from worker.report.html import render_html
from worker.report.letter import Occasion, letter
from worker.report.models import Report
from worker.report.text import render_text
from worker.rules import RULES
from worker.words import speaking
from worker.words.catalogue import Catalogue, shipped

BOOKS = ("second-harbour", "seven-weathers", "tide-tables", "letters-from-the-pump")
"""One with a fault of nearly every kind, one in colour, one that is sound, one whose margins do not mirror."""
WORD = re.compile(r"[^\W\d_]{2,}")
FIGURE = re.compile(r"\d (in|mm|pt|ppi)\b")
"""A figure with the symbol of its unit."""
OF_NO_LANGUAGE = {
    "UTC",  # the name of a time zone
    "media", "trim", "bleed", "uri", "goto", "gray", "cmyk",  # members and values of the measurements
    "Text",  # a kind of annotation (ISO 32000-1 12.5.6.4)
}  # fmt: skip
SPOKEN = ("alt", "title", "aria-label", "aria-description", "content")


@pytest.fixture(scope="module")
def language(tmp_path_factory: pytest.TempPathFactory) -> Catalogue:
    return pseudo_language(tmp_path_factory.mktemp("marked"))


@pytest.fixture(scope="module")
def readings(sample_pdfs: Path) -> dict[str, Reading]:
    return {name: reading_of(measure(sample_pdfs / f"{name}.pdf")) for name in BOOKS}


class _Spoken(HTMLParser):
    """What a page says: its text, and the attributes that are read out."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.said: list[str] = []
        self._style = False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._style = tag == "style"
        if tag != "meta":
            self.said += [value for name, value in attrs if name in SPOKEN and value]

    def handle_endtag(self, tag: str) -> None:
        self._style = False

    def handle_data(self, data: str) -> None:
        if not self._style:
            self.said.append(data)


def _report(facts: Measurements, book: Book, profile: Profile, **keys: int) -> Report:
    judgement = judge(facts, profile, book=book, judged_as_pages=keys.get("pages"))
    return compose(facts, book, judgement, profile, measured_at=MEASURED_AT)


def _of_the_file(report: Report, facts: Measurements, profile: Profile) -> Iterator[str]:
    """What comes from the file, as it stands there, from what reads it, and from the profile."""
    document, book = facts.document, report.book
    yield from (report.file.name, document.title or "", document.author or "", document.creator or "")
    yield from (document.producer or "", *document.repairs, *document.layers, report.file.sha256)
    yield document.unreadable.detail if document.unreadable else ""
    yield from (intent.condition or "" for intent in document.output_intents)
    yield from (font.name for font in facts.fonts)
    yield from (profile.id, profile.name, profile.revision, profile.note or "", *RULES, "Pressworthy")
    yield from (trim.name or "" for trim in profile.interior.trims)
    yield from (line.text for page in facts.pages for line in page.lines if len(line.text) > 12)
    if book:
        yield from (opening.title for opening in book.openings)
        yield from (f"{opening.number} {opening.title}" for opening in book.openings if opening.number)
        yield from (entry.text for each in book.contents for entry in each.entries)
        yield from (each.title or "" for each in book.contents)
        yield from (line.text for line in book.stranded)
        yield from (page.head.text for page in book.pages if page.head)
        yield from (missing.why for missing in book.not_read)
        imprint = book.imprint
        yield from (imprint.copyright or "", imprint.edition or "") if imprint else ()


def _plain_words(said: str, known: list[str]) -> set[str]:
    """The words of what is said that bear no mark and are of no file; one without a vowel, as CFF, can bear none."""
    text = " ".join(said.split())
    for own in sorted({" ".join(each.split()) for each in known}, key=len, reverse=True):
        if len(own) > 2:
            for form in {own, own.capitalize(), f"{own[:1].upper()}{own[1:]}"}:
                text = text.replace(form, " · ")
    words = set(WORD.findall(FIGURE.sub("0", text))) - OF_NO_LANGUAGE
    return {word for word in words if word.isascii() and word.translate(ACCENTED) != word}


@pytest.mark.parametrize("printer", sorted(builtin_profiles()))
@pytest.mark.parametrize("name", BOOKS)
def test_no_word_of_a_report_stands_in_code(
    readings: dict[str, Reading], language: Catalogue, name: str, printer: str
) -> None:
    """Each is compared with the book before it, judged for another printer, so that much has changed."""
    profile, other = builtin_profiles()[printer], builtin_profiles()["common-paperback"]
    read, before = readings[name], readings[BOOKS[BOOKS.index(name) - 1]]
    with speaking(language):
        earlier = earlier_report(_report(before.facts, before.book, other, pages=700).model_dump_json().encode())
        alone = _report(read.facts, read.book, profile)
        report = compared(alone, earlier)
        page = render_html(report, read.facts, profile)
        text = render_text(report, unit=profile.unit, width=4000)
        sent = Occasion("Maud Kittering", read.facts.file.name, MEASURED_AT, expected_pages=999, link=True)
        to_the_author = letter(report, sent, profile.unit)
    assert f'lang="{TAG}"' in page
    known = list(_of_the_file(report, read.facts, profile))
    known += [before.facts.file.name, *_of_the_file(report, before.facts, other)]
    assert _plain_words(to_the_author, [*known, "Maud Kittering"]) == set()
    for said in (" · ".join(_Spoken(page).said), text):
        assert _plain_words(said, known) == set()
        assert marked("What to do") in said or not report.findings


def test_nothing_is_left_of_a_file_that_cannot_be_read(language: Catalogue) -> None:
    facts, profile = unreadable(), builtin_profiles()["ternhaven-mono"]
    with speaking(language):
        report = _report(facts, read_book(facts), profile)
        page, text = render_html(report, facts, profile), render_text(report, width=4000)
    for said in (" · ".join(_Spoken(page).said), text):
        assert _plain_words(said, list(_of_the_file(report, facts, profile))) == set()


def test_the_data_is_in_the_language_and_its_ids_are_not(readings: dict[str, Reading], language: Catalogue) -> None:
    read, profile = readings["second-harbour"], builtin_profiles()["ternhaven-mono"]
    english = _report(read.facts, read.book, profile)
    with speaking(language):
        other = _report(read.facts, read.book, profile)
    assert [each.key for each in other.findings] == [each.key for each in english.findings]
    assert [each.title for each in other.findings] == [marked(each.title) for each in english.findings]
    assert [each.name for each in other.setup] == [each.name for each in english.setup]
    assert [each.set for each in other.setup] == [each.set for each in english.setup]


def test_no_word_of_a_proof_stands_in_code(
    readings: dict[str, Reading], sample_pdfs: Path, language: Catalogue, tmp_path: Path
) -> None:
    read, profile, out = readings["second-harbour"], builtin_profiles()["ternhaven-mono"], tmp_path / "proof.pdf"
    with speaking(language):
        report = _report(read.facts, read.book, profile)
        make_proof(sample_pdfs / "second-harbour.pdf", order_of(report, read.facts, profile), out)
    known = list(_of_the_file(report, read.facts, profile))
    with pdfium.PdfDocument(out) as document:
        pages = [page.get_textpage().get_text_range() for page in document]
    opening = len(pages) - report.pages
    assert _plain_words(" ".join(pages[:opening]), known) == set()
    assert all(marked(shipped("en").text("proof.stamp")) in page for page in pages)
    assert _plain_words(" · ".join(_notes(out)), known) == set()


def _notes(path: Path) -> Iterator[str]:
    """The title, the subject and the text of each note on the proof’s layer (ISO 32000-1 12.5.6.4)."""
    with pikepdf.open(path) as pdf:
        for page in pdf.pages:
            for note in page.obj.get("/Annots", Array()):
                if note.get("/Subtype") == Name.Text and "/OC" in note:
                    yield from (str(note[key]) for key in ("/T", "/Subj", "/Contents"))
