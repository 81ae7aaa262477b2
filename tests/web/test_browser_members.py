"""Sharing, tokens and members in a real browser: by hand and without a script, on a desk and on the narrowest phone."""

from __future__ import annotations

import pytest

from tests.needs import needs_chromium, needs_module
from tests.web import rows
from worker.store import Store

pytest.importorskip("playwright.sync_api", reason="needs the Python package playwright")

from playwright.sync_api import Browser, Page, expect

from tests.web.browser import looking

pytestmark = [needs_chromium, needs_module("playwright")]


@pytest.fixture
def secret(store: Store) -> str:
    member = store.members.make("the press", operator=True)
    return store.tokens.make("the desk", member.id)[1]


def _sign_in(page: Page, guarded_address: str, secret: str) -> None:
    page.goto(f"{guarded_address}/sign-in")
    page.get_by_label("Access token").fill(secret)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_a_link_is_made_opened_by_a_stranger_and_withdrawn(
    browser: Browser, guarded_address: str, store: Store, secret: str, script: bool
) -> None:
    row = rows.done(store, owner=store.members.all()[0].id)
    with looking(browser, java_script_enabled=script) as (_, page, _witness):
        _sign_in(page, guarded_address, secret)
        page.goto(f"{guarded_address}/inspections/{row.id}")
        page.get_by_label("The link holds for").fill("3")
        page.get_by_role("button", name="Make a link").click()
        link = page.get_by_label("Copy it now").input_value()
        with looking(browser, java_script_enabled=script) as (context, stranger, seen):
            stranger.goto(link)
            expect(stranger.get_by_role("heading", level=1)).to_have_text("The Long Mole")
            expect(stranger.frame_locator("#report").get_by_text("The report of a book.")).to_be_visible()
            expect(stranger.get_by_role("navigation")).to_have_count(0)
            assert seen.hosts == {guarded_address.removeprefix("http://")}
            assert context.cookies() == []
            page.get_by_role("link", name="Back to the inspection").click()
            page.get_by_role("button", name="Withdraw").click()
            expect(page.get_by_role("button", name="Withdraw")).to_have_count(0)
            stranger.goto(link)
            expect(stranger.get_by_role("heading", level=1)).to_have_text("This link leads nowhere")


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_a_member_is_let_in_and_given_a_token(
    browser: Browser, guarded_address: str, store: Store, secret: str, script: bool
) -> None:
    with looking(browser, java_script_enabled=script) as (_, page, _witness):
        _sign_in(page, guarded_address, secret)
        page.get_by_role("link", name="Members").click()
        page.get_by_label("Name").fill("A. Fulmar")
        page.get_by_role("button", name="Let in").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("A. Fulmar")
        page.get_by_label("Name").fill("laptop")
        page.get_by_label("It ends after").fill("90")
        page.get_by_role("button", name="Make the token").click()
        made = page.get_by_label("Copy it now").input_value()
        page.get_by_role("link", name="Back to the tokens").click()
        expect(page.get_by_text("laptop: read, submit")).to_be_visible()
        page.get_by_role("button", name="Sign out").click()
        _sign_in(page, guarded_address, made)
        expect(page.get_by_role("link", name="Tokens")).to_have_count(0)  # it does not manage
    assert store.members.named("A. Fulmar") is not None
