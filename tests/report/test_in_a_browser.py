"""The report in Chromium, opened from a disk without a network: nothing is fetched, refused or cut off."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.needs import chromium, needs_chromium, needs_module
from tests.report.books import MEASURED_AT, book, judgement
from tests.report.test_html import many
from worker.book import read_book
from worker.profiles import builtin_profiles
from worker.report.compose import compose
from worker.report.html import render_html

pytest.importorskip("playwright.sync_api", reason="needs the Python package playwright")

from playwright.sync_api import Browser, sync_playwright

pytestmark = [needs_chromium, needs_module("playwright")]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as started:
        found = started.chromium.launch(executable_path=chromium(), args=["--no-sandbox", "--disable-gpu"])
        yield found
        found.close()


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    measurements, profile = book(96), builtin_profiles()["ternhaven-mono"]
    made = compose(measurements, read_book(measurements), judgement(many(12, 96), 96), profile, measured_at=MEASURED_AT)
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(render_html(made, measurements, profile), "utf-8")
    return path


@pytest.mark.parametrize("width", [320, 375, 768, 1280])
def test_it_fits_the_screen_and_asks_for_nothing(browser: Browser, report: Path, width: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": 800}, java_script_enabled=True)
    page = context.new_page()
    asked: list[str] = []
    complaints: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: complaints.append(message.text))
    page.goto(report.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(251, 248, 241)"
    assert asked == [report.as_uri()]
    assert complaints == []
    context.close()


def test_keys_alone_lead_from_a_finding_to_its_page_and_back(browser: Browser, report: Path) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(report.as_uri())
    page.locator("#f1 .where a").first.focus()
    page.keyboard.press("Enter")
    target = page.evaluate("location.hash")
    assert target.startswith("#p")
    assert page.locator(target).evaluate(
        "it => { const box = it.getBoundingClientRect(); return box.top >= 0 && box.bottom <= innerHeight }"
    )
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("location.hash").startswith("#f")
    context.close()


def test_ink_and_paper_change_places_in_the_dark(browser: Browser, report: Path) -> None:
    context = browser.new_context(color_scheme="dark")
    page = context.new_page()
    page.goto(report.as_uri())
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(32, 36, 44)"
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [375, 1280])
def test_axe_finds_no_violation(browser: Browser, report: Path, scheme: Literal["light", "dark"], width: int) -> None:
    """axe-core, all its rules: WCAG 2 A and AA, and its best practices."""
    context = browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme, bypass_csp=True)
    page = context.new_page()
    page.goto(report.as_uri())
    found = Axe().run(page)
    assert [
        (each["id"], len(each["nodes"]), each["nodes"][0]["html"][:120]) for each in found.response["violations"]
    ] == []
    assert len(found.response["passes"]) > 20
    context.close()
