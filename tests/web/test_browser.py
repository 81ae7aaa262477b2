"""The pages in a real browser: what a person sees, by keyboard, on a phone, in the dark, without a script.

The server is real, the rows are real; the test plays the worker, so that each state can be looked at.
"""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from flask import Flask
from PIL import Image

from tests.needs import needs_chromium, needs_module
from tests.web import rows
from worker.picturing import Undrawn
from worker.store import Finished, Store, picture_key, report_key, undrawn_key

pytest.importorskip("playwright.sync_api", reason="needs the Python package playwright")

from playwright.sync_api import Browser, Page, expect

from tests.web.browser import looking, served

pytestmark = [needs_chromium, needs_module("playwright")]


def _fill_in(page: Page, book: Path) -> None:
    page.get_by_label("Ternhaven Digital").check()
    page.get_by_label("The book’s PDF").set_input_files(book)
    page.get_by_label("Title").fill("Second Harbour")


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_a_book_is_sent_and_its_page_is_shown(
    browser: Browser, address: str, store: Store, book: Path, script: bool
) -> None:
    with looking(browser, java_script_enabled=script) as (_, page, witness):
        page.goto(address)
        _fill_in(page, book)
        page.get_by_label("Judge as a book of").fill("312")
        page.get_by_role("button", name="Inspect the book").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Second Harbour")
        expect(page.get_by_role("heading", level=2)).to_have_text("Waiting its turn")
        (row,) = store.rows.page("local").items
        assert page.url == f"{address}/inspections/{row.id}"
        assert (row.file_name, row.bytes, row.judged_as_pages) == (book.name, book.stat().st_size, 312)
        assert witness.hosts == {address.removeprefix("http://")}


def test_the_progress_is_live(browser: Browser, address: str, store: Store) -> None:
    row = rows.queued(store)
    with looking(browser) as (_, page, _witness):
        page.goto(f"{address}/inspections/{row.id}")
        expect(page.get_by_text("It is next.")).to_be_visible()
        page.evaluate("window.stayed = true")
        claimed = store.rows.claim(row.id)
        assert claimed is not None
        expect(page.get_by_text("The file is being opened.")).to_be_visible()
        for done in (40, 200, 299):
            store.rows.renew(claimed, done=done, total=300)
            expect(page.get_by_text(f"{done} of 300 pages are measured.")).to_be_visible()
            assert page.locator("progress").evaluate("bar => [bar.value, bar.max]") == [done, 300]
        assert page.evaluate("window.stayed")
        ready = rows.done(store, "Beside it")
        for kind in ("html", "json"):
            store.bytes.copy(report_key(ready.id, kind), report_key(row.id, kind))
        store.rows.finish(claimed, Finished("reservations", "test", rows.WHEN, 300))
        expect(page.frame_locator("#report").get_by_text("The report of a book.")).to_be_visible()
        expect(page.get_by_text("Pressworthy, with reservations for")).to_be_visible()


def test_a_service_that_goes_away_is_waited_for(browser: Browser, app: Flask, store: Store) -> None:
    row = rows.queued(store)
    with looking(browser) as (context, page, _witness), served(app) as address:
        page.goto(f"{address}/inspections/{row.id}")
        context.set_offline(True)
        expect(page.get_by_role("alert")).to_contain_text("Nothing is lost")
        context.set_offline(False)
        expect(page.get_by_role("alert")).to_be_hidden()


def test_a_refusal_at_the_door_loses_nothing(browser: Browser, address: str, book: Path, tmp_path: Path) -> None:
    letter, nothing = tmp_path / "letter.pdf", tmp_path / "nothing.pdf"
    letter.write_bytes(b"Dear printer")
    nothing.write_bytes(b"")
    with looking(browser) as (_, page, _witness):
        page.goto(address)
        for wrong, line in ((letter, "The file is not a PDF"), (nothing, "The file is empty")):
            _fill_in(page, wrong)
            page.get_by_role("button", name="Inspect the book").click()
            expect(page.get_by_role("alert")).to_contain_text(line)
            expect(page.get_by_role("alert")).to_be_focused()
            expect(page.get_by_label("Title")).to_have_value("Second Harbour")
            expect(page.get_by_label("Ternhaven Digital")).to_be_checked()
        _fill_in(page, book)
        page.get_by_role("button", name="Inspect the book").click()
        expect(page.get_by_role("heading", level=2)).to_have_text("Waiting its turn")


def test_a_refusal_by_the_service_keeps_the_file_that_was_chosen(browser: Browser, address: str, book: Path) -> None:
    with looking(browser) as (_, page, _witness):
        page.goto(address)
        _fill_in(page, book)
        page.get_by_label("Judge as a book of").fill("0")
        page.get_by_role("button", name="Inspect the book").click()
        expect(page.get_by_role("alert")).to_contain_text("whole number from 1")
        assert page.get_by_label("The book’s PDF").evaluate("input => input.files[0].name") == book.name
        page.get_by_label("Judge as a book of").fill("40")
        page.get_by_role("button", name="Inspect the book").click()
        expect(page.get_by_role("heading", level=2)).to_have_text("Waiting its turn")


