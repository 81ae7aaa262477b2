"""Share links, from the call that makes one to the page that a stranger sees. ``Referrer-Policy``: W3C Referrer Policy,
section 3.1; ``no-store``: RFC 9111, section 5.2.2.5; statuses: RFC 9110, section 15."""

from __future__ import annotations

import logging
from datetime import datetime, timedelta

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.api import books
from tests.api.problem import check_problem
from worker.store import Inspection, Store, new_inspection_id, picture_key, proof_key
from worker.store.models import now
from worker.store.shares import MOST_SHARES

TO = "/v1/inspections"
PARTS = ("", "/report", "/report.json", "/proof.pdf", "/pages/1.png", "/elsewhere")
PNG = b"\x89PNG a picture"
PROOF = b"%PDF- a proof"

PASSING = {"Date", "X-Request-Id", "X-RateLimit-Remaining", "X-RateLimit-Reset"}
"""Headers that differ from one request to the next."""


@pytest.fixture
def row(store: Store) -> Inspection:
    found = books.done(store)
    store.bytes.write(picture_key(found.id, 1), PNG)
    store.bytes.write(proof_key(found.id), PROOF)
    return found


def _share(client: FlaskClient, row: Inspection, **order: object) -> tuple[str, str]:
    """A new link's id and its path."""
    answer = client.post(f"{TO}/{row.id}/shares", json=order)
    assert answer.status_code == 201, answer.text
    link = answer.get_json()["link"]
    assert link.startswith("http://localhost/shared/")
    return answer.get_json()["id"], link.removeprefix("http://localhost")


def _without_date(answer: TestResponse) -> tuple[int, bytes, list[tuple[str, str]]]:
    return (
        answer.status_code,
        answer.data,
        sorted((name, value) for name, value in answer.headers if name not in PASSING),
    )


def test_a_link_is_made_listed_and_withdrawn(client: FlaskClient, row: Inspection) -> None:
    answer = client.post(f"{TO}/{row.id}/shares", json={"days": 3})
    assert answer.headers["Cache-Control"] == "no-store"
    until = datetime.fromisoformat(answer.get_json()["expires_at"])
    assert abs(until - now() - timedelta(days=3)) < timedelta(minutes=1)
    listed = client.get(f"{TO}/{row.id}/shares")
    made = answer.get_json()
    secret = made.pop("link").rpartition("/")[2]
    assert listed.get_json() == {"shares": [made]}
    assert secret not in listed.text
    assert client.get(f"/shared/{secret}").status_code == 200
    assert client.delete(answer.headers["Location"]).status_code == 204
    assert client.get(f"{TO}/{row.id}/shares").get_json() == {"shares": []}
    assert client.get(f"/shared/{secret}").status_code == 404
    check_problem(client.delete(answer.headers["Location"]), 404, "no-such-share")


def test_without_a_number_it_holds_as_long_as_is_set_up(client: FlaskClient, row: Inspection) -> None:
    until = datetime.fromisoformat(client.post(f"{TO}/{row.id}/shares", json={}).get_json()["expires_at"])
    assert abs(until - now() - timedelta(days=14)) < timedelta(minutes=1)


@pytest.mark.parametrize("days", [0, -1, 91, "x", 1.5, True, 10**12])
def test_days_that_no_link_holds_are_refused(client: FlaskClient, row: Inspection, days: object) -> None:
    told = check_problem(client.post(f"{TO}/{row.id}/shares", json={"days": days}), 422, "invalid-request")
    errors = told["errors"]
    assert isinstance(errors, list)
    assert [error["field"] for error in errors] == ["days"]


def test_only_what_is_done_is_shared_and_only_so_often(client: FlaskClient, store: Store, row: Inspection) -> None:
    waits = books.queued(store)
    check_problem(client.post(f"{TO}/{waits.id}/shares", json={}), 409, "not-finished")
    for _ in range(MOST_SHARES):
        _share(client, row)
    check_problem(client.post(f"{TO}/{row.id}/shares", json={}), 409, "too-many-shares")


