"""What a member may have, as a caller is told it. 429 and ``Retry-After``: RFC 6585, section 4, and RFC 9110, section
10.2.3; 507: RFC 4918, section 11.5."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from service.app import create_app
from tests.api import books
from tests.api.problem import check_problem
from worker.limits import Quota
from worker.settings import Settings
from worker.store import Store

TO = "/v1/inspections"
DAY = 86_400


def _service(settings: Settings, *, at_once: int = 100, a_day: int = 100, size: int = 10**9) -> FlaskClient:
    return create_app(replace(settings, quota=Quota(at_once, a_day, size))).test_client()


def _send(client: FlaskClient, content: bytes | None = None, **headers: str) -> TestResponse:
    body = books.book() if content is None else content
    return client.post(f"{TO}?profile=ternhaven-mono", data=body, content_type="application/pdf", headers=headers)


def test_files_at_once(settings: Settings, store: Store) -> None:
    client = _service(settings, at_once=1)
    first = _send(client).get_json()
    told = check_problem(refused := _send(client), 429, "quota-at-once")
    assert (told["used"], told["most"]) == (1, 1)
    assert int(refused.headers["Retry-After"]) > 0
    client.post(f"{TO}/{first['id']}/cancellation")
    assert _send(client).status_code == 202
    assert len(store.rows.page("local").items) == 2


def test_files_a_day(settings: Settings) -> None:
    client = _service(settings, a_day=1)
    client.delete(f"{TO}/{_send(client).get_json()['id']}")
    check_problem(refused := _send(client), 429, "quota-a-day")
    assert 0 < int(refused.headers["Retry-After"]) <= DAY


def test_bytes_are_told_before_the_file_is_read(settings: Settings, store: Store) -> None:
    most = 100_000
    client = _service(settings, size=most)
    told = check_problem(_send(client, b"%PDF-" + bytes(200_000)), 507, "quota-bytes")
    assert (told["used"], told["most"]) == (0, most)
    assert "Delete" in str(told["detail"])
    assert _send(client, b"%PDF-" + bytes(90_000)).status_code == 202
    check_problem(_send(client, b"%PDF-" + bytes(20_000)), 507, "quota-bytes")  # known when it has come
    assert len(store.bytes.inspections(untouched_for=-5)) == 1  # and not kept


def test_nobody_is_read_whose_places_are_taken(settings: Settings) -> None:
    """A body that is no PDF would be refused as such, had it been looked at."""
    client = _service(settings, at_once=1)
    _send(client)
    check_problem(_send(client, b"no PDF"), 429, "quota-at-once")


def test_each_member_has_its_own(settings: Settings, store: Store) -> None:
    client = _service(replace(settings, asks_for_token=True), at_once=1)
    secrets = [store.tokens.make(name)[1] for name in ("one", "other")]
    for secret in secrets:
        assert _send(client, Authorization=f"Bearer {secret}").status_code == 202
        check_problem(_send(client, Authorization=f"Bearer {secret}"), 429, "quota-at-once")


def test_many_at_once_do_not_pass_the_last_place(settings: Settings, store: Store) -> None:
    app = create_app(replace(settings, quota=Quota(2, 100, 10**9)))
    with ThreadPoolExecutor(8) as threads:
        statuses = list(threads.map(lambda _: _send(app.test_client()).status_code, range(8)))
    assert sorted(set(statuses)) == [202, 429]
    assert statuses.count(202) == 2 == len(store.rows.page("local").items)
    assert len(store.bytes.inspections(untouched_for=-5)) == 2


def test_what_is_used_is_said(settings: Settings, store: Store) -> None:
    client = _service(settings, at_once=5, a_day=6, size=10**6)
    sent = _send(client).get_json()
    said = client.get("/v1/quota").get_json()
    assert said["files_at_once"] == {"used": 1, "most": 5}
    assert said["files_a_day"] == {"used": 1, "most": 6}
    assert said["bytes_kept"] == {"used": sent["file"]["bytes"], "most": 10**6}
    assert said["day_ends_at"].endswith("T00:00:00Z")
    limits = client.get("/v1/limits").get_json()
    found = (limits["member_files_at_once"], limits["member_files_a_day"], limits["member_bytes"])
    assert found == (5, 6, 10**6)


def test_judging_again_asks_for_room_alone(settings: Settings, store: Store) -> None:
    row = books.done(store)
    client = _service(settings, at_once=1, a_day=1, size=2 * row.bytes)
    judge = {"json": {"profile": "common-paperback"}}
    assert client.post(f"{TO}/{row.id}/judgements", **judge).status_code == 201
    assert client.get("/v1/quota").get_json()["files_a_day"]["used"] == 0
    check_problem(client.post(f"{TO}/{row.id}/judgements", **judge), 507, "quota-bytes")
    assert len(store.bytes.inspections(untouched_for=-5)) == 2


@pytest.mark.parametrize("name", ["QUOTA_AT_ONCE", "QUOTA_A_DAY", "QUOTA_BYTES"])
def test_each_kind_is_explained(client: FlaskClient, name: str) -> None:
    slug = name.lower().replace("_", "-")
    assert client.get(f"/problems/{slug}").get_json()["remedy"]
