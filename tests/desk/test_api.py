"""``/v1/titles``: what other programs do with titles. Problems are those of RFC 9457, links those of RFC 8288."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator
from sqlalchemy import text

from tests.api import books
from tests.api.problem import check_problem
from tests.desk import desk
from tests.web import rows
from worker.store import LOCAL, Store

TO = "/v1/titles"
SOUND = {"author": "Maud Kittering", "title": "The Salt Road", "profile": "ternhaven-mono"}


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """A program."""
    return app.test_client()


def _as_described(client: FlaskClient, body: Any, schema: str) -> None:
    document = client.get("/openapi.json").get_json()
    whole = {"components": document["components"], "$ref": f"#/components/schemas/{schema}"}
    Draft202012Validator(whole).validate(body)


def test_a_title_is_made_read_changed_and_listed(client: FlaskClient) -> None:
    more = {"isbn": "978-0-00-000001-9", "trim": "6 x 9 in", "expected_pages": 312, "note": "Two\nlines"}
    made = client.post(TO, json=SOUND | more)
    assert (made.status_code, made.get_json()["standing"]) == (201, "waiting-for-author")
    assert (made.get_json()["isbn"], made.get_json()["trim"], made.get_json()["note"]) == (
        desk.ISBN,
        "6 × 9 in",
        "Two\nlines",
    )
    here = made.headers["Location"]
    assert client.get(here).get_json() == made.get_json()
    _as_described(client, made.get_json(), "Title")
    changed = client.patch(here, json={"trim": None, "expected_pages": 320, "standing": "withdrawn"})
    assert changed.status_code == 200
    assert {**changed.get_json(), "touched_at": 0} == {
        **made.get_json(), "trim": None, "expected_pages": 320, "standing": "withdrawn", "touched_at": 0,
    }  # fmt: skip
    listed = client.get(TO).get_json()
    assert listed == {"titles": [changed.json], "next": None}
    _as_described(client, listed, "TitleList")


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"isbn": "9780000000018"}, "isbn"),
        ({"author": None}, "author"),
        ({"title": ""}, "title"),
        ({"profile": "nobody"}, "profile"),
        ({"trim": "8 × 8 in"}, "trim"),
        ({"expected_pages": 0}, "expected_pages"),
        ({"expected_pages": True}, "expected_pages"),
        ({"note": "x" * 9000}, "note"),
        ({"title": "x" * 301}, "title"),
        ({"title": "a\x00b"}, "title"),
        ({"colour": "red"}, "colour"),
        ({"standing": "passed"}, "standing"),
    ],
)
def test_each_fault_is_named(client: FlaskClient, typed: dict[str, object], field: str) -> None:
    told = check_problem(client.post(TO, json=SOUND | typed), 422, "invalid-request")
    assert field in [each["field"] for each in told["errors"]]  # type: ignore[attr-defined]
    here = client.post(TO, json=SOUND).headers["Location"]
    before = client.get(here).get_json()
    told = check_problem(client.patch(here, json=typed), 422, "invalid-request")
    assert field in [each["field"] for each in told["errors"]]  # type: ignore[attr-defined]
    assert client.get(here).get_json() == before


def test_what_is_no_json_is_refused(client: FlaskClient) -> None:
    check_problem(client.post(TO, data="title=x"), 415, "unsupported-media-type")
    check_problem(client.post(TO, data="{", content_type="application/json"), 400, "malformed-request")
    check_problem(client.post(TO, json=SOUND | {"note": "x" * 20_000}), 413, "too-large")


def test_a_list_is_narrowed_and_leafed_through(client: FlaskClient, store: Store) -> None:
    made = [desk.title(store, f"Title {number}").id for number in range(5)]
    other = desk.title(store, "Kelp", "Ines Carrow", isbn=desk.ISBN)
    desk.inspected(store, other, verdict="reservations")

    def found(query: str) -> list[str]:
        return [each["id"] for each in client.get(f"{TO}?{query}").get_json()["titles"]]

    assert found("author=carrow") == found("title=KELP") == found("isbn=978-0-00-000001-9") == [other.id]
    assert found("verdict=reservations") == found("standing=to-be-looked-at") == [other.id]
    met: list[str] = []
    address = f"{TO}?author=kittering&limit=2"
    while address:
        page = client.get(address)
        met += [each["id"] for each in page.get_json()["titles"]]
        address = page.get_json()["next"]
        assert not address or f'<{address}>; rel="next"' in page.headers["Link"]
    assert met == made[::-1]
    for bad in ("after=nonsense", "isbn=123", "standing=nonsense", "limit=0", "limit=2&limit=3"):
        check_problem(client.get(f"{TO}?{bad}"), 422, "invalid-request")


def test_a_file_is_sent_and_compared_and_passed(client: FlaskClient, store: Store) -> None:
    here = client.post(TO, json=SOUND | {"trim": "6 × 9 in"}).headers["Location"]
    content = books.book()
    first = client.post(f"{here}/submissions?name=one.pdf", data=content, content_type="application/pdf")
    assert (first.status_code, first.get_json()["number"], first.get_json()["file_name"]) == (202, 1, "one.pdf")
    _as_described(client, first.json, "Submission")
    assert client.get(first.headers["Location"]).get_json()["title"] == "The Salt Road"
    body, kind = books.form({}, [("file", "two.pdf", books.book(4))])
    second = client.post(f"{here}/submissions", data=body, content_type=kind)
    assert (second.status_code, second.get_json()["number"], second.get_json()["file_name"]) == (202, 2, "two.pdf")
    assert client.get(second.headers["Location"]).get_json()["against"] == first.get_json()["inspection"]
    listed = client.get(f"{here}/submissions").get_json()
    assert [each["number"] for each in listed["submissions"]] == [1, 2]
    _as_described(client, listed, "SubmissionList")
    check_problem(client.post(f"{here}/pass", json={"sha256": first.get_json()["sha256"]}), 409, "another-file")
    check_problem(client.post(f"{here}/pass", json={"sha256": second.get_json()["sha256"]}), 409, "not-finished")
    assert client.get(here).get_json()["standing"] == "to-be-looked-at"


def test_a_pass_names_who_gave_it(client: FlaskClient, store: Store) -> None:
    title = desk.title(store)
    file = desk.inspected(store, title)
    passed = client.post(f"{TO}/{title.id}/pass", json={"sha256": file.sha256, "by": "Orla Fenwick"})
    assert passed.status_code == 200
    _as_described(client, passed.json, "Title")
    assert (passed.get_json()["standing"], passed.get_json()["last"]["passed"]["by"]) == ("passed", "Orla Fenwick")
    back = client.patch(f"{TO}/{title.id}", json={"standing": "to-be-looked-at"})
    assert (back.get_json()["standing"], back.get_json()["last"]["passed"]) == ("to-be-looked-at", None)


def test_a_pass_by_a_token_names_the_token(guarded_app: Flask, store: Store) -> None:
    token, secret = store.tokens.make("the reading room")
    title = desk.title(store, owner=token.member)
    file = desk.inspected(store, title)
    headers = {"Authorization": f"Bearer {secret}"}
    client = guarded_app.test_client()
    passed = client.post(f"{TO}/{title.id}/pass", json={"sha256": file.sha256}, headers=headers)
    assert passed.get_json()["last"]["passed"]["by"] == "the reading room"


def test_what_cannot_be_passed_or_sent(client: FlaskClient, store: Store) -> None:
    title = desk.title(store)
    here = f"{TO}/{title.id}"
    check_problem(client.post(f"{here}/pass", json={"sha256": "a" * 64}), 409, "another-file")
    check_problem(client.post(f"{here}/pass", json={"sha256": "nonsense"}), 422, "invalid-request")
    row = rows.queued(store)
    store.rows.cancel(row.id)
    desk.submitted(store, title, row)
    check_problem(client.post(f"{here}/pass", json={"sha256": row.sha256}), 409, "inspection-failed")
    for content, status, slug in ((b"", 422, "empty-file"), (b"no book", 415, "not-a-pdf")):
        sent = client.post(f"{here}/submissions", data=content, content_type="application/pdf")
        check_problem(sent, status, slug)
    body, kind = books.form({"profile": "ternhaven-mono"}, [("file", "x.pdf", books.book())])
    check_problem(client.post(f"{here}/submissions", data=body, content_type=kind), 422, "invalid-request")
    store.titles.stand(title.id, LOCAL, "withdrawn")
    sent = client.post(f"{here}/submissions", data=books.book(), content_type="application/pdf")
    check_problem(sent, 409, "title-withdrawn")
    check_problem(client.post(f"{here}/pass", json={"sha256": row.sha256}), 409, "inspection-failed")
    assert len(store.rows.page(LOCAL).items) == 1


@pytest.mark.parametrize("name", ["tit_none", "%00", "x" * 2000, "tit_" + "a" * 26])
def test_what_is_no_title_is_not_found(client: FlaskClient, name: str) -> None:
    check_problem(client.get(f"{TO}/{name}"), 404, "no-such-title")


def test_a_note_is_kept_whatever_has_become_of_the_printer(client: FlaskClient, store: Store) -> None:
    title = desk.title(store)
    store.titles.change(title.id, LOCAL, {"profile_id": "gone-since"})
    assert client.patch(f"{TO}/{title.id}", json={"note": "Kept"}).get_json()["note"] == "Kept"
    check_problem(client.patch(f"{TO}/{title.id}", json={"title": "Other"}), 422, "invalid-request")
    sent = client.post(f"{TO}/{title.id}/submissions", data=books.book(), content_type="application/pdf")
    check_problem(sent, 422, "unknown-profile")
    assert store.rows.page(LOCAL).items == []


def test_odd_signs_in_a_note_are_no_fault(client: FlaskClient) -> None:
    """NUL is none of PostgreSQL's text; a lone surrogate is none of UTF-8's (RFC 3629)."""
    made = client.post(TO, json=SOUND | {"note": "a\x00b\nc"})
    assert (made.status_code, made.get_json()["note"]) == (201, "a b\nc")
    here = made.headers["Location"]
    assert client.patch(here, json={"note": "x\x00"}).get_json()["note"] == "x"
    check_problem(client.patch(here, json={"note": "x\ud800"}), 422, "invalid-request")
    check_problem(client.post(TO, json=SOUND | {"author": "x\ud800"}), 422, "invalid-request")


def test_two_titles_have_not_one_isbn(client: FlaskClient, store: Store) -> None:
    mine = client.post(TO, json=SOUND | {"isbn": desk.ISBN})
    told = check_problem(client.post(TO, json=SOUND | {"isbn": desk.ISBN}), 422, "invalid-request")
    assert "“The Salt Road” has this ISBN already" in str(told["detail"])
    other = client.post(TO, json=SOUND).headers["Location"]
    check_problem(client.patch(other, json={"isbn": desk.ISBN}), 422, "invalid-request")
    assert client.patch(mine.headers["Location"], json={"isbn": desk.ISBN, "title": "Same"}).status_code == 200
    desk.title(store, owner="somebody", isbn="9780000000064")
    assert client.patch(other, json={"isbn": "9780000000064"}).status_code == 200


def test_the_letter_of_a_file_is_that_of_its_page(client: FlaskClient, store: Store) -> None:
    title = desk.title(store)
    desk.inspected(store, title)
    file = client.get(f"{TO}/{title.id}/submissions/1")
    _as_described(client, file.json, "Submission")
    at = file.get_json()["links"]["letter"]
    told = client.get(f"{at}?signed=Orla Fenwick")
    _as_described(client, told.json, "Letter")
    assert told.get_json()["text"].startswith("Dear Maud Kittering,\n")
    assert told.get_json()["text"].endswith("\nOrla Fenwick\n")
    plain = client.get(at, headers={"Accept": "text/plain"})
    assert (plain.mimetype, plain.headers["Vary"]) == ("text/plain", "Accept")
    assert plain.text == client.get(f"/titles/{title.id}/submissions/1/letter.txt").text
    check_problem(client.get(at, headers={"Accept": "image/png"}), 406, "not-acceptable")
    check_problem(client.get(f"{at}?signed=%00"), 422, "invalid-request")
    again = client.get(at, headers={"If-None-Match": client.get(at).headers["ETag"]})
    assert again.status_code == 304


def test_a_letter_takes_a_report(client: FlaskClient, store: Store) -> None:
    title = desk.title(store)
    desk.submitted(store, title, rows.queued(store))
    cancelled = rows.queued(store)
    store.rows.cancel(cancelled.id)
    desk.submitted(store, title, cancelled)
    gone = desk.inspected(store, title)
    store.delete(gone.inspection_id)
    here = f"{TO}/{title.id}/submissions"
    for number, status, slug in (
        (1, 409, "not-finished"),
        (2, 409, "inspection-cancelled"),
        (3, 404, "no-such-inspection"),
        (4, 404, "no-such-submission"),
        (10**30, 404, "no-such-submission"),
    ):
        check_problem(client.get(f"{here}/{number}/letter"), status, slug)
    assert client.get(f"{here}/3").get_json()["links"]["letter"] is None
    check_problem(client.get(f"{here}/0"), 404, "no-such-submission")


def test_an_authors_link_is_made_and_listed_and_withdrawn(client: FlaskClient, store: Store) -> None:
    title = desk.title(store)
    at = client.get(f"{TO}/{title.id}").get_json()["links"]["links"]
    made = client.post(at, json={"days": 3})
    assert (made.status_code, made.headers["Cache-Control"]) == (201, "no-store")
    _as_described(client, made.json, "NewAuthorLink")
    told = made.get_json()
    held = datetime.fromisoformat(told["expires_at"]) - datetime.fromisoformat(told["created_at"])
    assert held == timedelta(days=3)
    assert "The Salt Road" in client.get(told["link"]).text
    usual = client.post(at, json={}).get_json()
    listed = client.get(at)
    _as_described(client, listed.json, "AuthorLinkList")
    assert {each["id"] for each in listed.get_json()["links"]} == {told["id"], usual["id"]}
    assert told["link"].rpartition("/")[2] not in listed.text
    assert client.delete(made.headers["Location"]).status_code == 204
    assert client.get(told["link"]).status_code == 404
    assert client.get(usual["link"]).status_code == 200
    check_problem(client.delete(made.headers["Location"]), 404, "no-such-link")
    (ended,) = [each for each in client.get(at).get_json()["links"] if each["id"] == told["id"]]
    assert ended["withdrawn_at"] is not None


def test_what_is_no_authors_link(client: FlaskClient, store: Store) -> None:
    title, other = desk.title(store), desk.title(store, "Another")
    at = f"{TO}/{title.id}/links"
    most = client.get("/v1/limits").get_json()["author_link_days"]
    for days in (0, -1, most + 1, 10**30, "x", True):
        told = check_problem(client.post(at, json={"days": days}), 422, "invalid-request")
        assert told["errors"][0]["field"] == "days"  # type: ignore[index]
    theirs = client.post(f"{TO}/{other.id}/links", json={}).get_json()["id"]
    for link in (theirs, "lnk_" + "a" * 26, "x", "%00"):
        check_problem(client.delete(f"{at}/{link}"), 404, "no-such-link")
    store.titles.stand(title.id, LOCAL, "withdrawn")
    check_problem(client.post(at, json={}), 409, "title-withdrawn")
    assert client.get(at).get_json()["links"] == []


def test_a_patch_is_a_merge_patch_of_what_was_seen(client: FlaskClient, store: Store) -> None:
    """RFC 7396 and RFC 5789; RFC 9110, section 13.1.1."""
    at = f"{TO}/{desk.title(store).id}"
    assert "application/merge-patch+json" in client.options(at).headers["Accept-Patch"]
    refused = client.patch(at, data="x", content_type="text/plain")
    assert "application/merge-patch+json" in refused.headers["Accept-Patch"]
    seen = {"If-Match": client.get(at).headers["ETag"]}
    kind = "application/merge-patch+json"
    assert client.patch(at, data='{"note": "One"}', content_type=kind, headers=seen).get_json()["note"] == "One"
    check_problem(client.patch(at, json={"note": "Two"}, headers=seen), 412, "changed-meanwhile")
    check_problem(client.patch(at, json={"note": 7}, headers=seen), 422, "invalid-request")  # RFC 9110, 13.2.1
    check_problem(client.delete(at, headers=seen), 412, "changed-meanwhile")
    assert client.get(at).get_json()["note"] == "One"
    assert client.patch(at, json={"expected_pages": 312.0}).get_json()["expected_pages"] == 312  # JSON Schema, 4.2.3
    assert client.delete(at, headers={"If-Match": "*"}).status_code == 204


def test_a_file_that_is_sent_again_is_the_same_submission(client: FlaskClient, store: Store) -> None:
    """draft-ietf-httpapi-idempotency-key-header, section 2.6; also where the service was killed before it noted it."""
    title = desk.title(store)
    at, kind = f"{TO}/{title.id}/submissions", "application/pdf"
    headers = {"Idempotency-Key": '"salt-1"', "Prefer": "wait=0"}
    first, second = (client.post(at, data=books.book(), content_type=kind, headers=headers) for _ in range(2))
    assert (first.status_code, first.headers["Preference-Applied"]) == (202, "wait=0")
    assert int(first.headers["Retry-After"]) > 0
    assert first.json == second.json
    assert (first.headers.get("Idempotent-Replayed"), second.headers["Idempotent-Replayed"]) == (None, "true")
    check_problem(
        client.post(at, data=books.book(4), content_type=kind, headers=headers), 422, "idempotency-key-reused"
    )
    with store.titles._database.write() as session:
        session.execute(text("DELETE FROM submissions"))
    third = client.post(at, data=books.book(), content_type=kind, headers=headers)
    assert third.get_json()["inspection"] == first.get_json()["inspection"]
    assert [row.id for row in store.rows.page(LOCAL).items] == [first.get_json()["inspection"]]


def test_a_submission_calls_when_it_has_ended(client: FlaskClient, store: Store) -> None:
    at = f"{TO}/{desk.title(store).id}/submissions"
    body, kind = books.form({"callback_url": "https://desk.tern-island.example/"}, [("file", "a.pdf", books.book())])
    sent = client.post(at, data=body, content_type=kind)
    called = client.get(f"{sent.headers['Location']}/deliveries").get_json()["deliveries"]
    assert [each["callback_url"] for each in called] == ["https://desk.tern-island.example/"]
    for address in ("https://10.0.0.1/", "http://desk.tern-island.example/"):
        refused = client.post(
            at, query_string={"callback_url": address}, data=books.book(), content_type="application/pdf"
        )
        check_problem(refused, 422, "callback-refused")
    assert len(store.rows.page(LOCAL).items) == 1
