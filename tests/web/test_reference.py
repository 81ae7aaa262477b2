"""The API's reference as a page: everything of the description is in it, and every problem has a page of its own.

axe-core says what keeps people out (WCAG 2.2, A and AA).
"""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import pytest
from flask import Flask

from service.problems import KINDS
from tests.needs import needs_chromium, needs_module
from tests.web.visit import Page, Visit

HTML = "text/html"
LINKED = re.compile(r"(/reference)?#(?P<id>[\w-]+)")


@pytest.fixture
def page(visit: Visit) -> Page:
    return visit.get("/reference")


def test_every_call_stands_in_it(visit: Visit, page: Page) -> None:
    document = visit.client.get("/openapi.json").get_json()
    text = " ".join(unescape(page.text).split())
    ids = [given["id"] for _, given in page.elements if given.get("id")]
    assert len(ids) == len(set(ids))
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            assert f"{method.upper()} {path}" in text
            assert operation["summary"].replace("`", "") in text
            assert operation["operationId"] in ids
            for parameter in operation.get("parameters", []):
                assert parameter["name"] in text
    for name, schema in document["components"]["schemas"].items():
        assert f"type-{name}" in ids
        assert all(member in text for member in schema.get("properties", {}))


def test_every_link_leads_somewhere(visit: Visit, page: Page) -> None:
    ids = {given["id"] for _, given in page.elements if given.get("id")}
    inside = [found["id"] for link in page.links() if (found := LINKED.fullmatch(link))]
    assert len(inside) > 50
    assert set(inside) <= ids
    outside = {link.partition("#")[0] for link in page.links()} - {""}
    assert {f"/problems/{slug}" for slug in KINDS} <= outside
    for link in outside:
        assert link.startswith("/")
        assert visit.client.get(link).status_code == 200, link


def test_it_needs_nothing_but_its_style(visit: Visit, page: Page) -> None:
    assert page.status == 200
    assert not page.all("script")
    assert {given["href"] for given in page.all("link")} == {"/static/web.css", "/static/mark.svg"}
    policy = visit.client.get("/reference").headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "style-src 'self'" in policy


def test_it_is_open_to_all_and_every_page_leads_to_it(visit: Visit, guarded_app: Flask) -> None:
    stranger = Visit(guarded_app.test_client())
    assert stranger.get("/reference").status == 200
    assert "/reference" in stranger.get("/sign-in").links()
    for address in ("/", "/inspections", "/nothing", "/problems/fault", "/reference"):
        assert "/reference" in visit.get(address, Accept=HTML).links()


@pytest.mark.parametrize("slug", sorted(KINDS))
def test_every_problem_has_a_page_that_says_what_to_do(visit: Visit, slug: str) -> None:
    """RFC 9457, section 3.1.1: a type is best a page for people."""
    kind = KINDS[slug]
    page = visit.get(kind.type, Accept=HTML)
    text = " ".join(page.text.split())
    assert page.status == 200
    assert kind.title in text
    assert " ".join(kind.remedy.replace("`", "").split()) in text
    assert "`" not in text
    assert f"HTTP status {kind.status}" in text
    assert "/reference#problems" in page.links()
    assert not page.all("script")


@needs_chromium
@needs_module("axe_playwright_python")
def test_nothing_keeps_anybody_out(browser: Any, address: str) -> None:
    """Far longer than the other pages, which are looked at in ``test_every_page.py``: so in one window, once."""
    from axe_playwright_python.sync_playwright import Axe

    from tests.web.browser import NARROWEST, looking, sideways

    with looking(browser) as (_, page, witness):
        page.goto(f"{address}/reference")
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
        page.set_viewport_size(NARROWEST)
        assert sideways(page) <= 0
        assert witness.hosts == {address.removeprefix("http://")}