def test_without_a_script_a_refusal_keeps_what_was_typed(browser: Browser, address: str, tmp_path: Path) -> None:
    letter = tmp_path / "letter.pdf"
    letter.write_bytes(b"Dear printer")
    with looking(browser, java_script_enabled=False) as (_, page, _witness):
        page.goto(address)
        _fill_in(page, letter)
        page.get_by_role("button", name="Inspect the book").click()
        expect(page.get_by_role("alert")).to_contain_text("not a PDF")
        expect(page.get_by_label("Title")).to_have_value("Second Harbour")
        expect(page.get_by_label("Ternhaven Digital")).to_be_checked()


def test_a_file_is_dropped(browser: Browser, address: str, store: Store) -> None:
    with looking(browser) as (_, page, _witness):
        page.goto(address)
        dropped = page.evaluate_handle(
            """() => {
                const dropped = new DataTransfer();
                dropped.items.add(new File(["%PDF-1.4 a book"], "dropped.pdf", { type: "application/pdf" }));
                return dropped;
            }"""
        )
        page.dispatch_event("#drop", "drop", {"dataTransfer": dropped})
        page.get_by_label("Old Ropewalk").check()
        page.get_by_role("button", name="Inspect the book").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("dropped.pdf")
        (row,) = store.rows.page("local").items
        assert row.profile_id == "ropewalk-offset"


def test_by_keyboard_alone(browser: Browser, address: str, store: Store, book: Path) -> None:
    """From the top of the page to a sent form with Tab, arrows, Space and Enter; where one is, is always seen."""
    with looking(browser) as (_, page, _witness):
        page.on("filechooser", lambda _chooser: None)  # from here on the browser tells of them
        page.goto(address)
        page.keyboard.press("Tab")
        expect(page.get_by_role("link", name="Go to the text")).to_be_focused()
        page.keyboard.press("Enter")
        page.keyboard.press("Tab")
        page.keyboard.press("Space")
        page.keyboard.press("ArrowDown")
        expect(page.get_by_label("Long Mole Book Works")).to_be_checked()
        assert _seen(page)
        page.keyboard.press("Tab")
        assert _seen(page)
        page.keyboard.type("By keyboard")
        page.keyboard.press("Tab")
        page.keyboard.type("40")
        page.keyboard.press("Tab")
        assert _seen(page)
        page.keyboard.press("Space")
        expect(page.get_by_label("Its address")).to_be_visible()
        page.keyboard.press("Tab")
        page.keyboard.press("Tab")
        expect(page.get_by_label("The book’s PDF")).to_be_focused()
        assert _seen(page)
        with page.expect_file_chooser() as chooser:
            page.keyboard.press("Enter")
        chooser.value.set_files(book)
        page.keyboard.press("Tab")
        expect(page.get_by_role("button", name="Inspect the book")).to_be_focused()
        assert _seen(page)
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", level=1)).to_have_text("By keyboard")
        (row,) = store.rows.page("local").items
        assert (row.profile_id, row.judged_as_pages) == ("longmole-thick", 40)


def _seen(page: Page) -> bool:
    """Whether what has the focus is outlined."""
    return bool(page.evaluate("parseFloat(getComputedStyle(document.activeElement).outlineWidth) >= 2"))


@pytest.mark.parametrize(("scheme", "paper"), [("light", "rgb(251, 248, 241)"), ("dark", "rgb(32, 36, 44)")])
def test_light_and_dark(browser: Browser, address: str, scheme: str, paper: str) -> None:
    with looking(browser, color_scheme=scheme) as (_, page, _witness):
        page.goto(address)
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == paper


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_the_report_is_read_in_the_page(browser: Browser, address: str, store: Store, script: bool) -> None:
    row = rows.done(store)
    tall = (
        "<!DOCTYPE html><title>Report</title>" + "<p>A line of the report.</p>" * 200 + "<p id=end>The last line.</p>"
    )
    store.bytes.write(report_key(row.id, "html"), tall.encode())
    with looking(browser, java_script_enabled=script) as (_, page, _witness):
        page.goto(f"{address}/inspections/{row.id}")
        last = page.frame_locator("#report").get_by_text("The last line.")
        last.scroll_into_view_if_needed()
        expect(last).to_be_in_viewport()
        if script:  # at its full height, it does not scroll within the page that scrolls
            frame = page.locator("#report")
            inside = frame.evaluate("frame => frame.contentDocument.documentElement.scrollHeight")
            box = frame.bounding_box()
            assert box is not None
            assert box["height"] >= inside


