"""What can no longer be had, and what still can, when the file's or the pictures' day has come. 410: RFC 9110, section
15.5.11."""

from __future__ import annotations

from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from tests.api import books
from tests.api.problem import check_problem
from worker.picturing import keep
from worker.proving import prove_once
from worker.store import Inspection, Store, file_key, picture_key, pictured_key, proof_key
from worker.store.models import now
from worker.store.rows import DaysKept
from worker.sweep import delete_expired

TO = "/v1/inspections"
LONG, OVER = timedelta(days=30), timedelta(seconds=-1)


def _row(store: Store, *, file: timedelta = LONG, pictures: timedelta = LONG) -> Inspection:
    store.rows._kept = DaysKept(LONG, file, pictures)
    row = books.done(store)
    store.bytes.write(picture_key(row.id, 1), b"a picture")
    return row


@pytest.mark.parametrize("swept", [False, True])
def test_when_the_file_is_gone(client: FlaskClient, store: Store, swept: bool) -> None:
    row = _row(store, file=OVER)
    assert not swept or delete_expired(store) == 1
    here = f"{TO}/{row.id}"
    assert client.get(f"{here}/pages/1.png").data == b"a picture"  # drawn before
    for part in ("pages/2.png", "proof.pdf"):
        told = check_problem(client.get(f"{here}/{part}"), 410, "no-longer-kept")
        assert told["what"] == "file"
    for part in ("report.json", "report.html", "measurements", "measurements?lines=1"):
        assert client.get(f"{here}/{part}").status_code == 200, part
    assert client.get(f"/inspections/{row.id}").status_code == 200


@pytest.mark.parametrize("swept", [False, True])
def test_when_the_pictures_are_gone(client: FlaskClient, store: Store, swept: bool) -> None:
    row = _row(store, pictures=OVER)
    assert not swept or delete_expired(store) == 1
    for part in ("pages/1.png", "pages/2.png", "proof.pdf"):
        told = check_problem(client.get(f"{TO}/{row.id}/{part}"), 410, "no-longer-kept")
        assert told["what"] == "pictures"
        assert client.get(f"/inspections/{row.id}/{part}").status_code == 410
    links = client.get(f"{TO}/{row.id}").get_json()["links"]
    assert (links["pages"], links["proof"]) == (None, None)
    page = client.get(f"/inspections/{row.id}").text
    assert "kept no longer" in page
    assert "proof.pdf" not in page


def test_the_report_goes_on_without_the_pictures_in_it(client: FlaskClient, store: Store) -> None:
    row = _row(store)
    store.bytes.write(pictured_key(row.id), b"with pictures")
    assert client.get(f"{TO}/{row.id}/report.html").data == b"with pictures"
    over = _row(store, pictures=OVER)
    store.bytes.write(pictured_key(over.id), b"with pictures")
    for swept in (False, True):
        assert not swept or delete_expired(store) == 1
        assert "<html" in client.get(f"{TO}/{over.id}/report.html").text
    assert store.bytes.size(pictured_key(over.id)) is None


def test_every_day_is_told(client: FlaskClient, store: Store) -> None:
    row = _row(store, file=timedelta(days=3), pictures=timedelta(days=10))
    told = client.get(f"{TO}/{row.id}").get_json()
    assert told["file_expires_at"] < told["pictures_expire_at"] < told["expires_at"]
    page = client.get(f"/inspections/{row.id}").text
    assert "the file until" in page
    assert "the pictures and the marked book until" in page


@pytest.mark.parametrize("swept", [False, True])
def test_judging_again_works_without_the_file(client: FlaskClient, store: Store, swept: bool) -> None:
    row = _row(store, file=OVER)
    assert not swept or delete_expired(store) == 1
    answer = client.post(f"{TO}/{row.id}/judgements", json={"profile": "common-paperback"})
    assert answer.status_code == 201
    again = answer.get_json()["id"]
    assert store.bytes.size(file_key(again)) is None
    kept = store.rows.get(again)
    assert kept is not None
    assert not kept.has_file
    check_problem(client.get(f"{TO}/{again}/pages/1.png"), 410, "no-longer-kept")
    assert client.get(f"{TO}/{again}/report.html").status_code == 200


def test_judging_again_does_not_move_the_files_day(client: FlaskClient, store: Store) -> None:
    row = _row(store, file=timedelta(days=3))
    again = client.post(f"{TO}/{row.id}/judgements", json={"profile": "common-paperback"}).get_json()
    first = client.get(f"{TO}/{row.id}").get_json()
    assert again["file_expires_at"] == first["file_expires_at"]
    assert store.bytes.size(file_key(again["id"])) is not None


def test_a_later_file_is_still_compared_with_it(client: FlaskClient, store: Store) -> None:
    row = _row(store, file=OVER)
    delete_expired(store)
    sent = client.post(
        f"{TO}?profile=ternhaven-mono&against={row.id}", data=books.book(2), content_type="application/pdf"
    )
    assert (sent.status_code, sent.get_json()["against"]) == (202, row.id)


def test_what_is_drawn_too_late_does_not_stay(store: Store) -> None:
    """A drawing that was begun before the day and ends after it."""
    row = _row(store, pictures=OVER)
    delete_expired(store)
    keep(store, row, picture_key(row.id, 1), b"too late")
    assert store.bytes.size(picture_key(row.id, 1)) is None


def test_no_worker_tries_what_it_may_not(store: Store) -> None:
    """Without a file there is nothing to open: the bench's own fence is never asked."""
    import threading

    from worker.attempt import Bench
    from worker.limits import Limits
    from worker.picturing import draw_once

    bench = Bench(store, Limits(), threading.Event(), ("no such reader",))
    for row in (_row(store, file=OVER), _row(store, pictures=OVER)):
        assert not draw_once(bench, row.id, 2)
        assert not prove_once(bench, row.id)
        assert store.bytes.size(proof_key(row.id)) is None
    assert now() < row.expires_at
