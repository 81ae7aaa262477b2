"""The proof over HTTP: given where it is kept, made and waited for where it is not, refused where there can be none.

Names of files to keep: RFC 6266. Validators: RFC 9110, 13.1.2.
"""

from __future__ import annotations

import threading
from urllib.parse import unquote

import pytest
from flask.testing import FlaskClient

from service import proofs
from tests.api import books
from tests.api.problem import check_problem
from worker.picturing import Undrawn
from worker.store import Inspection, Store, proof_key, unproved_key

TO = "/v1/inspections"
PROOF = b"%PDF-1.7 the proof"


@pytest.fixture
def row(store: Store) -> Inspection:
    return books.done(store)


def test_one_that_is_there_is_given_as_a_file_to_keep(client: FlaskClient, store: Store, row: Inspection) -> None:
    store.bytes.write(proof_key(row.id), PROOF)
    for place in (f"{TO}/{row.id}/proof.pdf", f"/inspections/{row.id}/proof.pdf"):
        answer = client.get(place)
        assert (answer.status_code, answer.mimetype, answer.data) == (200, "application/pdf", PROOF)
        kept_as = unquote(answer.headers["Content-Disposition"])
        assert kept_as.startswith("attachment;")
        assert "long-mole proof.pdf" in kept_as
        assert "private" in answer.headers["Cache-Control"]
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        again = client.get(place, headers={"If-None-Match": answer.headers["ETag"]})
        assert (again.status_code, again.data) == (304, b"")
    assert client.get(f"{TO}/{row.id}").get_json()["links"]["proof"] == f"{TO}/{row.id}/proof.pdf"


def test_one_that_is_not_there_is_asked_for_once_and_waited_for(
    client: FlaskClient, store: Store, row: Inspection, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    def ring(inspection_id: str) -> bool:
        asked.append(inspection_id)
        threading.Timer(0.3, lambda: store.bytes.write(proof_key(inspection_id), PROOF)).start()
        return True

    monkeypatch.setattr(proofs, "ring_proof", ring)
    assert client.get(f"{TO}/{row.id}/proof.pdf").data == PROOF
    assert client.get(f"{TO}/{row.id}/proof.pdf").data == PROOF
    assert asked == [row.id]


def test_one_that_takes_long_is_not_waited_for_without_end(
    client: FlaskClient, row: Inspection, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(proofs, "ring_proof", lambda _: True)
    monkeypatch.setattr(proofs, "PATIENCE", 0.2)
    answer = client.get(f"{TO}/{row.id}/proof.pdf")
    check_problem(answer, 503, "proof-not-made")
    assert int(answer.headers["Retry-After"]) > 0
    page = client.get(f"/inspections/{row.id}/proof.pdf")
    assert (page.status_code, "It is being made now" in page.text) == (503, True)


def test_one_that_cannot_be_made_says_why_and_asks_no_worker(
    client: FlaskClient, store: Store, row: Inspection, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = Undrawn(code="limit", message="the file asks for more than 60 seconds of work")
    store.bytes.write(unproved_key(row.id), told.model_dump_json().encode())
    monkeypatch.setattr(proofs, "ring_proof", lambda _: pytest.fail("a worker was asked"))
    answer = client.get(f"{TO}/{row.id}/proof.pdf")
    check_problem(answer, 404, "proof-cannot-be-made")
    assert "60 seconds" in answer.get_json()["detail"]
    page = client.get(f"/inspections/{row.id}/proof.pdf")
    assert (page.status_code, "60 seconds" in page.text) == (404, True)


def test_a_file_without_pages_has_none(client: FlaskClient, store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    row = books.done(store, b"%PDF-1.7\nnothing more")
    monkeypatch.setattr(proofs, "ring_proof", lambda _: pytest.fail("a worker was asked"))
    check_problem(client.get(f"{TO}/{row.id}/proof.pdf"), 404, "proof-cannot-be-made")
    assert client.get(f"{TO}/{row.id}").get_json()["links"]["proof"] is None
    assert f"/inspections/{row.id}/proof.pdf" not in client.get(f"/inspections/{row.id}").text


def test_an_inspections_page_leads_to_it(client: FlaskClient, row: Inspection) -> None:
    assert f'href="/inspections/{row.id}/proof.pdf"' in client.get(f"/inspections/{row.id}").text
    assert client.get(f"/inspections/{'ins_' + 'a' * 26}/proof.pdf").status_code == 404


def test_it_goes_with_the_inspection(client: FlaskClient, store: Store, row: Inspection) -> None:
    store.bytes.write(proof_key(row.id), PROOF)
    client.delete(f"{TO}/{row.id}")
    assert store.bytes.size(proof_key(row.id)) is None
