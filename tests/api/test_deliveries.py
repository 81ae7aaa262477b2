"""Callbacks through the API: asked for, refused, looked at, repeated; the caller's own secret, and nobody else's.

A message is verified by the package standardwebhooks, the reference of the Standard Webhooks specification.
"""

from __future__ import annotations

import base64
import json
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from standardwebhooks.webhooks import Webhook
from werkzeug.test import TestResponse

from service.app import create_app
from tests.api import books
from tests.api.problem import check_problem
from tests.callbacks.receiver import Receiver, receiving
from worker.callbacks.address import Allowed
from worker.callbacks.courier import Courier
from worker.settings import Settings
from worker.store import Store

TO = "/v1/inspections"
PDF = "application/pdf"
DESK = "https://desk.tern-island.example/inspected"


@pytest.fixture
def settings(settings: Settings) -> Settings:
    """This machine may be called."""
    return replace(settings, callback_hosts=Allowed.of("SETTING", "127.0.0.1"))


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    with receiving() as found:
        yield found


@pytest.fixture
def courier(settings: Settings, store: Store) -> Courier:
    """What a worker of this service has."""
    return Courier.of(settings, store, threading.Event())


def _send(client: FlaskClient, url: str, **headers: str) -> TestResponse:
    asked = {"profile": "ternhaven-mono", "callback_url": url}
    return client.post(TO, query_string=asked, data=books.book(), content_type=PDF, headers=headers)


def test_a_call_is_made_once_it_has_ended_and_says_what_get_says(
    client: FlaskClient, store: Store, receiver: Receiver, courier: Courier
) -> None:
    sent = _send(client, receiver.url)
    assert sent.status_code == 202
    here = sent.get_json()["links"]["deliveries"]
    (asked,) = client.get(here).get_json()["deliveries"]
    assert (asked["state"], asked["type"], asked["attempts"], asked["repetition"]) == ("asked", None, 0, None)
    assert not courier.make_next()
    client.post(sent.get_json()["links"]["cancellation"])
    assert courier.make_next()
    (came,) = receiver.came
    secret = client.get("/v1/callback-secret").get_json()["secret"]
    said = Webhook(secret).verify(came.body, came.headers)
    assert said["data"] == client.get(sent.headers["Location"]).get_json()
    assert (said["type"], said["timestamp"]) == ("inspection.cancelled", said["data"]["finished_at"])
    (told,) = client.get(here).get_json()["deliveries"]
    assert (told["id"], told["type"]) == (came.headers["webhook-id"], "inspection.cancelled")
    assert (told["state"], told["attempts"], told["last_status"], told["last_problem"]) == ("delivered", 1, 204, None)
    assert told["callback_url"] == receiver.url


def test_it_may_be_asked_for_in_the_form(client: FlaskClient) -> None:
    body, kind = books.form({"profile": "ternhaven-mono", "callback_url": DESK}, [("file", "b.pdf", books.book())])
    sent = client.post(TO, data=body, content_type=kind)
    (asked,) = client.get(f"{sent.headers['Location']}/deliveries").get_json()["deliveries"]
    assert asked["callback_url"] == DESK
    refused, kind = books.form({"profile": "ternhaven-mono", "callback_url": "x"}, [("file", "b.pdf", books.book())])
    check_problem(client.post(TO, data=refused, content_type=kind), 422, "callback-refused")


@pytest.mark.parametrize(
    "url",
    ["", "https://10.0.0.7/", "http://desk.tern-island.example/", "https://localhost/", "https://[::1]/", "ftp://x.example/",
     "https://a:b@x.example/", "https://x.example:25/"],
)  # fmt: skip
def test_an_address_that_is_not_called_is_refused_at_once(client: FlaskClient, store: Store, url: str) -> None:
    told = check_problem(_send(client, url), 422, "callback-refused")
    assert told["errors"][0]["field"] == "callback_url"  # type: ignore[index]
    assert store.rows.page("local").items == []


def test_where_none_was_asked_for_there_is_none(client: FlaskClient, store: Store) -> None:
    row = books.done(store)
    assert client.get(f"{TO}/{row.id}/deliveries").get_json() == {"deliveries": []}
    check_problem(client.post(f"{TO}/{row.id}/deliveries/dlv_x/repetition"), 404, "no-such-delivery")


