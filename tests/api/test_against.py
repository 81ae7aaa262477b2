"""An inspection compared with an earlier one of the same caller. Status codes: RFC 9110; problems: RFC 9457."""

from __future__ import annotations

import threading

import pytest
from flask.testing import FlaskClient

from tests.api import books
from tests.api.problem import check_problem
from worker.attempt import Bench, inspect_once
from worker.store import Store, new_inspection_id, report_key

TO = "/v1/inspections"
PDF = "application/pdf"
NEAR, MENDED = books.book(indent=0.1), books.book(indent=1.0)
"""Text 0.1 in from the edge, where the profile asks for 0.25 in and more; and an inch from it."""


def _see_through(store: Store, inspection_id: str) -> None:
    """As a worker does: behind the fence, with the limits of a machine of one's own."""
    from worker.limits import Limits

    inspect_once(Bench(store, Limits(), threading.Event()), inspection_id)


@pytest.mark.parametrize("where", ["query", "form"])
def test_a_new_file_is_compared_with_an_earlier_inspection(client: FlaskClient, store: Store, where: str) -> None:
    earlier = books.done(store, NEAR)
    if where == "query":
        address = f"{TO}?profile=ternhaven-mono&against={earlier.id}"
        made = client.post(address, data=MENDED, content_type=PDF)
    else:
        fields = {"profile": "ternhaven-mono", "against": earlier.id}
        body, kind = books.form(fields, [("file", "mended.pdf", MENDED)])
        made = client.post(TO, data=body, content_type=kind)
    assert (made.status_code, made.get_json()["against"]) == (202, earlier.id)
    _see_through(store, made.get_json()["id"])
    shown = client.get(made.headers["Location"]).get_json()
    assert (shown["state"], shown["against"]) == ("done", earlier.id)
    comparison = client.get(shown["links"]["report"]).get_json()["comparison"]
    assert comparison["against"]["sha256"] == earlier.sha256
    assert "outside-margin" in {each["rule"] for each in comparison["mended"]}
    assert comparison["new"] == []
    assert comparison["pages_map"] == [[1, 3, 1]]
    assert "Since the earlier file" in client.get(shown["links"]["report_html"]).text


def test_without_the_field_nothing_is_compared(client: FlaskClient, store: Store) -> None:
    made = client.post(f"{TO}?profile=ternhaven-mono", data=MENDED, content_type=PDF).get_json()
    assert made["against"] is None
    _see_through(store, made["id"])
    assert client.get(f"{TO}/{made['id']}/report.json").get_json()["comparison"] is None


@pytest.mark.parametrize("whose", ["another's", "nobody's", "no id"])
def test_only_an_inspection_of_ones_own_is_compared_with(client: FlaskClient, store: Store, whose: str) -> None:
    others = books.done(store, owner="tok_" + "a" * 26).id
    against = {"another's": others, "nobody's": new_inspection_id(), "no id": "../etc/passwd"}[whose]
    in_query = client.post(f"{TO}?profile=ternhaven-mono&against={against}", data=MENDED, content_type=PDF)
    check_problem(in_query, 404, "no-such-inspection")
    body, kind = books.form({"profile": "ternhaven-mono", "against": against}, [("file", "b.pdf", MENDED)])
    check_problem(client.post(TO, data=body, content_type=kind), 404, "no-such-inspection")
    assert store.rows.page("local").items == [], "nothing is kept of what was refused"


def test_one_that_is_not_done_cannot_be_compared_with(client: FlaskClient, store: Store) -> None:
    waiting = books.queued(store)
    address = f"{TO}?profile=ternhaven-mono&against={waiting.id}"
    check_problem(client.post(address, data=MENDED, content_type=PDF), 409, "not-finished")
    store.rows.cancel(waiting.id)
    check_problem(client.post(address, data=MENDED, content_type=PDF), 409, "inspection-cancelled")


def test_where_the_earlier_one_is_deleted_meanwhile_the_report_comes_without(client: FlaskClient, store: Store) -> None:
    earlier = books.done(store, NEAR)
    address = f"{TO}?profile=ternhaven-mono&against={earlier.id}"
    made = client.post(address, data=MENDED, content_type=PDF).get_json()
    assert client.delete(f"{TO}/{earlier.id}").status_code == 204
    _see_through(store, made["id"])
    shown = client.get(f"{TO}/{made['id']}").get_json()
    assert (shown["state"], shown["against"]) == ("done", earlier.id)
    assert client.get(f"{TO}/{made['id']}/report.json").get_json()["comparison"] is None


def test_one_that_was_kept_before_there_were_traces_is_compared_as_a_whole(client: FlaskClient, store: Store) -> None:
    earlier = books.done(store, NEAR)
    report = client.get(f"{TO}/{earlier.id}/report.json").get_json()
    del report["traces"], report["comparison"]
    store.bytes.write(report_key(earlier.id), client.application.json.dumps(report).encode())
    made = client.post(f"{TO}?profile=ternhaven-mono&against={earlier.id}", data=MENDED, content_type=PDF).get_json()
    _see_through(store, made["id"])
    comparison = client.get(f"{TO}/{made['id']}/report.json").get_json()["comparison"]
    assert (comparison["followed"], comparison["pages_map"]) == (False, [])
    assert "outside-margin" in {each["rule"] for each in comparison["mended"]}


def test_judging_again_compares_with_nothing(client: FlaskClient, store: Store) -> None:
    earlier = books.done(store, NEAR)
    made = client.post(f"{TO}?profile=ternhaven-mono&against={earlier.id}", data=MENDED, content_type=PDF).get_json()
    _see_through(store, made["id"])
    again = client.post(f"{TO}/{made['id']}/judgements", json={"profile": "common-paperback"}).get_json()
    assert (again["against"], again["report"]["comparison"]) == (None, None)
    assert len(again["report"]["traces"]) == again["report"]["pages"]
