"""Every page in every state, looked at once on a desk and once on a dark phone: nothing on it keeps anybody out.

axe-core has nothing to say: all its rules, WCAG 2 A and AA and its best practices, and with them ``target-size`` of
WCAG 2.2 (success criterion 2.5.8), which is off by default. Nothing has to be scrolled sideways at 360 px, nor at 320
(1.4.10). Nothing is fetched from elsewhere, and every page that has an address is among those that are looked at.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from flask import Flask, Response, request

from service.app import create_app
from tests.needs import needs_chromium, needs_module
from tests.web.every_page import NOTHING_YET, Sent, forms, pages_of_everything
from worker.settings import Settings
from worker.store import Store, open_store

pytest.importorskip("playwright.sync_api", reason="needs the Python package playwright")

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, ViewportSize

from tests.web.browser import DESK, NARROWEST, Witness, served, sideways

pytestmark = [needs_chromium, needs_module("playwright"), needs_module("axe_playwright_python")]

DARK_PHONE: ViewportSize = {"width": 360, "height": 740}
ALL_RULES = {"rules": {"target-size": {"enabled": True}}}
OF_SIZE_AND_COLOUR = {"runOnly": ["color-contrast", "target-size", "scrollable-region-focusable", "link-in-text-block"]}
"""What a page looks like is another thing on a phone and in the dark; what it says is not."""

NO_PAGES = {
    "author.progress", "shared.nothing", "shared.picture", "shared.proof", "shared.report_json", "web.letter_text",
    "web.measurements_json", "web.progress", "web.proof", "web.report_json", "web.static",
}  # fmt: skip
"""Addresses of the pages' rooms at which something else is answered."""

SEND = """(form, typed) => {
    for (const [name, value] of Object.entries(typed)) form.elements[name].value = value;
    form.submit();
}"""


class Press:
    """A press whose pages are looked at, and which of them a browser has been shown."""

    def __init__(self, folder: Path) -> None:
        found = Settings.from_environment(folder, {})
        nowhere = f"redis+socket://{folder}/nobody.sock"
        settings = replace(found, given_broker_url=nowhere, asks_for_token=True, most_requests=100_000)
        self.app: Flask = create_app(settings)
        self.store: Store = open_store(settings)
        self.seen: set[str] = set()
        self.app.after_request(self._note)
        member = self.store.members.make("the press", operator=True)
        self.secret = self.store.tokens.make("the desk", member.id)[1]
        self.newcomer = self.store.tokens.make("first", self.store.members.make("A newcomer").id)[1]
        self.places = pages_of_everything(self.store, member)
        self.forms = forms(self.store, member)

    @property
    def pages(self) -> set[str]:
        """The names of all addresses of the pages' rooms that are read."""
        rules = [rule for rule in self.app.url_map.iter_rules() if "GET" in (rule.methods or ())]
        return {rule.endpoint for rule in rules if rule.endpoint.startswith(("web.", "author.", "shared."))}

    def _note(self, response: Response) -> Response:
        if response.mimetype == "text/html" and request.endpoint not in NO_PAGES:
            self.seen.add(request.endpoint or "")
        return response


@pytest.fixture(scope="module")
def press(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Press]:
    found = Press(tmp_path_factory.mktemp("press"))
    yield found
    found.store.close()


@pytest.fixture(scope="module")
def address(press: Press) -> Iterator[str]:
    with served(press.app) as found:
        yield found


class Look:
    """One browser window; what is wrong with the pages that it was shown."""

    def __init__(self, page: Page, address: str, rules: dict[str, Any]) -> None:
        self.page = page
        self.address = address
        self.rules = rules
        self.wrong: list[tuple[str, str, str]] = []
        page.route("**/progress", lambda route: route.abort())

    def sign_in(self, secret: str) -> None:
        self.page.goto(f"{self.address}/sign-in")
        self.page.get_by_label("Access token").fill("pw_wrong")
        self.page.get_by_role("button", name="Sign in").click()
        self.judge("a wrong token")
        self.page.get_by_label("Access token").fill(secret)
        self.page.get_by_role("button", name="Sign in").click()
        self.page.get_by_role("button", name="Sign out").wait_for()

    def at(self, place: str) -> None:
        self.page.goto(self.address + place)
        self.judge(place)

    def send(self, form: Sent) -> None:
        self.page.goto(self.address + form.place)
        with self.page.expect_navigation():
            self.page.locator(f'form[method=post][action$="{form.form}"]').evaluate(SEND, form.typed)
        self.judge(f"{form.place} ⇒ {form.form} {form.typed}")

    def judge(self, what: str) -> None:
        """Note what is wrong with the page that is shown."""
        found = Axe().run(self.page, options=self.rules).response
        self.wrong += [(what, each["id"], each["nodes"][0]["html"][:160]) for each in found["violations"]]
        if not found["passes"]:
            self.wrong.append((what, "axe", "found nothing to look at"))
        first = self.page.evaluate("document.querySelector('a[href], button, input').className")
        if first != "skip":
            self.wrong.append((what, "the first that Tab reaches", first))
        if self.page.locator("h1").count() != 1:
            self.wrong.append((what, "h1", str(self.page.locator("h1").count())))
        size = self.page.viewport_size
        assert size is not None
        for window in (size, NARROWEST):
            self.page.set_viewport_size(window)
            if sideways(self.page) > 0:
                self.wrong.append((what, f"at {window['width']} px", f"{sideways(self.page)} px too wide"))
        self.page.set_viewport_size(size)


@pytest.mark.parametrize(
    ("scheme", "window", "rules"),
    [("light", DESK, ALL_RULES), ("dark", DARK_PHONE, OF_SIZE_AND_COLOUR)],
    ids=["desk", "dark phone"],
)
def test_nothing_keeps_anybody_out(
    browser: Browser, press: Press, address: str, scheme: Any, window: ViewportSize, rules: dict[str, Any]
) -> None:
    context = browser.new_context(viewport=window, color_scheme=scheme, bypass_csp=True)
    context.set_default_timeout(20_000)
    page, witness = context.new_page(), Witness()
    witness.watch(page)
    look = Look(page, address, rules)
    look.sign_in(press.newcomer)
    for place in NOTHING_YET:
        look.at(place)
    context.clear_cookies()
    look.sign_in(press.secret)
    for place in press.places:
        look.at(place)
    for form in press.forms:
        look.send(form)
    context.close()
    assert look.wrong == []
    assert witness.hosts == {address.removeprefix("http://")}
    assert witness.complaints == []
    assert press.pages - press.seen == NO_PAGES
