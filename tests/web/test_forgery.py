"""No form is taken that this browser did not have from us. The attacks are those of the OWASP cheat sheet on
cross-site request forgery (from memory); the headers are those of Fetch Metadata (W3C) and RFC 6454."""

from __future__ import annotations

from io import BytesIO

import pytest
from flask import Flask

from service.web.forgery import FIELD
from tests.web import rows
from tests.web.visit import SMALL_PDF, Visit
from worker.store import NewTitle, Store


def _addresses(app: Flask) -> list[str]:
    """Every address of the pages that takes a form."""
    rules = [rule for rule in app.url_map.iter_rules() if rule.endpoint.startswith("web.")]
    return [rule.rule.replace("<inspection_id>", "{id}") for rule in rules if "POST" in (rule.methods or ())]


def test_every_address_that_changes_something_refuses_a_form_without_the_secret(app: Flask, store: Store) -> None:
    row = rows.done(store)
    title = store.titles.create("local", NewTitle("Maud Kittering", "The Salt Road", "ternhaven-mono"))
    addresses = [address.replace("<title_id>", title.id) for address in _addresses(app)]
    assert len(addresses) >= 6
    for address in addresses:
        visit = Visit(app.test_client())
        visit.get("/")
        typed = {"profile": "ternhaven-mono", "token": "x", "file": (BytesIO(SMALL_PDF), "book.pdf")}
        answer = visit.client.post(address.format(id=row.id), data=typed)
        assert answer.status_code == 403, address
    assert store.rows.get(row.id) is not None
    assert len(store.rows.page("local").items) == 1


def test_another_browsers_secret_is_refused(app: Flask, store: Store) -> None:
    row = rows.done(store)
    stranger, visit = Visit(app.test_client()), Visit(app.test_client())
    form = stranger.get(f"/inspections/{row.id}/deletion").form("/deletion")
    visit.get("/")
    assert visit.submit(form).status_code == 403
    assert store.rows.get(row.id) is not None
    assert stranger.submit(form).status_code == 303
    assert store.rows.get(row.id) is None


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://elsewhere.example"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "cross-site", "Origin": "http://localhost"},
    ],
)
def test_a_form_that_the_browser_says_another_site_sent_is_refused(
    visit: Visit, store: Store, headers: dict[str, str]
) -> None:
    row = rows.queued(store)
    form = visit.get(f"/inspections/{row.id}").form("/cancellation")
    assert visit.submit(form, headers).status_code == 403
    kept = store.rows.get(row.id)
    assert kept is not None
    assert kept.state == "queued"


@pytest.mark.parametrize("headers", [{}, {"Origin": "http://localhost"}, {"Sec-Fetch-Site": "same-origin"}])
def test_our_own_form_is_taken(visit: Visit, store: Store, headers: dict[str, str]) -> None:
    row = rows.queued(store)
    form = visit.get(f"/inspections/{row.id}").form("/cancellation")
    assert visit.submit(form, headers).status_code == 303
    kept = store.rows.get(row.id)
    assert kept is not None
    assert kept.state == "cancelled"


def test_a_book_sent_with_a_wrong_secret_is_not_kept(visit: Visit, store: Store) -> None:
    form = visit.get("/").form("/inspections")
    form.values[FIELD] = "x" * 32
    answer = visit.submit(form, file=(BytesIO(SMALL_PDF), "book.pdf"), profile="ternhaven-mono")
    assert answer.status_code == 403
    assert store.rows.page("local").items == []
    assert list(store.bytes.inspections(untouched_for=-1)) == []


def test_a_reading_visit_changes_nothing(visit: Visit, store: Store) -> None:
    row = rows.queued(store)
    for address in ("cancellation", "judgements"):
        assert visit.client.get(f"/inspections/{row.id}/{address}").status_code == 405
    assert visit.client.get("/sign-out").status_code == 405
    visit.get(f"/inspections/{row.id}/deletion")
    kept = store.rows.get(row.id)
    assert kept is not None
    assert kept.state == "queued"


def test_a_large_body_is_refused_where_no_file_belongs(visit: Visit, store: Store) -> None:
    row = rows.queued(store)
    form = visit.get(f"/inspections/{row.id}").form("/cancellation")
    assert visit.submit(form, title="x" * 100_000).status_code == 413
