"""``Idempotency-Key``: draft-ietf-httpapi-idempotency-key-header-07, sections 2.1 (its form), 2.4 (what it stands for),
2.6 (what comes of using it again) and 2.7 (refusals)."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from threading import Event
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import select
from werkzeug.test import TestResponse

from service.app import create_app
from tests.api import books
from tests.api.problem import check_problem
from worker.settings import Settings
from worker.store import Beside, IdempotencyKey, Store, key_taken_by
from worker.store.database import Database
from worker.sweep import Sweep

TO = "/v1/inspections"
PDF = "application/pdf"
KEY = '"8e03978e-40d5-43e8-bc93-6894a57f9324"'


def _send(
    client: FlaskClient,
    key: str | None = KEY,
    *,
    content: bytes | None = None,
    headers: dict[str, str] | None = None,
    **fields: str,
) -> TestResponse:
    return client.post(
        TO,
        query_string={"profile": "ternhaven-mono"} | fields,
        data=content or books.book(),
        content_type=PDF,
        headers=({"Idempotency-Key": key} if key is not None else {}) | (headers or {}),
    )


def _ids(store: Store, owner: str = "local") -> list[str]:
    return [row.id for row in store.rows.page(owner, size=200).items]


def test_the_same_upload_again_is_the_same_inspection(client: FlaskClient, store: Store) -> None:
    first, second = _send(client), _send(client)
    assert first.status_code == second.status_code == 202
    assert first.headers["Location"] == second.headers["Location"]
    assert first.json == second.json
    assert "Idempotent-Replayed" not in first.headers
    assert second.headers["Idempotent-Replayed"] == "true"
    assert _ids(store) == [first.get_json()["id"]]
    assert store.bytes.inspections(untouched_for=-1) == [first.get_json()["id"]]


def test_it_is_told_as_it_is_by_then(client: FlaskClient, store: Store) -> None:
    first = _send(client)
    store.rows.cancel(first.get_json()["id"])
    second = _send(client, headers={"Prefer": "wait=1"})
    assert (second.status_code, second.get_json()["state"]) == (201, "cancelled")
    assert second.headers["Location"] == first.headers["Location"]


def test_a_form_and_a_body_that_say_the_same_are_the_same(client: FlaskClient) -> None:
    first = _send(client, title="The Long Mole", name="long-mole.pdf")
    body, kind = books.form(
        {"profile": "ternhaven-mono", "title": "The Long Mole"}, [("file", "long-mole.pdf", books.book())]
    )
    second = client.post(TO, data=body, content_type=kind, headers={"Idempotency-Key": KEY})
    assert second.get_json()["id"] == first.get_json()["id"]


@pytest.mark.parametrize(
    "fields",
    [{"profile": "common-paperback"}, {"title": "Another"}, {"pages": "240"}, {"name": "b.pdf"}],
    ids=["profile", "title", "pages", "name"],
)
def test_other_fields_under_the_key_are_refused(client: FlaskClient, store: Store, fields: dict[str, Any]) -> None:
    _send(client)
    check_problem(_send(client, **fields), 422, "idempotency-key-reused")
    assert len(_ids(store)) == 1


def test_another_file_under_the_key_is_refused(client: FlaskClient, store: Store) -> None:
    first = _send(client)
    check_problem(_send(client, content=books.book(4)), 422, "idempotency-key-reused")
    assert _send(client).get_json()["id"] == first.get_json()["id"]  # the key stays what it was
    assert len(_ids(store)) == len(store.bytes.inspections(untouched_for=-1)) == 1


def test_without_a_key_each_upload_is_an_inspection(client: FlaskClient, store: Store) -> None:
    for _ in range(2):
        _send(client, None)
    assert len(_ids(store)) == 2


def test_a_key_is_its_owners(guarded: FlaskClient, store: Store) -> None:
    secrets = {name: store.tokens.make(name)[1] for name in ("harbour", "mole")}
    sent = {
        name: _send(guarded, headers={"Authorization": f"Bearer {secret}"}).get_json()["id"]
        for name, secret in secrets.items()
    }
    assert len(set(sent.values())) == 2


def test_a_refused_upload_leaves_its_key_free(client: FlaskClient, store: Store) -> None:
    check_problem(_send(client, content=b"no PDF"), 415, "not-a-pdf")
    check_problem(_send(client, profile="nobody"), 422, "unknown-profile")
    check_problem(_send(client, pages="0"), 422, "invalid-request")
    assert _send(client).status_code == 202
    assert len(_ids(store)) == 1


def test_what_was_deleted_is_not_made_again(client: FlaskClient, store: Store) -> None:
    """An upload that is sent again late, by a program that heard no answer, must not bring back what was deleted."""
    first = _send(client)
    assert client.delete(first.headers["Location"]).status_code == 204
    check_problem(_send(client), 409, "idempotency-key-spent")
    assert _ids(store) == []
    assert _send(client, '"another"').status_code == 202


@pytest.mark.parametrize(
    ("one", "other"),
    [('"a-1"', "a-1"), ('"a\\\\b\\"c"', '"a\\\\b\\"c"'), (KEY, f"  {KEY} "), ('"' + "x" * 255 + '"', "x" * 255)],
    ids=["without quotes", "escaped", "with spaces around", "the longest"],
)
def test_a_key_is_a_string_of_rfc_8941(client: FlaskClient, one: str, other: str) -> None:
    assert _send(client, one).get_json()["id"] == _send(client, other).get_json()["id"]


@pytest.mark.parametrize(
    "key",
    [
        "",
        '""',
        '"',
        '"a',
        'a"',
        "a b",
        "a,b",
        '"a";q=1',
        '"\x7f"',
        '"é"',
        '"a\\n"',
        "x" * 256,
        '"' + "x" * 256 + '"',
        "?1;",
    ],
)
def test_a_key_that_is_none_is_refused(client: FlaskClient, store: Store, key: str) -> None:
    told = check_problem(_send(client, key), 422, "invalid-request")
    assert told["errors"][0]["field"] == "Idempotency-Key"  # type: ignore[index]
    assert _ids(store) == []


def test_keys_are_kept_for_a_stated_time(settings: Settings, store: Store) -> None:
    client = create_app(replace(settings, repeat_hours=3)).test_client()
    assert client.get("/v1/limits").get_json()["idempotency_hours"] == 3
    first = _send(client)
    _age(settings, hours=2.9)
    assert _send(client).get_json()["id"] == first.get_json()["id"]
    _age(settings, hours=0.2)
    second = _send(client, title="Another")
    assert second.status_code == 202
    assert second.get_json()["id"] != first.get_json()["id"]


def _age(settings: Settings, *, hours: float) -> None:
    """So many hours pass for every key."""
    database = Database(settings.database_url)
    with database.write() as session:
        for key in session.scalars(select(IdempotencyKey)):
            key.expires_at -= timedelta(hours=hours)
    database.close()


def test_a_sweep_forgets_old_keys(settings: Settings, store: Store) -> None:
    for key, kept in (("old", timedelta(seconds=-1)), ("young", timedelta(hours=1))):
        row = books.waiting(store, books.book())
        store.rows.create(row, Beside(key_taken_by(row.id, owner="local", key=key, fingerprint="", kept=kept)))
    stops = _AfterOneSweep()
    Sweep(store, stops, lease_seconds=1).run()
    database = Database(settings.database_url)
    with database.read() as session:
        assert list(session.scalars(select(IdempotencyKey.key))) == ["young"]
    database.close()


class _AfterOneSweep(Event):
    """Is set as soon as somebody waits for it."""

    def wait(self, timeout: float | None = None) -> bool:
        self.set()
        return True


def test_a_service_that_was_started_again_knows_the_key(client: FlaskClient, settings: Settings) -> None:
    """The answer of the first was lost on its way: that is what the key is for."""
    lost = _send(client).get_json()["id"]
    assert _send(create_app(settings).test_client()).get_json()["id"] == lost
