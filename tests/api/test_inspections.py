"""Listing, looking, waiting, cancelling, deleting. Links: RFC 8288. Preferences: RFC 7240."""

from __future__ import annotations

import re
import threading
from datetime import datetime

import pytest
from flask.testing import FlaskClient

from service import waiters
from service.api import waiting
from tests.api import books
from tests.api.problem import check_problem
from worker.store import Failure, Store, file_key

TO = "/v1/inspections"


def _ids(answer: object) -> list[str]:
    return [it["id"] for it in answer.get_json()["inspections"]]  # type: ignore[attr-defined]


def _next(link: str) -> str | None:
    found = re.search(r'<([^>]+)>; rel="next"', link)
    return found[1] if found else None


def test_the_list_is_newest_first_and_comes_in_parts(client: FlaskClient, store: Store) -> None:
    made = [books.queued(store).id for _ in range(7)]
    seen: list[str] = []
    address: str | None = f"{TO}?limit=3"
    parts = 0
    while address:
        answer = client.get(address)
        seen += _ids(answer)
        assert answer.get_json()["next"] == _next(answer.headers["Link"])
        assert f'<{TO}?limit=3>; rel="first"' in answer.headers["Link"]
        address = _next(answer.headers["Link"])
        parts += 1
    assert seen == made[::-1]
    assert parts == 3


def test_what_comes_in_between_moves_no_part(client: FlaskClient, store: Store) -> None:
    made = [books.queued(store).id for _ in range(4)]
    first = client.get(f"{TO}?limit=2")
    books.queued(store)
    assert _ids(client.get(first.get_json()["next"])) == made[:2][::-1]


def test_the_list_is_narrowed(client: FlaskClient, store: Store) -> None:
    waits = books.queued(store, title="Tide Tables of Tern Island")
    mole = books.done(store, title="The Long Mole")
    thick = books.done(store, books.book(3), profile_id="longmole-thick", title="The Long Mole")
    assert mole.verdict is not None
    assert _ids(client.get(f"{TO}?state=queued")) == [waits.id]
    assert _ids(client.get(f"{TO}?title=long+MOLE")) == [thick.id, mole.id]
    assert _ids(client.get(f"{TO}?title=long%25")) == []  # a wildcard is text
    assert _ids(client.get(f"{TO}?title=mole&profile=longmole-thick")) == [thick.id]
    assert mole.id in _ids(client.get(f"{TO}?verdict={mole.verdict}"))
    narrowed = client.get(f"{TO}?title=mole&limit=1")
    assert "title=mole" in narrowed.get_json()["next"]
    assert _ids(client.get(narrowed.get_json()["next"])) == [mole.id]


def test_an_inspection_in_each_state(client: FlaskClient, store: Store) -> None:
    first, second = books.queued(store), books.queued(store)
    assert [client.get(f"{TO}/{row.id}").get_json()["position"] for row in (first, second)] == [1, 2]
    running = store.rows.claim(first.id)
    assert running is not None
    store.rows.renew(running, done=12, total=300)
    told = client.get(f"{TO}/{first.id}").get_json()
    assert (told["state"], told["position"], told["progress"]) == ("measuring", None, {"done": 12, "total": 300})
    assert told["links"]["report"] is None
    assert told["links"]["cancellation"] == f"{TO}/{first.id}/cancellation"
    store.rows.fail(running, Failure("limit", "page 212 inflates past 1 GB", "Make its pictures smaller.", 212))
    told = client.get(f"{TO}/{first.id}").get_json()
    assert (told["state"], told["failure"]["page"], told["failure"]["attempt"]) == ("failed", 212, 1)
    assert told["finished_at"] is not None
    done = client.get(f"{TO}/{books.done(store).id}").get_json()
    assert done["verdict"] in {"pressworthy", "reservations", "not-pressworthy"}
    assert done["links"]["pages"].endswith("/pages/{page}.png")
    for moment in ("created_at", "finished_at", "expires_at", "measured_at"):
        assert datetime.fromisoformat(done[moment]).tzinfo is not None
    for name in ("report", "report_html", "measurements"):
        assert client.get(done["links"][name]).status_code == 200


def test_cancelling(client: FlaskClient, store: Store) -> None:
    waits, runs = books.queued(store), books.measuring(store)
    for row in (waits, runs):
        for _ in range(2):  # asked twice, the answer is the same
            told = client.post(f"{TO}/{row.id}/cancellation")
            assert (told.status_code, told.get_json()["state"]) == (200, "cancelled")
    assert not store.rows.renew(runs)  # its worker notices
    done = books.done(store)
    assert check_problem(client.post(f"{TO}/{done.id}/cancellation"), 409, "already-ended")["state"] == "done"