def test_pictures_come_as_they_are_drawn_or_say_that_they_cannot_be(
    browser: Browser, address: str, store: Store
) -> None:
    row = rows.done(store, flagged=(3, 4))
    with looking(browser) as (_, page, _witness):
        page.goto(f"{address}/inspections/{row.id}")
        expect(page.locator(".undrawn")).to_have_count(2)
        told = Undrawn(code="drawing", message="Failed to load page")
        store.bytes.write(undrawn_key(row.id, 3), told.model_dump_json().encode())
        expect(page.get_by_role("link", name="Cannot be drawn")).to_be_visible()
        drawn = io.BytesIO()
        Image.new("L", (60, 90), 128).save(drawn, "png")
        store.bytes.write(picture_key(row.id, 4), drawn.getvalue())
        picture = page.get_by_role("img", name="Page 4")
        expect(picture).to_be_visible()
        assert picture.evaluate("picture => picture.decode().then(() => picture.naturalWidth)") == 60
        page.get_by_role("link", name="Cannot be drawn").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Page 3 cannot be drawn")


def test_a_report_can_run_nothing(browser: Browser, address: str, store: Store) -> None:
    row = rows.done(store)
    evil = '<!DOCTYPE html><p id=p>quiet</p><script>document.getElementById("p").textContent = "loud"</script>'
    store.bytes.write(report_key(row.id, "html"), evil.encode())
    context = browser.new_context()
    page = context.new_page()
    for place in ("", "/report"):
        page.goto(f"{address}/inspections/{row.id}{place}")
        shown = page.frame_locator("#report") if not place else page
        expect(shown.locator("#p")).to_have_text("quiet")
    context.close()


def test_hostile_names_run_nothing(browser: Browser, address: str, store: Store) -> None:
    hostile = "<img src=x onerror=\"document.title='loud'\"><script>document.title='loud'</script>"
    row = rows.done(store, hostile, file_name=hostile)
    with looking(browser) as (_, page, _witness):
        for place in ("/inspections", f"/inspections/{row.id}", f"/inspections/{row.id}/deletion"):
            page.goto(address + place)
            expect(page.get_by_text("<script>document.title='loud'</script>").first).to_be_visible()
            assert page.title() != "loud"


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_signing_in_and_out(browser: Browser, guarded_address: str, store: Store, script: bool) -> None:
    token, secret = store.tokens.make("the reading room")
    row = rows.done(store, owner=token.member)
    with looking(browser, java_script_enabled=script) as (context, page, _witness):
        page.goto(f"{guarded_address}/inspections/{row.id}")
        page.get_by_label("Access token").fill("pw_wrong")
        page.get_by_role("button", name="Sign in").click()
        expect(page.get_by_role("alert")).to_contain_text("not known here")
        page.get_by_label("Access token").fill(secret)
        page.get_by_role("button", name="Sign in").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("The Long Mole")
        (cookie,) = context.cookies()
        assert (cookie["httpOnly"], cookie["sameSite"]) == (True, "Strict")
        page.get_by_role("button", name="Sign out").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")
        page.goto(f"{guarded_address}/inspections")
        expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")


def test_a_link_from_another_site_leads_a_signed_in_visitor_in(
    browser: Browser, guarded_address: str, app: Flask, store: Store
) -> None:
    """``localhost`` and ``127.0.0.1`` are two sites to a browser."""
    _, secret = store.tokens.make("the reading room")
    elsewhere = Flask("elsewhere")
    elsewhere.add_url_rule("/", view_func=lambda: f'<a href="{guarded_address}/inspections">the list</a>')
    with served(elsewhere) as other, looking(browser) as (_, page, _witness):
        page.goto(guarded_address)
        page.get_by_label("Access token").fill(secret)
        page.get_by_role("button", name="Sign in").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Will the printer take it?")
        page.goto(other.replace("127.0.0.1", "localhost"))
        page.get_by_role("link", name="the list").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Inspections")
        expect(page.get_by_role("button", name="Sign out")).to_be_visible()


def test_another_sites_form_does_nothing(browser: Browser, address: str, store: Store) -> None:
    row = rows.queued(store)
    elsewhere = Flask("elsewhere")
    form = f'<form method=post action="{address}/inspections/{row.id}/cancellation"><button>Win</button></form>'
    elsewhere.add_url_rule("/", view_func=lambda: form)
    with served(elsewhere) as other, looking(browser) as (_, page, _witness):
        page.goto(address)
        for host in ("localhost", "127.0.0.1"):
            page.goto(other.replace("127.0.0.1", host))
            page.get_by_role("button", name="Win").click()
            expect(page.get_by_role("heading", level=1)).to_have_text("This form was not sent from here")
    kept = store.rows.get(row.id)
    assert kept is not None
    assert kept.state == "queued"


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_deleting(browser: Browser, address: str, store: Store, script: bool) -> None:
    row = rows.done(store)
    with looking(browser, java_script_enabled=script) as (_, page, _witness):
        page.goto(f"{address}/inspections/{row.id}")
        page.get_by_role("link", name="Delete this inspection").click()
        page.get_by_role("link", name="Keep it").click()
        page.get_by_role("link", name="Delete this inspection").click()
        page.get_by_role("button", name="Delete it").click()
        expect(page.get_by_text("No book has been inspected yet.")).to_be_visible()
    assert store.rows.get(row.id) is None
