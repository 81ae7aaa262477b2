"""The page of whoever runs the service, in a real browser: whole at any width, in the dark, and without a violation."""

from __future__ import annotations

from typing import Literal

import pytest
from flask import Flask

from tests.needs import needs_chromium, needs_module
from tests.web import rows
from worker.store import Failure, Store

pytest.importorskip("playwright.sync_api", reason="needs the Python package playwright")

from axe_playwright_python.sync_playwright import Axe

from tests.web.browser import DESK, NARROWEST, looking, running_browser, served, sideways

pytestmark = [needs_chromium, needs_module("playwright")]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_is_whole_and_axe_finds_no_violation(app: Flask, store: Store, scheme: Literal["light", "dark"]) -> None:
    """axe-core, all its rules: WCAG 2 A and AA, and its best practices."""
    rows.queued(store)
    rows.done(store)
    assert store.rows.fail(rows.measuring(store, 1, 2), Failure("limit", "too long", "split it"))
    with running_browser() as browser, served(app) as address:
        for size in (DESK, NARROWEST):
            options = {"viewport": size, "color_scheme": scheme, "java_script_enabled": True, "bypass_csp": True}
            with looking(browser, **options) as (_, page, _witness):
                page.goto(address)
                page.get_by_role("link", name="Standing").click()
                assert page.get_by_role("heading", level=1).inner_text() == "How the service stands"
                assert page.locator("[aria-current=page]").inner_text() == "Standing"
                assert sideways(page) == 0
                found = Axe().run(page)
                assert [(each["id"], each["nodes"][0]["html"][:120]) for each in found.response["violations"]] == []
                assert len(found.response["passes"]) > 15
