"""The desk in a real browser: by hand and by keyboard, with a script and without one.

The server is real, the rows are real; the test plays the worker.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from flask import Flask

from tests.desk import desk
from tests.needs import needs_chromium, needs_module
from tests.web import rows
from worker.store import LOCAL, Finished, NewArrival, Store, report_key

pytest.importorskip("playwright.sync_api", reason="needs the Python package playwright")

from playwright.sync_api import Browser, Page, expect

from tests.web.browser import looking, served

pytestmark = [needs_chromium, needs_module("playwright"), needs_module("axe_playwright_python")]


def _new_title(page: Page, address: str, isbn: str) -> None:
    page.goto(f"{address}/titles/new")
    page.get_by_label("Title").fill("Second Harbour")
    page.get_by_label("Author").fill("Dorcas Lyle")
    page.get_by_label("Printer, and the size").select_option("ternhaven-mono/6 × 9 in")
    page.get_by_label("ISBN").fill(isbn)
    page.get_by_role("button", name="Make the title").click()


def _finish(store: Store, inspection_id: str) -> None:
    """What a worker would leave."""
    claimed = store.rows.claim(inspection_id)
    assert claimed is not None
    ready = rows.done(store, "Beside it")
    for kind in ("html", "json"):
        store.bytes.copy(report_key(ready.id, kind), report_key(inspection_id, kind))
    assert store.rows.finish(claimed, Finished("reservations", "test", rows.WHEN, 12))
    store.delete(ready.id)


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_from_a_new_title_to_its_pass(browser: Browser, address: str, store: Store, book: Path, script: bool) -> None:
    with looking(browser, java_script_enabled=script) as (_, page, witness):
        _new_title(page, address, "978-0-00-000001-8")
        expect(page.get_by_text("it would be 9")).to_be_visible()
        expect(page.get_by_label("Author")).to_have_value("Dorcas Lyle")
        page.get_by_label("ISBN").fill("978-0-00-000001-9")
        page.get_by_role("button", name="Make the title").click()
        expect(page.get_by_text("Waiting for the author")).to_be_visible()
        page.get_by_label("The book’s PDF").set_input_files(book)
        page.get_by_role("button", name="Take it in").click()
        expect(page.get_by_text("To be looked at")).to_be_visible()
        (row,) = store.rows.page(LOCAL).items
        _finish(store, row.id)
        if not script:
            page.get_by_role("link", name="Look again").click()
        page.get_by_label("Passed by").fill("Orla Fenwick")
        page.get_by_role("button", name="Pass this file for press").click()
        expect(page.get_by_text("Passed for press by Orla Fenwick").first).to_be_visible()
        assert witness.hosts == {address.removeprefix("http://")}


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_several_files_and_a_letter(
    browser: Browser, address: str, store: Store, book: Path, tmp_path: Path, script: bool
) -> None:
    title = desk.title(store, "Second Harbour", "Dorcas Lyle")
    notes = tmp_path / "notes.pdf"
    notes.write_bytes(b"Dear press")
    with looking(browser, java_script_enabled=script) as (_, page, _witness):
        page.goto(f"{address}/take-in")
        page.get_by_label("The books’ PDFs").set_input_files([book, notes])
        page.get_by_role("button", name="Take them in").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("What came in")
        expect(page.get_by_text("The file is not a PDF")).to_be_visible()
        expect(page.get_by_label("Title of second-harbour.pdf")).to_have_value(title.id)
        page.get_by_role("button", name="Put them with their titles").click()
        expect(page.get_by_text("By the file’s name.")).to_be_visible()
        ((_, row),) = store.titles.submissions(title.id)
        assert row is not None
        _finish(store, row.id)
        page.get_by_role("link", name="Second Harbour").click()
        page.get_by_role("link", name="Write to the author").click()
        expect(page.get_by_label("The letter")).to_have_value(re.compile("Dear Dorcas Lyle,"))
        page.get_by_role("button", name="It is sent: wait for the next file").click()
        expect(page.get_by_text("Waiting for the author")).to_be_visible()


def test_files_are_dropped(browser: Browser, address: str, store: Store) -> None:
    with looking(browser) as (_, page, _witness):
        page.goto(f"{address}/take-in")
        dropped = page.evaluate_handle(
            """() => {
                const dropped = new DataTransfer();
                for (const name of ["one.pdf", "two.pdf", "notes.txt"]) {
                    const text = name.endsWith(".pdf") ? "%PDF-1.4 a book" : "some notes";
                    dropped.items.add(new File([text], name));
                }
                return dropped;
            }"""
        )
        page.dispatch_event("#drop", "drop", {"dataTransfer": dropped})
        page.get_by_role("button", name="Take them in").click()
        expect(page.get_by_role("heading", name="notes.txt")).to_be_visible()
        expect(page.locator("select")).to_have_count(2)
        assert len(store.rows.page(LOCAL).items) == 2


def test_what_is_read_meanwhile_is_shown_unless_something_is_chosen(
    browser: Browser, address: str, store: Store
) -> None:
    title = desk.title(store, "The Long Mole", "Jory Penhale")
    row = rows.queued(store, None, file_name="scan.pdf")
    delivery = store.arrivals.note(LOCAL, [NewArrival("scan.pdf", inspection_id=row.id)])
    with looking(browser) as (_, page, _witness):
        page.goto(f"{address}/take-in/{delivery}")
        page.get_by_label("Title of scan.pdf").select_option(title.id)
        _finish(store, row.id)
        expect(page.get_by_text("All are read.")).to_be_visible()
        expect(page.get_by_label("Title of scan.pdf")).to_have_value(title.id)


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_an_author_without_an_account(
    browser: Browser, guarded_app: Flask, store: Store, book: Path, script: bool
) -> None:
    title = desk.title(store)
    _, secret = store.author_links.make(title.id, LOCAL, days=30)
    with served(guarded_app) as address, looking(browser, java_script_enabled=script) as (_, page, witness):
        asked: list[str] = []
        page.on("request", lambda request: asked.append(json.dumps(request.headers)))
        page.goto(f"{address}/author/{secret}")
        page.get_by_label("Your book’s PDF").set_input_files(book)
        page.get_by_role("button", name="Send it to the press").click()
        expect(page.get_by_role("heading", level=2)).to_have_text("Waiting its turn")
        ((_, row),) = store.titles.submissions(title.id)
        assert row is not None
        _finish(store, row.id)
        if not script:
            page.reload()
        expect(page.frame_locator("#report").get_by_text("The report of a book.")).to_be_visible()
        page.get_by_role("link", name="All that you have sent").click()
        expect(page.get_by_role("link", name=book.name)).to_be_visible()
        assert not [headers for headers in asked if secret in headers]  # no Referer has it
        assert witness.hosts == {address.removeprefix("http://")}


def test_a_link_is_copied(browser: Browser, address: str, store: Store) -> None:
    title = desk.title(store)
    with looking(browser, permissions=["clipboard-read", "clipboard-write"]) as (_, page, _witness):
        page.goto(f"{address}/titles/{title.id}")
        page.get_by_role("button", name="Make a link").click()
        page.get_by_role("button", name="Copy the link").click()
        expect(page.get_by_text("Copied.")).to_be_visible()
        copied = page.evaluate("navigator.clipboard.readText()")
        page.goto(copied)
        expect(page.get_by_role("heading", level=1)).to_have_text("The Salt Road")


def test_what_was_typed_outlives_the_end_of_an_inspection(browser: Browser, address: str, store: Store) -> None:
    title = desk.title(store)
    row = rows.queued(store)
    desk.submitted(store, title, row)
    with looking(browser) as (_, page, _witness):
        page.goto(f"{address}/titles/{title.id}")
        page.get_by_label("For the desk alone").fill("Ask for the rights")
        _finish(store, row.id)
        expect(page.get_by_text("load the page again once you have kept")).to_be_visible()
        expect(page.get_by_label("For the desk alone")).to_have_value("Ask for the rights")
        page.get_by_role("button", name="Keep the note").click()
        expect(page.get_by_text("Pressworthy, with reservations").first).to_be_visible()
        expect(page.get_by_label("For the desk alone")).to_have_value("Ask for the rights")


def test_by_keyboard_alone(browser: Browser, address: str, store: Store) -> None:
    """From the list to a passed title with Tab and Enter; where one is, is always seen (WCAG 2.4.7)."""
    title = desk.title(store)
    desk.inspected(store, title)
    with looking(browser) as (_, page, _witness):
        page.goto(f"{address}/titles")
        _tab_to(page, "The Salt Road")
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", level=1)).to_have_text("The Salt Road")
        _tab_to(page, "Passed by")
        page.keyboard.type("Orla Fenwick")
        _tab_to(page, "Pass this file for press")
        page.keyboard.press("Enter")
        expect(page.get_by_text("Passed for press by Orla Fenwick").first).to_be_visible()


def _tab_to(page: Page, name: str) -> None:
    """Tab until what is called so has the focus."""
    for _ in range(40):
        page.keyboard.press("Tab")
        assert page.evaluate("parseFloat(getComputedStyle(document.activeElement).outlineWidth) >= 2")
        called = page.evaluate(
            "(it => it.labels && it.labels.length ? it.labels[0].textContent : it.textContent)(document.activeElement)"
        )
        if called.strip() == name:
            return
    raise AssertionError(f"{name} is not reached by Tab")
