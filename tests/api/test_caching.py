"""What a caller has already is not sent again (RFC 9110, 13.1.2 and 15.4.5), and who has to wait is told how long."""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient

from tests.api import books
from tests.api.problem import check_problem
from worker.store import Store, proof_key

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


def test_a_download_that_broke_off_goes_on_where_it_did(client: FlaskClient, store: Store) -> None:
    """RFC 9110, sections 14.2, 14.4 and 15.5.17."""
    row, kept = books.done(store), bytes(range(256)) * 10
    store.bytes.write(proof_key(row.id), kept)
    at = f"{TO}/{row.id}/proof.pdf"
    whole = client.get(at)
    assert (whole.data, whole.headers["Content-Length"], whole.headers["Accept-Ranges"]) == (kept, "2560", "bytes")
    rest = client.get(at, headers={"Range": "bytes=1000-", "If-Range": whole.headers["ETag"]})
    assert (rest.status_code, rest.data) == (206, kept[1000:])
    assert rest.headers["Content-Range"] == "bytes 1000-2559/2560"
    other = client.get(at, headers={"Range": "bytes=1000-", "If-Range": '"other"'})
    assert (other.status_code, other.data) == (200, kept)
    for passed_over in ("pages=1-2", "-", "bytes"):  # section 14.2: a unit that is not understood is ignored
        assert client.get(at, headers={"Range": passed_over}).status_code == 200
    beyond = client.get(at, headers={"Range": "bytes=2560-"})
    check_problem(beyond, 416, "no-such-part")
    assert beyond.headers["Content-Range"] == "bytes */2560"
    assert int(client.get(f"{TO}/{row.id}/report.json").headers["Content-Length"]) > 0


def test_what_has_changed_is_not_changed_or_deleted_unseen(client: FlaskClient, store: Store) -> None:
    """RFC 9110, section 13.1.1: nothing is done where ``If-Match`` does not hold."""
    row = books.queued(store)
    at = f"{TO}/{row.id}"
    seen = client.get(at).headers["ETag"]
    store.rows.cancel(row.id)
    check_problem(client.delete(at, headers={"If-Match": seen}), 412, "changed-meanwhile")
    gone = client.delete(at, headers={"If-Match": client.get(at).headers["ETag"]})
    assert (gone.status_code, "Content-Type" in gone.headers) == (204, False)
