"""A walk past every origin of an error: each is problem details (RFC 9457) with a type that is explained."""

from __future__ import annotations

import base64
import errno
import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from flask import Request
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from service import intake
from service.pace import TooSlow
from service.problems import KINDS
from tests.api import books
from tests.api.problem import check_problem
from worker.picturing import Undrawn
from worker.store import Failure, Incoming, Inspection, Store, undrawn_key

TO = "/v1/inspections"
PDF = "application/pdf"
NOBODY = "/v1/inspections/ins_" + "a" * 26


def _failed(store: Store) -> Inspection:
    row = books.measuring(store)
    store.rows.fail(row, Failure("limit", "page 212 inflates past 1 GB", "Make its pictures smaller.", 212))
    return row


def _undrawn(store: Store) -> Inspection:
    row = books.done(store)
    told = Undrawn(code="drawing", message="Failed to load page")
    store.bytes.write(undrawn_key(row.id, 2), told.model_dump_json().encode())
    return row


def _cancelled(store: Store) -> Inspection:
    row = books.queued(store)
    store.rows.cancel(row.id)
    return row


Call = Callable[[FlaskClient, Store], TestResponse]
JSON_TO = {"json": {"profile": "ternhaven-mono"}}
UNTAKEN: list[tuple[str, str, int, Call]] = [
    ("an unknown address of the API", "not-found", 404, lambda c, s: c.get("/v1/nothing")),
    ("an unknown address outside it", "not-found", 404, lambda c, s: c.get("/nothing")),
    ("an unknown problem", "not-found", 404, lambda c, s: c.get("/problems/nothing")),
    ("a wrong method", "method-not-allowed", 405, lambda c, s: c.put(TO)),
    ("a wrong method on the description", "method-not-allowed", 405, lambda c, s: c.post("/openapi.json")),
    ("an unknown parameter", "invalid-request", 422, lambda c, s: c.get(f"{TO}?colour=red")),
    ("a wrong parameter", "invalid-request", 422, lambda c, s: c.get(f"{TO}?limit=0")),
    ("a number that is none", "invalid-request", 422, lambda c, s: c.get(f"{TO}?limit=1_0")),
    ("a parameter without a name", "invalid-request", 422, lambda c, s: c.get(f"{TO}?=1")),
    ("a parameter with an odd name", "invalid-request", 422, lambda c, s: c.get(f"{TO}?%00=1")),
    ("a state that does not exist", "invalid-request", 422, lambda c, s: c.get(f"{TO}?state=asleep")),
    ("a cursor of somebody else's", "invalid-request", 422, lambda c, s: c.get(f"{TO}?after=x")),
    (
        "a cursor that was tampered with",
        "invalid-request",
        422,
        lambda c, s: c.get(TO, query_string={"after": base64.urlsafe_b64encode(b"2026-11-25T12:00:00+00:00 \x00")}),
    ),
    ("a control character", "invalid-request", 422, lambda c, s: c.get(f"{TO}?title=%00")),
    ("an inspection that is not there", "no-such-inspection", 404, lambda c, s: c.get(NOBODY)),
    ("an id that can be none", "no-such-inspection", 404, lambda c, s: c.get(f"{TO}/%00")),
    ("its report", "no-such-inspection", 404, lambda c, s: c.get(f"{NOBODY}/report")),
    ("its report, for a person", "no-such-inspection", 404, lambda c, s: c.get(f"{NOBODY}/report.html")),
    ("its deletion", "no-such-inspection", 404, lambda c, s: c.delete(NOBODY)),
    ("its cancellation", "no-such-inspection", 404, lambda c, s: c.post(f"{NOBODY}/cancellation")),
    ("its judgement", "no-such-inspection", 404, lambda c, s: c.post(f"{NOBODY}/judgements", **JSON_TO)),
    ("a profile that is not there", "no-such-profile", 404, lambda c, s: c.get("/v1/profiles/nobody")),
    (
        "a form that a profile does not come in",
        "not-acceptable",
        406,
        lambda c, s: c.get("/v1/profiles/ternhaven-mono", headers={"Accept": "image/png"}),
    ),
    (
        "a form that a report does not come in",
        "not-acceptable",
        406,
        lambda c, s: c.get(f"{TO}/{books.done(s).id}/report", headers={"Accept": "text/plain"}),
    ),
    ("a report too early", "not-finished", 409, lambda c, s: c.get(f"{TO}/{books.queued(s).id}/report")),
    ("measurements too early", "not-finished", 409, lambda c, s: c.get(f"{TO}/{books.queued(s).id}/measurements")),
    ("a picture too early", "not-finished", 409, lambda c, s: c.get(f"{TO}/{books.measuring(s).id}/pages/1.png")),
    (
        "a judgement too early",
        "not-finished",
        409,
        lambda c, s: c.post(f"{TO}/{books.queued(s).id}/judgements", **JSON_TO),
    ),
    ("a report that failed", "inspection-failed", 409, lambda c, s: c.get(f"{TO}/{_failed(s).id}/report")),
    ("a report that was cancelled", "inspection-cancelled", 409, lambda c, s: c.get(f"{TO}/{_cancelled(s).id}/report")),
    ("cancelling what is done", "already-ended", 409, lambda c, s: c.post(f"{TO}/{books.done(s).id}/cancellation")),
    ("a page that the book has not", "no-such-page", 404, lambda c, s: c.get(f"{TO}/{books.done(s).id}/pages/4.png")),
    ("page 0", "no-such-page", 404, lambda c, s: c.get(f"{TO}/{books.done(s).id}/pages/0.png")),
    ("a page that is no number", "not-found", 404, lambda c, s: c.get(f"{TO}/{books.done(s).id}/pages/i.png")),
    (
        "a picture while the queue is away",
        "picture-not-drawn",
        503,
        lambda c, s: c.get(f"{TO}/{books.done(s).id}/pages/1.png"),
    ),
    (
        "a picture that cannot be drawn",
        "page-cannot-be-drawn",
        404,
        lambda c, s: c.get(f"{TO}/{_undrawn(s).id}/pages/2.png"),
    ),
    ("a proof too early", "not-finished", 409, lambda c, s: c.get(f"{TO}/{books.measuring(s).id}/proof.pdf")),
    (
        "a proof while the queue is away",
        "proof-not-made",
        503,
        lambda c, s: c.get(f"{TO}/{books.done(s).id}/proof.pdf"),
    ),
    (
        "a judgement that is no JSON",
        "malformed-request",
        400,
        lambda c, s: c.post(f"{TO}/{books.done(s).id}/judgements", data="{", content_type="application/json"),
    ),
    (
        "a judgement of another media type",
        "unsupported-media-type",
        415,
        lambda c, s: c.post(f"{TO}/{books.done(s).id}/judgements", data={"profile": "ternhaven-mono"}),
    ),
    (
        "a judgement that is no object",
        "invalid-request",
        422,
        lambda c, s: c.post(f"{TO}/{books.done(s).id}/judgements", json=[1]),
    ),
    (
        "a judgement by nobody",
        "unknown-profile",
        422,
        lambda c, s: c.post(f"{TO}/{books.done(s).id}/judgements", json={"profile": "nobody"}),
    ),
    (
        "a judgement as long as a book",
        "too-large",
        413,
        lambda c, s: c.post(f"{TO}/{books.done(s).id}/judgements", json={"profile": "x" * 20_000}),
    ),
    ("an upload of nothing", "empty-file", 422, lambda c, s: c.post(f"{TO}?profile=ternhaven-mono", content_type=PDF)),
    (
        "no host's name",
        "malformed-request",
        400,
        lambda c, s: c.get(TO, environ_overrides={"HTTP_HOST": "", "SERVER_PROTOCOL": "HTTP/1.1"}),
    ),
    (
        "another host's name",
        "foreign-host",
        403,
        lambda c, s: c.get(TO, headers={"Host": "rebound.example"}),
    ),
    (
        "a page of another site",
        "foreign-origin",
        403,
        lambda c, s: c.post(TO, headers={"Origin": "https://elsewhere.example"}),
    ),
]


