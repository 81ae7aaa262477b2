"""The sample books are what their README says, and get the verdicts that it promises."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pikepdf
import pytest

from sample_pdfs.make import BOOKS, make
from worker.book import read_book
from worker.judge import judge
from worker.judge.models import Judgement, Verdict
from worker.measure import measure
from worker.measure.models import Measurements
from worker.profiles import load_profile

FOLDER = Path(__file__).resolve().parents[2] / "sample_pdfs"
_ROW = re.compile(r"^\| `([a-z-]+)` \| ([\d–, ]*) ?\|", re.MULTILINE)


@cache
def measured(name: str) -> Measurements:
    return measure(FOLDER / f"{name}.pdf")


@cache
def judged(name: str, profile: str) -> Judgement:
    return judge(measured(name), load_profile(profile), book=read_book(measured(name)))


def _numbers(ranges: str) -> list[int]:
    pages: list[int] = []
    for part in filter(None, ranges.replace(" ", "").split(",")):
        first, _, last = part.partition("–")
        pages += range(int(first), int(last or first) + 1)
    return pages


def promised(heading: str) -> list[tuple[str, list[int]]]:
    """Rule and pages of every row of the table under ``heading`` in the README."""
    text = (FOLDER / "README.md").read_text("utf-8")
    section = text.split(f"## {heading}\n")[1].split("\n## ")[0]
    return [(rule, _numbers(pages)) for rule, pages in _ROW.findall(section)]


FLAWS = [("second-harbour", "common-paperback", *row) for row in promised("What is wrong with *The Second Harbour*")]
FLAWS += [
    ("letters-from-the-pump", "ternhaven-mono", *row) for row in promised("What is wrong with *Letters from the Pump*")
]


def test_the_readme_lists_flaws() -> None:
    assert len(FLAWS) >= 20


@pytest.mark.parametrize(("name", "profile", "rule", "pages"), FLAWS, ids=[f"{flaw[0]}: {flaw[2]}" for flaw in FLAWS])
def test_each_flaw_is_found_on_its_pages(name: str, profile: str, rule: str, pages: list[int]) -> None:
    found = [finding for finding in judged(name, profile).findings if finding.rule == rule]
    assert found, f"{rule} was not found"
    touched = {page for finding in found for page in finding.pages}
    assert set(pages) <= touched


# For these the README promises every page of the finding, not only some.
EXACT = {"inside-margin", "outside-margin", "head-margin", "foot-margin", "mixed-page-sizes", "page-rotation"}
EXACT |= {"font-not-embedded", "small-type", "image-resolution", "line-art-resolution", "link-annotation", "blank-run"}


def test_nothing_else_is_accused() -> None:
    """No false alarm among the rules whose pages the README gives in full; the Letter page has wrong margins too."""
    promises: dict[str, set[int]] = {}
    for _, _, rule, pages in FLAWS[:17]:
        promises[rule] = set(pages)
    for finding in judged("second-harbour", "common-paperback").findings:
        if finding.rule in EXACT:
            assert set(finding.pages) - {16} <= promises[finding.rule], finding.rule


SOUND = [
    ("keeper-of-the-low-light", "common-paperback"),
    ("keeper-of-the-low-light", "ternhaven-mono"),
    ("seven-weathers", "skerrylight-colour"),
    ("tide-tables", "ropewalk-offset"),
]


@pytest.mark.parametrize(("name", "profile"), SOUND)
def test_a_sound_book_is_pressworthy(name: str, profile: str) -> None:
    judgement = judged(name, profile)
    assert [(finding.rule, finding.detail) for finding in judgement.findings] == []
    assert judgement.verdict is Verdict.PRESSWORTHY


def test_flawed_books_are_refused() -> None:
    assert judged("second-harbour", "common-paperback").verdict is Verdict.NOT_PRESSWORTHY
    assert judged("letters-from-the-pump", "ternhaven-mono").verdict is Verdict.NOT_PRESSWORTHY


def test_together_they_are_small() -> None:
    assert sum(path.stat().st_size for path in FOLDER.glob("*.pdf")) < 3_000_000


@pytest.mark.parametrize("name", BOOKS)
def test_setting_again_gives_the_same_pages(name: str, tmp_path: Path) -> None:
    """Not the same bytes: those depend on the versions of Typst, Pillow and qpdf."""
    again = tmp_path / "again.pdf"
    again.write_bytes(make(name))
    with pikepdf.open(again) as new, pikepdf.open(FOLDER / f"{name}.pdf") as kept:
        assert len(new.pages) == len(kept.pages)
        for ours, theirs in zip(new.pages, kept.pages, strict=True):
            assert [float(value) for value in ours.trimbox] == pytest.approx([float(v) for v in theirs.trimbox])


def test_the_offset_book_is_identified() -> None:
    """ISO 15930-4: version key, one GTS_PDFX intent of a registered condition, Trapped, trim boxes, no RGB or ICC."""
    document = measured("tide-tables").document
    assert document.pdfx == "PDF/X-1a:2003"
    assert document.pdf_version == "1.4"
    assert document.pages % 16 == 0
    (intent,) = document.output_intents
    assert intent.condition == "FOGRA29"
    assert not intent.profile_embedded
    assert {colour for page in measured("tide-tables").pages for colour in page.colours} == {"gray"}
    assert all("trim" in page.declared for page in measured("tide-tables").pages)
    file = (FOLDER / "tide-tables.pdf").read_bytes()
    assert b"/ObjStm" not in file  # so every object can be read as it stands
    assert b"/Trapped /False" in file
    assert b"/ICCBased" not in file
    assert b"/DeviceRGB" not in file


def test_the_picture_book_bleeds() -> None:
    plates = [page for page in measured("seven-weathers").pages if page.text is None and not page.blank]
    assert len(plates) == 9
    for page in plates:
        sides = (page.reach.left, page.reach.right, page.reach.head, page.reach.foot)
        assert sides == pytest.approx((8.504,) * 4, abs=0.01)  # 3 mm
