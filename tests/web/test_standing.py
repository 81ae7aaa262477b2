"""The page of whoever runs the service."""

from __future__ import annotations

from flask import Flask

from tests.web import rows
from tests.web.visit import Visit
from worker.store import Failure, Store


def test_it_says_how_the_service_stands(visit: Visit, store: Store) -> None:
    rows.queued(store)
    rows.done(store, "Second Harbour")
    row = rows.measuring(store, 1, 2)
    assert store.rows.fail(row, Failure("limit", "too long", "split it"))
    page = visit.get("/standing")
    assert page.status == 200
    said = " ".join(page.text.split())
    for words in ("Waiting 1", "Inspections 3", "Not pressworthy 1", "No report: past a limit 1"):
        assert words.lower() in said.lower(), said
    assert "The broker does not answer" in said
    assert "Second Harbour" not in said, "no book is named"
    assert "/standing" in page.links()


def test_nobody_else_is_shown_it(guarded_app: Flask, store: Store) -> None:
    _, secret = store.tokens.make("desk")
    visit = Visit(guarded_app.test_client())
    visit.submit(visit.get("/sign-in").form("/sign-in"), token=secret)
    page = visit.get("/standing")
    assert page.status == 404
    assert "There is no such page" in page.text
    assert "/standing" not in visit.get("/inspections").links()


def test_every_answer_names_its_request(visit: Visit) -> None:
    taken = visit.client.get("/inspections", headers={"X-Request-Id": "tern-7"})
    assert taken.headers["X-Request-Id"] == "tern-7"
    made = [visit.client.get(address).headers["X-Request-Id"] for address in ("/inspections", "/no/such", "/v1/no")]
    assert len({*made, "tern-7"}) == 4
