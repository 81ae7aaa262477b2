"""Rules about the file as a whole: each passes a sound book and fails one that is flawed in just that.

What a file of another maker is, is asked of poppler and qpdf where these are installed.
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from tests.corpora import source_pdf
from tests.judge.factory import PROFILE, book, document, profile, sound
from tests.needs import needs_poppler
from worker.judge import judge
from worker.judge.models import Finding, Verdict, Weight
from worker.measure import measure
from worker.measure.models import ActiveContent, Annotation, Link, Measurements, Place
from worker.profiles import Profile, parse_profile_toml

VERSIONS = parse_profile_toml(PROFILE + '[interior.file]\npdf_versions = ["1.4", "1.7"]\n')


def with_document(**facts: object) -> Measurements:
    return book(*sound().pages, document=document(8, **facts))


def only(measurements: Measurements, by: Profile | None = None) -> Finding:
    (finding,) = judge(measurements, by or profile()).findings
    return finding


def of(measurements: Measurements, rule: str, by: Profile | None = None) -> list[Finding]:
    return [finding for finding in judge(measurements, by or profile()).findings if finding.rule == rule]


@pytest.mark.parametrize(("version", "form"), [("1.3", "early"), ("1.4", None), ("1.7", None), ("2.0", "late")])
def test_the_version_is_one_that_the_printer_takes(version: str, form: str | None) -> None:
    found = judge(with_document(pdf_version=version), VERSIONS).findings
    assert [finding.key for finding in found] == ([f"pdf-version/{form}"] if form else [])
    if form == "late":
        assert "set to 1.7" in found[0].remedy


@needs_poppler
def test_the_version_of_a_real_file_is_the_one_that_pdfinfo_says() -> None:
    path = source_pdf("pikepdf", "tests/resources/pdfx.pdf")
    said = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
    (version,) = re.findall(r"^PDF version:\s+(\S+)", said, re.MULTILINE)
    by = parse_profile_toml(PROFILE + '[interior.file]\npdf_versions = ["1.0", "1.2"]\n')
    (finding,) = of(measure(path), "pdf-version", by)
    assert f"PDF {version};" in finding.detail


def test_layers_of_any_kind() -> None:
    finding = only(with_document(layers=("Proof marks", "Text", "Text")))
    assert (finding.rule, finding.weight, finding.pages) == ("layers", Weight.POLISH, ())
    assert "3 layers" in finding.detail
    assert "Proof marks, Text." in finding.detail


def test_a_file_without_a_title() -> None:
    finding = only(with_document(title=None))
    assert (finding.key, finding.weight) == ("document-title/none", Weight.POLISH)
    assert judge(with_document(title=None), profile()).verdict is Verdict.PRESSWORTHY
    reasons = {each.rule: each.why for each in judge(sound(), profile()).not_checked}
    assert "title page" in reasons["document-title"]


def acting(what: str, *pages: int) -> ActiveContent:
    places = tuple(Place(page=page, box=(10, 10, 20, 20)) for page in pages)
    return ActiveContent(what=what, pages=pages, places=places)


@pytest.mark.parametrize(
    ("what", "says"),
    [("JavaScript", "JavaScript"), ("Launch", "starts another program"), ("RichMedia", "sound, film"),
     ("SubmitForm", "a form"), ("URI", "web address"), ("SetOCGState", "shows or hides"), ("Named", "command"),
     ("FileAttachment", "attached files"), ("other", "command")],
)  # fmt: skip
def test_what_acts_is_named_with_its_pages(what: str, says: str) -> None:
    finding = only(with_document(active=(acting(what, 3, 5),)))
    assert (finding.rule, finding.weight, finding.pages) == ("active-content", Weight.REFUSAL, (3, 5))
    assert says in finding.detail
    assert "pages 3, 5" in finding.detail
    assert [mark.page for mark in finding.marks] == [3, 5]


def test_one_finding_names_all_that_acts() -> None:
    facts = {"embedded_files": 2, "form_fields": 1, "javascript": True}
    finding = only(with_document(active=(acting("JavaScript"), acting("XFA")), **facts))
    assert finding.pages == ()
    assert "attached files (2 in all)" in finding.detail
    assert finding.remedy.endswith("without scripts, attached files, form fields.")


def test_a_film_is_told_once() -> None:
    """As active content, and not as a note on the page too, unless the printer does not ask of the former."""
    film = Annotation(page=3, box=(10, 10, 200, 200), kind="RichMedia")
    measurements = with_document(active=(acting("RichMedia", 3),)).model_copy(update={"annotations": (film,)})
    assert only(measurements).rule == "active-content"
    lenient = parse_profile_toml(PROFILE + '[weights]\nactive-content = "off"\n')
    assert only(measurements, lenient).rule == "other-annotation"


def test_a_link_that_runs_a_script_is_told_once() -> None:
    """As active content, and not as a link too, unless the printer does not ask of the former."""
    link = Link(page=3, box=(100, 100, 200, 150), kind="javascript")
    measurements = with_document(active=(acting("JavaScript", 3),)).model_copy(update={"links": (link,)})
    assert only(measurements).rule == "active-content"
    lenient = parse_profile_toml(PROFILE + '[weights]\nactive-content = "off"\n')
    assert only(measurements, lenient).rule == "link-annotation"


# Files in the source package of a PDF library, and what acts in them by qpdf's account of their objects.
REAL = {"SF424_page2.pdf": "starts another program", "attachment.pdf": "attached files", "pdflatex-forms.pdf": "a form"}


@pytest.mark.parametrize(("name", "says"), REAL.items())
def test_real_files_that_act(name: str, says: str) -> None:
    (finding,) = of(measure(source_pdf("pypdf", f"resources/{name}")), "active-content")
    assert says in finding.detail


@needs_poppler
def test_a_real_form_has_the_javascript_that_pdfinfo_sees() -> None:
    path: Path = source_pdf("pikepdf", "tests/resources/form_dd0293.pdf")
    said = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
    assert re.search(r"^JavaScript:\s+yes", said, re.MULTILINE)
    assert re.search(r"^Form:\s+XFA", said, re.MULTILINE)
    (finding,) = of(measure(path), "active-content")
    assert "JavaScript" in finding.detail
    assert "a form to fill in (102 in all)" in finding.detail
