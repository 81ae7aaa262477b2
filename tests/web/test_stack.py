"""The whole service, as ``pressworthy serve`` runs it, in a real browser: broker, worker, database, web service.

What is wrong with the sample books is written down beside them (``sample_pdfs/README.md``).
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.needs import needs_chromium
from worker.settings import Settings
from worker.store import open_store

pytest.importorskip("playwright.sync_api", reason="needs the Python package playwright")

from playwright.sync_api import Browser, Page, expect

from tests.web.browser import looking

pytestmark = needs_chromium

SERVE = (
    "import sys; from pathlib import Path; from service.serve import serve; serve(sys.argv[1], 0, Path(sys.argv[2]))"
)
MEASURED = 90_000
"""Milliseconds within which a small book's page must say its verdict, on a busy machine."""


@contextmanager
def _serving(data: Path, host: str = "127.0.0.1", **environment: str) -> Iterator[str]:
    root = Path(__file__).resolve().parents[2]
    process = subprocess.Popen(
        [sys.executable, "-c", SERVE, host, str(data)],
        cwd=root,
        env=os.environ | environment,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert process.stdout is not None
        said = process.stdout.readline()
        assert said, f"the service did not start (status {process.wait()})"
        yield said.split()[-1].rstrip("/")
    finally:
        process.terminate()
        process.wait(60)


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with _serving(tmp_path_factory.mktemp("data")) as found:
        yield found


def _send(page: Page, book: Path, printer: str) -> None:
    page.get_by_label(printer).check()
    page.get_by_label("The book’s PDF").set_input_files(book)
    page.get_by_role("button", name="Inspect the book").click()


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
@pytest.mark.parametrize(
    ("name", "printer", "verdict", "finding"),
    [
        ("letters-from-the-pump", "Ternhaven Digital", "Not pressworthy", "8.5 × 11 in"),
        ("keeper-of-the-low-light", "Common practice", "Pressworthy", None),
    ],
)
def test_a_book_goes_in_and_a_report_comes_out(
    browser: Browser, address: str, sample_pdfs: Path, script: bool, name: str, printer: str, verdict: str, finding: str
) -> None:
    with looking(browser, java_script_enabled=script) as (_, page, witness):
        page.goto(address)
        _send(page, sample_pdfs / f"{name}.pdf", printer)
        expect(page.locator(".verdict strong")).to_have_text(verdict, timeout=MEASURED)
        report = page.frame_locator("#report")
        expect(report.get_by_role("heading", level=1)).to_have_text(re.compile(f"^{verdict} for {printer}"))
        if finding:
            expect(report.get_by_text(finding).first).to_be_visible()
        assert witness.hosts == {address.removeprefix("http://")}


def test_pictures_data_and_another_printer(browser: Browser, address: str, sample_pdfs: Path) -> None:
    with looking(browser) as (_, page, _witness):
        page.goto(address)
        _send(page, sample_pdfs / "second-harbour.pdf", "Common practice")
        expect(page.locator(".verdict strong")).to_have_text("Not pressworthy", timeout=MEASURED)
        first = page.url
        picture = page.locator(".pictures img").first
        expect(picture).to_be_visible(timeout=MEASURED)
        assert picture.evaluate("picture => picture.decode().then(() => picture.naturalWidth)") > 300
        with page.expect_download() as download:
            page.locator(".ways").get_by_role("link", name="report", exact=True).click()
        assert download.value.suggested_filename == "second-harbour report.json"
        report = json.loads(Path(download.value.path()).read_text())
        assert report["schema"] == "pressworthy.report/1"
        assert {"mixed-page-sizes", "font-not-embedded", "link-annotation"} <= {it["rule"] for it in report["findings"]}
        page.get_by_label("Printer", exact=True).select_option("ropewalk-offset")
        page.get_by_role("button", name="Judge").click()
        expect(page.locator(".verdict")).to_have_text("Not pressworthy for Old Ropewalk Offset")
        assert page.url != first
        page.get_by_role("link", name="Inspections").first.click()
        expect(page.get_by_role("heading", name="Harbour")).to_have_count(2)
        page.get_by_label("Printer", exact=True).select_option("ropewalk-offset")
        page.get_by_role("button", name="Show").click()
        expect(page.get_by_role("heading", name="Harbour")).to_have_count(1)


def test_where_others_can_reach_it_one_signs_in(browser: Browser, tmp_path: Path, sample_pdfs: Path) -> None:
    store = open_store(Settings.from_environment(tmp_path))
    _, secret = store.tokens.make("the reading room")
    store.close()
    with _serving(tmp_path, "0.0.0.0") as address, looking(browser) as (_, page, _witness):
        page.goto(address)
        page.get_by_label("Access token").fill(secret)
        page.get_by_role("button", name="Sign in").click()
        _send(page, sample_pdfs / "tide-tables.pdf", "Old Ropewalk")
        expect(page.locator("#report")).to_be_visible(timeout=MEASURED)
        page.get_by_role("button", name="Sign out").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")


def test_a_file_over_the_limit_is_refused_in_words_while_it_arrives(browser: Browser, tmp_path: Path) -> None:
    """Without a script nothing looks at the file first: the service refuses it on the way, and its words arrive."""
    large = tmp_path / "large.pdf"
    large.write_bytes(b"%PDF-1.4\n" + bytes(30_000_000))
    data = tmp_path / "data"
    with _serving(data, PRESSWORTHY_MAX_BYTES="1000000") as address:
        for script in (True, False):
            with looking(browser, java_script_enabled=script) as (_, page, _witness):
                page.goto(address)
                _send(page, large, "Ternhaven Digital")
                expect(page.get_by_role("alert")).to_contain_text("larger than the 1 MB")