@pytest.mark.parametrize("asks_for_token", [True, False])
def test_whoever_has_it_reads_that_inspection(
    app: Flask, guarded: FlaskClient, store: Store, row: Inspection, asks_for_token: bool
) -> None:
    _, secret = store.shares.make(row, days=3)
    stranger = guarded if asks_for_token else app.test_client()
    found = {part: stranger.get(f"/shared/{secret}{part}") for part in PARTS[:5]}
    assert [answer.status_code for answer in found.values()] == [200] * 5
    assert "Tern Island" in found["/report"].text or "The Long Mole" in found["/report"].text
    assert found["/report.json"].get_json(force=True)["file"]["name"] == "long-mole.pdf"
    assert found["/proof.pdf"].data == PROOF
    assert found["/pages/1.png"].data == PNG
    for answer in found.values():
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert answer.headers["Cache-Control"] == "no-store"
        assert "noindex" in answer.headers["X-Robots-Tag"]
        assert "Set-Cookie" not in answer.headers
        assert answer.headers["X-Content-Type-Options"] == "nosniff"


def test_the_page_shows_nothing_else(client: FlaskClient, store: Store, row: Inspection) -> None:
    books.done(store, title="Another Harbour")
    page = client.get(_share(client, row)[1]).text
    assert row.id not in page
    assert "Another Harbour" not in page
    assert "<form" not in page
    assert "/inspections" not in page
    assert page.count('href="/shared/') >= 3


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE"])
def test_nothing_is_changed_by_it(client: FlaskClient, store: Store, row: Inspection, method: str) -> None:
    path = _share(client, row)[1]
    for part in ("", "/report", "/judgements", "/deletion", "/cancellation"):
        answer = client.open(path + part, method=method)
        assert answer.status_code == 405, part
        assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert store.rows.get(row.id) is not None
    assert len(store.rows.page("local").items) == 1


def test_every_link_that_does_not_hold_leads_to_the_very_same_page(
    client: FlaskClient, store: Store, row: Inspection
) -> None:
    share_id, withdrawn = _share(client, row)
    client.delete(f"{TO}/{row.id}/shares/{share_id}")
    _, over = store.shares.make(row, days=-1)
    gone_row = books.done(store)
    _, gone = _share(client, gone_row)
    client.delete(f"{TO}/{gone_row.id}")
    waits = books.queued(store)
    _, unfinished = store.shares.make(waits, days=3)
    wrong = ["A" * 43, "x", row.id, share_id, "x" * 3000, "é" * 30, "..", "%00", "a%2Fb", "'--"]
    links = [withdrawn, gone, *(f"/shared/{secret}" for secret in (over, unfinished, *wrong))]
    for part in PARTS:
        answers = [_without_date(client.get(link + part)) for link in links if link != "/shared/.."]
        assert answers[0][0] == 404
        assert all(answer == answers[0] for answer in answers), part
    assert _without_date(client.get(withdrawn)) == _without_date(client.get(withdrawn + "/pages/1.png"))


def test_a_page_that_the_book_does_not_have(client: FlaskClient, row: Inspection) -> None:
    path = _share(client, row)[1]
    for page in (0, 4, 10**9):
        answer = client.get(f"{path}/pages/{page}.png")
        assert (answer.status_code, "no page" in answer.text) == (404, True)
        assert answer.headers["Referrer-Policy"] == "no-referrer"


def test_the_guard_of_the_host_stands(client: FlaskClient, row: Inspection) -> None:
    path = _share(client, row)[1]
    assert client.get(path, headers={"Host": "rebound.example"}).status_code == 403


def test_an_id_of_anothers_link_withdraws_nothing(guarded: FlaskClient, store: Store) -> None:
    (one, one_secret), (other, _) = store.tokens.make("one"), store.tokens.make("other")
    mine, theirs = books.done(store, owner=one.member), books.done(store, owner=other.member)
    share, secret = store.shares.make(theirs, days=3)
    bearer = {"Authorization": f"Bearer {one_secret}"}
    answer = guarded.delete(f"{TO}/{theirs.id}/shares/{share.id}", headers=bearer)
    never = guarded.delete(f"{TO}/{new_inspection_id()}/shares/{share.id}", headers=bearer)
    assert answer.data == never.data
    check_problem(guarded.delete(f"{TO}/{mine.id}/shares/{share.id}", headers=bearer), 404, "no-such-share")
    assert store.shares.find(secret) is not None


def test_a_fault_of_our_own_does_not_write_the_secret_down(
    app: Flask, store: Store, row: Inspection, caplog: pytest.LogCaptureFixture
) -> None:
    _, secret = store.shares.make(row, days=3)
    store.bytes.write(picture_key(row.id, 1), PNG)
    store.bytes.delete_all(row.id)  # behind the row's back
    with caplog.at_level(logging.DEBUG):
        for part in PARTS:
            assert app.test_client().get(f"/shared/{secret}{part}").status_code in {404, 503}
    assert secret not in caplog.text