def test_it_can_be_repeated(client: FlaskClient, store: Store, receiver: Receiver, courier: Courier) -> None:
    receiver.statuses = [500, 204]
    sent = _send(client, receiver.url).get_json()
    (asked,) = client.get(sent["links"]["deliveries"]).get_json()["deliveries"]
    repetition = f"{sent['links']['deliveries']}/{asked['id']}/repetition"
    check_problem(client.post(repetition), 409, "not-finished")
    store.rows.cancel(sent["id"])
    courier.make_next()
    (failed,) = client.get(sent["links"]["deliveries"]).get_json()["deliveries"]
    assert (failed["state"], failed["last_status"], failed["repetition"]) == ("waiting", 500, repetition)
    assert not courier.make_next()  # the second try has its time
    answer = client.post(repetition)
    assert (answer.status_code, answer.get_json()["state"], answer.get_json()["id"]) == (202, "waiting", asked["id"])
    assert courier.make_next()
    assert client.get(sent["links"]["deliveries"]).get_json()["deliveries"][0]["state"] == "delivered"
    assert client.post(repetition).status_code == 202  # what was taken can be sent again too
    store.callbacks.claim(lambda _: "{}", most=3)
    told = client.post(repetition)
    check_problem(told, 409, "delivery-on-its-way")
    assert int(told.headers["Retry-After"]) > 0
    check_problem(client.post(repetition.replace(asked["id"], "dlv_other")), 404, "no-such-delivery")


def test_an_idempotent_upload_calls_once(
    client: FlaskClient, store: Store, receiver: Receiver, courier: Courier
) -> None:
    first, second = (_send(client, receiver.url, **{"Idempotency-Key": '"a"'}) for _ in range(2))
    assert first.get_json()["id"] == second.get_json()["id"]
    check_problem(_send(client, DESK, **{"Idempotency-Key": '"a"'}), 422, "idempotency-key-reused")
    store.rows.cancel(first.get_json()["id"])
    assert courier.make_next()
    assert not courier.make_next()
    assert len(receiver.came) == 1


def test_another_caller_sees_nothing_of_it(guarded: FlaskClient, store: Store, receiver: Receiver) -> None:
    mine, others = ({"Authorization": f"Bearer {store.tokens.make(name)[1]}"} for name in ("harbour", "mole"))
    sent = _send(guarded, receiver.url, **mine).get_json()
    here = sent["links"]["deliveries"]
    (asked,) = guarded.get(here, headers=mine).get_json()["deliveries"]
    for call in (guarded.get(here, headers=others), guarded.post(f"{here}/{asked['id']}/repetition", headers=others)):
        check_problem(call, 404, "no-such-inspection")
    check_problem(guarded.get(here), 401, "token-needed")
    check_problem(guarded.get("/v1/callback-secret"), 401, "token-needed")


def test_each_token_has_a_secret_of_its_own(
    guarded: FlaskClient, store: Store, receiver: Receiver, courier: Courier
) -> None:
    callers = [{"Authorization": f"Bearer {store.tokens.make(name)[1]}"} for name in ("harbour", "mole")]
    secrets = []
    for caller in callers:
        answer = guarded.get("/v1/callback-secret", headers=caller)
        assert answer.headers["Cache-Control"] == "no-store"
        secrets.append(answer.get_json()["secret"])
        sent = _send(guarded, receiver.url, **caller).get_json()
        guarded.post(sent["links"]["cancellation"], headers=caller)
        courier.make_next()
    assert len(set(secrets)) == 2
    for secret in secrets:
        assert secret.startswith("whsec_")
        assert len(base64.b64decode(secret.removeprefix("whsec_"), validate=True)) == 32  # 24 to 64 bytes are asked for
    for secret, came in zip(secrets, receiver.came, strict=True):
        Webhook(secret).verify(came.body, came.headers)


def test_no_secret_is_kept(
    guarded: FlaskClient, store: Store, tmp_path: Path, receiver: Receiver, courier: Courier
) -> None:
    caller = {"Authorization": f"Bearer {store.tokens.make('harbour')[1]}"}
    secret = guarded.get("/v1/callback-secret", headers=caller).get_json()["secret"]
    sent = _send(guarded, receiver.url, **caller).get_json()
    guarded.post(sent["links"]["cancellation"], headers=caller)
    courier.make_next()
    plain = base64.b64decode(secret.removeprefix("whsec_"))
    kept = [path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()]
    assert kept
    for content in kept:
        assert secret.removeprefix("whsec_").encode() not in content
        assert plain not in content
    assert secret not in json.dumps(guarded.get(sent["links"]["deliveries"], headers=caller).get_json())


def test_a_service_that_allows_nothing_calls_no_address_of_this_machine(settings: Settings, receiver: Receiver) -> None:
    client = create_app(replace(settings, callback_hosts=Allowed())).test_client()
    check_problem(_send(client, receiver.url), 422, "callback-refused")
