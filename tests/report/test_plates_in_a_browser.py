"""Plates with pictures in Chromium: the marks lie on the ink, the pictures are shown, axe-core finds no violation."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Literal, NamedTuple

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image

from tests.needs import chromium, needs_chromium, needs_module
from tests.report.books import MEASURED_AT, finding, judgement
from tests.report.test_pictures import CASES, Case, red, write
from worker.book import read_book
from worker.fence import picture_fenced
from worker.judge.models import Mark, Weight
from worker.limits import Limits
from worker.measure import measure
from worker.profiles import builtin_profiles
from worker.report.compose import compose
from worker.report.html import render_html
from worker.report.underlay import picture_order

pytest.importorskip("playwright.sync_api", reason="needs the Python package playwright")

from playwright.sync_api import Browser, Page, sync_playwright

pytestmark = [needs_chromium, needs_module("playwright")]

FINE = 2
"""Pixels of the screen for a CSS pixel."""
TURNED = ("plain", "bleed", "rotate 90", "user unit 2", "everything at once")

PLACE = """plate => {
    plate.scrollIntoView({block: 'center'});
    const mark = plate.querySelector('.hatch'), box = mark.getBBox();
    const at = (x, y) => new DOMPoint(x, y).matrixTransform(mark.getScreenCTM());
    const first = at(box.x, box.y), last = at(box.x + box.width, box.y + box.height);
    mark.setAttribute('visibility', 'hidden');
    return [first.x, first.y, last.x, last.y];
}"""
"""Where the mark's outline is on the screen, in CSS pixels; the mark itself is taken away then."""


class Shown(NamedTuple):
    """A browser's page, and what it complained of or asked for."""

    page: Page
    heard: list[str]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as started:
        found = started.chromium.launch(executable_path=chromium(), args=["--no-sandbox", "--disable-gpu"])
        yield found
        found.close()


def report_on(path: Path, case: Case) -> Path:
    """The report on a file of one page, of which the square is marked by two findings."""
    measurements, profile = measure(path), builtin_profiles()["ternhaven-mono"]
    mark = Mark(page=1, box=case.square, text="")
    found = tuple(finding("small-type", Weight.SPOILAGE, (1,), marks=(mark,), key=f"small-type/{n}") for n in (1, 2))
    made = compose(measurements, read_book(measurements), judgement(found, 1), profile, measured_at=MEASURED_AT)
    pictures = picture_fenced(path, picture_order(made, measurements), limits=Limits()).pictures
    assert set(pictures) == {1}
    out = path.with_suffix(".html")
    out.write_text(render_html(made, measurements, profile, pictures=pictures), "utf-8")
    return out


def show(browser: Browser, report: Path, scheme: Literal["light", "dark"], width: int = 1280) -> Shown:
    context = browser.new_context(
        viewport={"width": width, "height": 800}, color_scheme=scheme, device_scale_factor=FINE
    )
    page = context.new_page()
    heard: list[str] = []
    page.on("console", lambda message: heard.append(message.text))
    page.on("request", lambda request: heard.append(request.url) if not request.url.startswith("data:") else None)
    page.goto(report.as_uri())
    return Shown(page, heard)


@pytest.mark.parametrize("name", TURNED)
def test_the_mark_is_on_the_ink_on_the_screen(browser: Browser, name: str, tmp_path: Path) -> None:
    """The square's pixels on a screen, within one CSS pixel of the outline around it, on either finding's plate."""
    report = report_on(write(CASES[name], tmp_path / "page.pdf"), CASES[name])
    shown = show(browser, report, "light")
    plates = shown.page.locator("svg.pictured")
    assert plates.count() == 2
    for plate in plates.all():
        left, top, right, bottom = (side * FINE for side in plate.evaluate(PLACE))
        screen = Image.open(io.BytesIO(shown.page.screenshot()))
        around = tuple(round(side) for side in (left - 20, top - 20, right + 20, bottom + 20))
        inked = red(screen.crop(around))
        assert inked == pytest.approx([20, 20, 20 + right - left, 20 + bottom - top], abs=FINE)
    assert shown.heard == [report.as_uri()], "the picture was refused, or something was fetched"
    shown.page.context.close()


def test_paper_stays_paper_in_the_dark(browser: Browser, tmp_path: Path) -> None:
    """Ink on the plate stays darker than its paper: 7 to 1 and more, the most that WCAG 2.2 asks (1.4.6)."""
    report = report_on(write(CASES["plain"], tmp_path / "page.pdf"), CASES["plain"])
    shown = show(browser, report, "dark")
    screen = Image.open(io.BytesIO(shown.page.locator("svg.pictured").first.screenshot())).convert("L")
    darkest, lightest = (_luminance(value / 255) for value in (min(screen.tobytes()), max(screen.tobytes())))
    assert (lightest + 0.05) / (darkest + 0.05) >= 7
    assert screen.histogram().index(max(screen.histogram())) > 200, "most of the plate is paper"
    shown.page.context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [375, 1280])
def test_axe_finds_no_violation(
    browser: Browser, sample_pdfs: Path, tmp_path: Path, scheme: Literal["light", "dark"], width: int
) -> None:
    """axe-core, all its rules; a finding with three plates, and nothing wider than the screen."""
    measurements, profile = measure(sample_pdfs / "second-harbour.pdf"), builtin_profiles()["ternhaven-mono"]
    marks = tuple(Mark(page=page, box=(60, 60, 120, 72), text="5.5 pt") for page in (9, 3, 18))
    found = (finding("small-type", Weight.SPOILAGE, (3, 9, 18), marks=marks),)
    made = compose(measurements, read_book(measurements), judgement(found, 25), profile, measured_at=MEASURED_AT)
    order = picture_order(made, measurements)
    pictures = picture_fenced(sample_pdfs / "second-harbour.pdf", order, limits=Limits()).pictures
    assert set(pictures) == {3, 9, 18}
    report = tmp_path / "report.html"
    report.write_text(render_html(made, measurements, profile, pictures=pictures), "utf-8")
    context = browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme, bypass_csp=True)
    page = context.new_page()
    page.goto(report.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    violations = Axe().run(page).response["violations"]
    assert [(each["id"], each["nodes"][0]["html"][:120]) for each in violations] == []
    context.close()


def _luminance(value: float) -> float:
    """Of a grey from 0 to 1, as WCAG 2.2 defines relative luminance."""
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