@pytest.mark.parametrize(("slug", "status", "call"), [row[1:] for row in UNTAKEN], ids=[row[0] for row in UNTAKEN])
def test_every_refusal_is_problem_details(
    client: FlaskClient, store: Store, slug: str, status: int, call: Call
) -> None:
    check_problem(call(client, store), status, slug)


def test_a_wrong_method_names_the_right_ones(client: FlaskClient) -> None:
    allowed = set(client.put(TO).headers["Allow"].replace(" ", "").split(","))
    assert {"GET", "POST"} <= allowed  # RFC 9110, 15.5.6


def test_an_odd_name_is_shown_without_its_power(client: FlaskClient) -> None:
    for query, shown in (("=1", "''"), ("%00%1b=1", "'\\x00\\x1b'")):
        assert client.get(f"{TO}?{query}").get_json()["errors"] == [
            {"field": shown, "detail": "It is not known here; leave it out."}
        ]


def test_what_is_too_early_says_when(client: FlaskClient, store: Store) -> None:
    answer = client.get(f"{TO}/{books.queued(store).id}/report")
    assert int(answer.headers["Retry-After"]) > 0
    assert answer.get_json()["state"] == "queued"


def test_a_page_that_cannot_be_drawn_says_why_and_asks_no_worker(
    client: FlaskClient, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.api.results.ring_drawing", lambda *_: pytest.fail("a worker was asked"))
    answer = client.get(f"{TO}/{_undrawn(store).id}/pages/2.png")
    assert "Failed to load page" in answer.get_json()["detail"]
    assert answer.get_json()["why"] == {"code": "drawing", "message": "Failed to load page"}
    assert "Retry-After" not in answer.headers


def test_a_failure_is_told_in_its_own_words(client: FlaskClient, store: Store) -> None:
    told = client.get(f"{TO}/{_failed(store).id}/report").get_json()
    assert told["failure"] == {
        "code": "limit",
        "message": "page 212 inflates past 1 GB",
        "help": "Make its pictures smaller.",
        "page": 212,
        "attempt": 1,
    }
    assert "page 212 inflates past 1 GB. Make its pictures smaller." in told["detail"]


def test_a_fault_of_our_own_shows_nothing_of_the_inside(
    client: FlaskClient, store: Store, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def breaks(*_: object, **__: object) -> None:
        raise RuntimeError("secret inside")

    monkeypatch.setattr("service.api.results.judge_again", breaks)
    told = check_problem(client.post(f"{TO}/{books.done(store).id}/judgements", **JSON_TO), 500, "fault")
    assert "secret" not in str(told)
    assert str(told["instance"]) in caplog.text  # whoever runs the service finds it again


@pytest.mark.sqlite_folder
def test_a_database_that_is_away(client: FlaskClient, tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / "pressworthy.sqlite3")) as database:
        database.execute("DROP TABLE inspections")
    told = check_problem(client.get(TO), 503, "store-away")
    assert "inspections" not in str(told["detail"])


@pytest.mark.sqlite_folder
def test_an_upload_whose_row_cannot_be_made_leaves_no_file(client: FlaskClient, tmp_path: Path, store: Store) -> None:
    with closing(sqlite3.connect(tmp_path / "pressworthy.sqlite3")) as database:
        database.execute("DROP TABLE inspections")
    answer = client.post(f"{TO}?profile=ternhaven-mono", data=books.book(), content_type=PDF)
    check_problem(answer, 503, "store-away")
    assert store.bytes.inspections(untouched_for=-1) == []


def test_a_full_disk(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_self: Incoming, _data: bytes) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Incoming, "write", full)
    answer = client.post(f"{TO}?profile=ternhaven-mono", data=books.book(), content_type=PDF)
    check_problem(answer, 507, "store-full")


