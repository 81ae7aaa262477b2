"""What a caller has already is not sent again (RFC 9110, 13.1.2 and 15.4.5), and who has to wait is told how long."""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient

from tests.api import books
from worker.store import Store

TO = "/v1/inspections"


@pytest.mark.parametrize(
    "at",
    [
        TO,
        f"{TO}?title=Mole&limit=1",
        f"{TO}/{{id}}",
        f"{TO}/{{id}}/report",
        f"{TO}/{{id}}/report.json",
        f"{TO}/{{id}}/report.html",
        f"{TO}/{{id}}/measurements",
        f"{TO}/{{id}}/measurements?lines=1",
        "/v1/profiles",
        "/v1/profiles/ropewalk-offset",
        "/openapi.json",
    ],
)
def test_what_one_has_already_is_not_sent_again(client: FlaskClient, store: Store, at: str) -> None:
    address = at.format(id=books.done(store, title="The Long Mole").id)
    first = client.get(address)
    tag = first.headers["ETag"]
    assert first.status_code == 200
    assert not tag.startswith("W/")
    for asked in (tag, f"W/{tag}", f'"other", {tag}', "*"):  # weakly compared: RFC 9110, 13.1.2
        again = client.get(address, headers={"If-None-Match": asked})
        assert (again.status_code, again.data) == (304, b"")
        for name in ("ETag", "Cache-Control", "Vary", "Link"):  # RFC 9110, 15.4.5
            assert again.headers.get(name) == first.headers.get(name), name
        assert "Content-Type" not in again.headers
    assert client.get(address, headers={"If-None-Match": '"other"'}).data == first.data


def test_what_has_changed_is_sent(client: FlaskClient, store: Store) -> None:
    row = books.queued(store)
    tags = {at: client.get(at).headers["ETag"] for at in (TO, f"{TO}/{row.id}")}
    store.rows.cancel(row.id)
    for at, tag in tags.items():
        answer = client.get(at, headers={"If-None-Match": tag})
        assert answer.status_code == 200
        assert answer.headers["ETag"] != tag


def test_who_has_to_wait_is_told_how_long(client: FlaskClient, store: Store) -> None:
    sent = client.post(f"{TO}?profile=ternhaven-mono", data=books.book(), content_type="application/pdf")
    assert sent.status_code == 202
    stands = client.get(sent.headers["Location"])
    early = client.get(f"{sent.headers['Location']}/report")
    assert (stands.status_code, early.status_code) == (200, 409)
    for answer in (
        sent,
        stands,
        early,
        client.get(f"{TO}/{books.done(store).id}/pages/1.png"),
        client.get("/v1/ready"),
    ):
        assert int(answer.headers["Retry-After"]) > 0
    assert "Retry-After" not in client.get(f"{TO}/{books.done(store).id}").headers