def test_deleting_leaves_nothing(client: FlaskClient, store: Store) -> None:
    runs, done = books.measuring(store), books.done(store)
    for row in (runs, done):
        answer = client.delete(f"{TO}/{row.id}")
        assert (answer.status_code, answer.data) == (204, b"")
        assert store.bytes.size(file_key(row.id)) is None
        check_problem(client.get(f"{TO}/{row.id}"), 404, "no-such-inspection")
        check_problem(client.delete(f"{TO}/{row.id}"), 404, "no-such-inspection")
    assert store.bytes.inspections(untouched_for=-1) == []
    assert not store.rows.renew(runs)


@pytest.mark.parametrize(
    "prefer", ["wait=20", "respond-async, wait=20", 'foo; bar="a,b", WAIT="20"', "wait=20, wait=0"]
)
def test_a_wait_ends_when_the_inspection_does(client: FlaskClient, store: Store, prefer: str) -> None:
    row = books.measuring(store)
    ends = threading.Timer(0.3, lambda: store.rows.fail(row, Failure("fault", "it broke", "Try again.")))
    ends.start()
    answer = client.get(f"{TO}/{row.id}", headers={"Prefer": prefer})
    ends.join()
    assert (answer.status_code, answer.get_json()["state"]) == (200, "failed")
    assert answer.headers["Preference-Applied"] == "wait=20"
    assert "Prefer" in answer.headers["Vary"]


def test_a_wait_that_is_over_is_answered_as_it_stands(client: FlaskClient, store: Store) -> None:
    answer = client.get(f"{TO}/{books.queued(store).id}", headers={"Prefer": "wait=1"})
    assert (answer.status_code, answer.get_json()["state"]) == (200, "queued")


@pytest.mark.parametrize("prefer", ["wait", "wait=", "wait=-1", "wait=soon", "return=minimal", "x" * 1000, "wait=٣"])
def test_what_is_no_wait_is_passed_over(client: FlaskClient, store: Store, prefer: str) -> None:
    header = prefer.encode().decode("latin-1")
    answer = client.get(f"{TO}/{books.queued(store).id}", headers={"Prefer": header})
    assert answer.status_code == 200
    assert "Preference-Applied" not in answer.headers


def test_a_wait_has_an_end(client: FlaskClient, store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(waiting, "MOST_SECONDS", 1)
    answer = client.get(f"{TO}/{books.queued(store).id}", headers={"Prefer": "wait=999999999"})
    assert answer.headers["Preference-Applied"] == "wait=1"


def test_so_many_may_wait_and_no_more(client: FlaskClient, store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(waiters, "_waiters", threading.BoundedSemaphore(1))
    assert waiters._waiters.acquire(blocking=False)
    answer = client.get(f"{TO}/{books.queued(store).id}", headers={"Prefer": "wait=20"})
    assert answer.status_code == 200
    assert "Preference-Applied" not in answer.headers


def test_an_upload_that_waits_in_vain_is_accepted(client: FlaskClient) -> None:
    answer = client.post(
        f"{TO}?profile=ternhaven-mono",
        data=books.book(),
        content_type="application/pdf",
        headers={"Prefer": "wait=1"},
    )
    assert (answer.status_code, answer.get_json()["state"]) == (202, "queued")
    assert answer.headers["Preference-Applied"] == "wait=1"


def test_an_upload_that_ends_in_time_is_created(client: FlaskClient, store: Store) -> None:
    """RFC 9110, 15.3.2: the request has been fulfilled and has made a resource."""

    def work() -> None:
        while not (waits := store.rows.page("local", state="queued").items):
            pass
        row = store.rows.claim(waits[0].id)
        assert row is not None
        store.rows.fail(row, Failure("fault", "it broke", "Try again."))

    worker = threading.Thread(target=work)
    worker.start()
    answer = client.post(
        f"{TO}?profile=ternhaven-mono",
        data=books.book(),
        content_type="application/pdf",
        headers={"Prefer": "wait=20"},
    )
    worker.join()
    assert (answer.status_code, answer.get_json()["state"]) == (201, "failed")
    assert answer.headers["Location"] == answer.get_json()["links"]["self"]
