"""Who may call, and sees what. Bearer tokens: RFC 6750 and RFC 9110, section 11; loopback names: RFC 6761, RFC 5735."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.api import books
from tests.api.problem import check_problem
from worker.store import SCOPES, Scope, Store, new_inspection_id

TO = "/v1/inspections"
OPEN = ["/v1/health", "/v1/limits", "/openapi.json", "/problems/fault"]


def _bearer(secret: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {secret}"}


@pytest.fixture
def secret(store: Store) -> str:
    return store.tokens.make("the reading room")[1]


@pytest.mark.parametrize(
    "header", [{}, {"Authorization": "Bearer"}, {"Authorization": "Bearer "}, {"Authorization": "Basic dGVybjp0ZXJu"}]
)
def test_without_a_token_one_is_asked_for(guarded: FlaskClient, header: dict[str, str]) -> None:
    answer = guarded.get(TO, headers=header)
    check_problem(answer, 401, "token-needed")
    assert answer.headers["WWW-Authenticate"].startswith("Bearer ")


@pytest.mark.parametrize("wrong", ["x", "pw_" + "A" * 43, "ü", "x" * 5000])
def test_an_unknown_token_is_refused(guarded: FlaskClient, secret: str, wrong: str) -> None:
    answer = guarded.get(TO, headers=_bearer(wrong.encode().decode("latin-1")))
    check_problem(answer, 401, "token-unknown")
    assert 'error="invalid_token"' in answer.headers["WWW-Authenticate"]  # RFC 6750, section 3.1


def test_every_address_that_is_not_open_asks_for_a_token(guarded: FlaskClient, store: Store) -> None:
    row = books.done(store)
    rules = [rule for rule in guarded.application.url_map.iter_rules() if rule.rule.startswith("/v1/")]
    asked = 0
    for rule in rules:
        address = rule.rule.replace("<id>", row.id).replace("<int:page>", "1").replace("<int:number>", "1")
        for method in (rule.methods or set()) - {"OPTIONS", "HEAD"}:
            status = guarded.open(address, method=method).status_code
            if address in {*OPEN, "/v1/ready"}:
                assert status in {200, 503}, address
            else:
                assert status == 401, (method, address)
                asked += 1
    assert asked >= 12
    assert store.rows.get(row.id) is not None


def test_a_token_opens_and_its_end_shuts(guarded: FlaskClient, store: Store, secret: str) -> None:
    assert guarded.get(TO, headers=_bearer(secret)).status_code == 200
    assert guarded.get(TO, headers={"Authorization": f"bearer {secret}"}).status_code == 200  # RFC 9110, 11.1
    store.tokens.revoke("the reading room")
    check_problem(guarded.get(TO, headers=_bearer(secret)), 401, "token-unknown")


@pytest.mark.parametrize("address", OPEN)
def test_some_addresses_are_open_to_all(guarded: FlaskClient, address: str) -> None:
    assert guarded.get(address).status_code == 200


def test_each_sees_its_own_and_404_for_others(guarded: FlaskClient, store: Store) -> None:
    (one, one_secret), (other, other_secret) = store.tokens.make("one"), store.tokens.make("other")
    mine, theirs = books.done(store, owner=one.member), books.done(store, owner=other.member)
    listed = guarded.get(TO, headers=_bearer(one_secret)).get_json()["inspections"]
    assert [it["id"] for it in listed] == [mine.id]
    calls = [
        ("GET", ""),
        ("GET", "/report"),
        ("GET", "/report.json"),
        ("GET", "/report.html"),
        ("GET", "/measurements"),
        ("GET", "/pages/1.png"),
        ("GET", "/proof.pdf"),
        ("POST", "/cancellation"),
        ("POST", "/judgements"),
        ("DELETE", ""),
    ]
    for method, rest in calls:
        body = {"profile": "ternhaven-mono"} if rest == "/judgements" else None
        answer = guarded.open(f"{TO}/{theirs.id}{rest}", method=method, headers=_bearer(one_secret), json=body)
        check_problem(answer, 404, "no-such-inspection")
    assert guarded.get(f"{TO}/{theirs.id}", headers=_bearer(other_secret)).status_code == 200


def test_what_is_uploaded_belongs_to_the_token(guarded: FlaskClient, store: Store, secret: str) -> None:
    sent = {"data": books.book(), "content_type": "application/pdf", "headers": _bearer(secret)}
    made = guarded.post(f"{TO}?profile=ternhaven-mono", **sent).get_json()
    row = store.rows.get(made["id"])
    assert row is not None
    assert row.owner == store.tokens.all()[0].member


def test_all_tokens_of_a_member_see_the_same(guarded: FlaskClient, store: Store) -> None:
    member = store.members.make("the reading room").id
    secrets = [store.tokens.make(name, member)[1] for name in ("desk", "laptop")]
    row = books.done(store, owner=member)
    for secret in secrets:
        assert [it["id"] for it in guarded.get(TO, headers=_bearer(secret)).get_json()["inspections"]] == [row.id]


SCOPED = [
    ("read", "GET", ""),
    ("read", "GET", "/report"),
    ("read", "GET", "/measurements"),
    ("submit", "POST", "/judgements"),
    ("submit", "POST", "/cancellation"),
    ("manage", "DELETE", ""),
]


@pytest.mark.parametrize(("scope", "method", "rest"), SCOPED)
def test_a_token_reaches_as_far_as_its_scopes(
    guarded: FlaskClient, store: Store, scope: Scope, method: str, rest: str
) -> None:
    """RFC 6750, section 3.1: `insufficient_scope` is 403, and may name the scope that is needed."""
    member = store.members.make("the reading room").id
    row = books.done(store, owner=member)
    asked: dict[str, Any] = {"method": method, "json": {"profile": "ternhaven-mono"} if rest == "/judgements" else None}
    others = [other for other in SCOPES if other != scope]
    _, without = store.tokens.make("without", member, scopes=others)
    refused = guarded.open(f"{TO}/{row.id}{rest}", headers=_bearer(without), **asked)
    assert check_problem(refused, 403, "scope-missing")["scope"] == scope
    assert f'error="insufficient_scope", scope="{scope}"' in refused.headers["WWW-Authenticate"]
    assert store.rows.get(row.id) is not None
    _, alone = store.tokens.make("alone", member, scopes=[scope])
    assert guarded.open(f"{TO}/{row.id}{rest}", headers=_bearer(alone), **asked).status_code != 403


def test_a_scope_tells_nothing_of_what_others_have(guarded: FlaskClient, store: Store) -> None:
    theirs, (_, reads) = books.done(store, owner="another"), store.tokens.make("reader", scopes=["read"])
    answers = [
        guarded.delete(f"{TO}/{inspection_id}", headers=_bearer(reads))
        for inspection_id in (theirs.id, new_inspection_id())
    ]
    assert answers[0].data == answers[1].data
    check_problem(answers[0], 403, "scope-missing")


def test_an_upload_without_the_scope_is_not_kept(guarded: FlaskClient, store: Store) -> None:
    token, reads = store.tokens.make("reader", scopes=["read"])
    sent = {"data": books.book(), "content_type": "application/pdf", "headers": _bearer(reads)}
    check_problem(guarded.post(f"{TO}?profile=ternhaven-mono", **sent), 403, "scope-missing")
    assert store.rows.page(token.member).items == []


def test_where_no_token_is_asked_for_one_that_is_brought_counts(client: FlaskClient, store: Store, secret: str) -> None:
    books.done(store)
    assert len(client.get(TO).get_json()["inspections"]) == 1
    assert client.get(TO, headers=_bearer(secret)).get_json()["inspections"] == []
    check_problem(client.get(TO, headers=_bearer("wrong")), 401, "token-unknown")


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:8080", "localhost:8080", "[::1]:8080", "tern.localhost"])
def test_this_machines_own_names_are_answered(client: FlaskClient, host: str) -> None:
    assert client.get(TO, headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "rebound.example",
        "rebound.example:80",
        "10.0.0.1",
        "127.0.0.1.rebound.example",
        "localhost.example",
        "[",
        "localhost:x",
    ],
)
@pytest.mark.parametrize("address", [TO, "/", "/v1/limits", "/openapi.json"])
def test_another_name_for_this_machine_is_not(client: FlaskClient, host: str, address: str) -> None:
    answer = client.get(address, headers={"Host": host}, environ_overrides={"SERVER_NAME": "10.0.0.1"})
    assert answer.status_code == 403


def test_where_tokens_are_asked_for_any_name_is_answered(guarded: FlaskClient, secret: str) -> None:
    assert guarded.get(TO, headers=_bearer(secret) | {"Host": "press.example"}).status_code == 200


ELSEWHERE = [
    {"Origin": "https://elsewhere.example"},
    {"Origin": "null"},
    {"Origin": "http://localhost:9999"},
    {"Sec-Fetch-Site": "cross-site"},
    {"Sec-Fetch-Site": "same-site"},
]


@pytest.mark.parametrize("headers", ELSEWHERE, ids=str)
def test_a_page_of_another_site_changes_nothing(client: FlaskClient, store: Store, headers: dict[str, str]) -> None:
    row = books.queued(store)
    calls = [("POST", TO), ("DELETE", f"{TO}/{row.id}"), ("POST", f"{TO}/{row.id}/cancellation")]
    for method, address in calls:
        check_problem(client.open(address, method=method, headers=headers), 403, "foreign-origin")
    kept = store.rows.get(row.id)
    assert kept is not None
    assert kept.state == "queued"


@pytest.mark.parametrize("headers", [{}, {"Origin": "http://localhost"}, {"Sec-Fetch-Site": "same-origin"}], ids=str)
def test_our_own_pages_and_programs_may(client: FlaskClient, store: Store, headers: dict[str, str]) -> None:
    row = books.queued(store)
    assert client.post(f"{TO}/{row.id}/cancellation", headers=headers).status_code == 200