def test_a_sender_that_falls_behind(client: FlaskClient, store: Store) -> None:
    class Slow:
        def read(self, _size: int = -1) -> bytes:
            raise TooSlow("What was sent came too slowly. Send it again.")

    environ = {"wsgi.input": Slow(), "CONTENT_LENGTH": "100"}
    judgements = f"{TO}/{books.done(store).id}/judgements"
    for overrides in (environ, environ | {"CONTENT_LENGTH": "", "wsgi.input_terminated": True}):
        for address, kind in ((f"{TO}?profile=ternhaven-mono", PDF), (judgements, "application/json")):
            answer = client.post(address, content_type=kind, environ_overrides=overrides)
            check_problem(answer, 408, "too-slow")


def test_more_uploads_than_are_taken_at_a_time(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(intake, "_places", threading.BoundedSemaphore(1))
    with intake._a_place(Request({})):
        answer = client.post(f"{TO}?profile=ternhaven-mono", data=books.book(), content_type=PDF)
    check_problem(answer, 503, "busy")
    assert int(answer.headers["Retry-After"]) > 0
    for _ in range(2):  # the place is given back, whatever came of the upload
        client.post(f"{TO}?profile=ternhaven-mono", data=b"", content_type=PDF)
        answer = client.post(f"{TO}?profile=ternhaven-mono", data=books.book(), content_type=PDF)
        assert answer.status_code == 202


@pytest.mark.parametrize("slug", sorted(KINDS))
def test_every_type_is_explained_at_its_own_address(client: FlaskClient, slug: str) -> None:
    kind = KINDS[slug]
    told = client.get(kind.type).get_json()
    assert told == {"type": kind.type, "title": kind.title, "status": kind.status, "remedy": kind.remedy}
    page = client.get(kind.type, headers={"Accept": "text/html"})
    assert page.mimetype == "text/html"
    assert kind.slug == slug
    assert f"<h1>{kind.title}</h1>".replace("'", "&#39;") in page.get_data(as_text=True)


def test_a_person_gets_a_page_and_a_program_gets_data(client: FlaskClient) -> None:
    assert client.get("/nothing", headers={"Accept": "text/html,*/*;q=0.8"}).mimetype == "text/html"
    assert client.get("/nothing", headers={"Accept": "application/json"}).mimetype == "application/problem+json"
    assert client.get("/v1/nothing", headers={"Accept": "text/html"}).mimetype == "application/problem+json"
