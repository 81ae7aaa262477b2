"""Reports, measurements, pictures, judging again. Negotiation: RFC 9110, 12.5.1; validators: 13.1.2."""

from __future__ import annotations

import io
import threading
from queue import Queue

import pytest
from flask.testing import FlaskClient
from PIL import Image

from service import pictured
from service.api import results
from tests.api import books
from tests.api.problem import check_problem
from worker.store import Missing, Store, file_key, measurements_key, picture_key, pictured_key, report_key

TO = "/v1/inspections"
BROWSER = "text/html,application/xhtml+xml,application/xml;q=0.9,image/webp,*/*;q=0.8"


@pytest.mark.parametrize(
    ("accept", "kind"),
    [
        (None, "application/json"),
        ("*/*", "application/json"),
        ("application/json", "application/json"),
        ("text/html", "text/html"),
        (BROWSER, "text/html"),
        ("text/html;q=0.4, application/json;q=0.5", "application/json"),
        ("text/html;q=0.6, application/json;q=0.5", "text/html"),
        ("text/*", "text/html"),
    ],
)
def test_the_report_comes_as_it_is_accepted(client: FlaskClient, store: Store, accept: str | None, kind: str) -> None:
    row = books.done(store)
    answer = client.get(f"{TO}/{row.id}/report", headers={"Accept": accept} if accept else {})
    assert (answer.status_code, answer.mimetype) == (200, kind)
    assert "Accept" in answer.headers["Vary"]
    named = client.get(f"{TO}/{row.id}/report.{'html' if kind == 'text/html' else 'json'}")
    assert named.data == answer.data


def test_the_report_is_about_the_file(client: FlaskClient, store: Store) -> None:
    row = books.done(store, books.book(indent=0.1))  # 0.1 in from the edge: the profile asks 0.25 in and more
    report = client.get(f"{TO}/{row.id}/report.json").get_json()
    assert report["schema"] == "pressworthy.report/1"
    assert report["file"]["sha256"] == row.sha256
    assert report["verdict"] == row.verdict == "not-pressworthy"
    assert {"inside-margin", "outside-margin"} & {finding["rule"] for finding in report["findings"]}


def test_the_reports_page_may_do_nothing(client: FlaskClient, store: Store) -> None:
    answer = client.get(f"{TO}/{books.done(store).id}/report.html")
    policy = dict(rule.strip().partition(" ")[::2] for rule in answer.headers["Content-Security-Policy"].split(";"))
    assert policy["default-src"] == policy["frame-ancestors"] == policy["form-action"] == "'none'"
    assert policy["sandbox"] == ""  # no scripts, no origin
    assert "script-src" not in policy
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"


def test_what_one_has_already_is_not_sent_again(client: FlaskClient, store: Store) -> None:
    row = books.done(store)
    for rest in ("report.json", "report.html", "measurements"):
        tag = client.get(f"{TO}/{row.id}/{rest}").headers["ETag"]
        again = client.get(f"{TO}/{row.id}/{rest}", headers={"If-None-Match": tag})
        assert (again.status_code, again.data) == (304, b"")


def test_nothing_of_a_callers_may_be_kept_in_between(client: FlaskClient, store: Store) -> None:
    """RFC 9111, 5.2.2.7: a shared cache stores nothing that is private."""
    row = books.done(store)
    store.bytes.write(picture_key(row.id, 1), b"drawn")
    for rest in ("", "/report.json", "/report.html", "/measurements", "/measurements?lines=1", "/pages/1.png"):
        assert "private" in client.get(f"{TO}/{row.id}{rest}").headers["Cache-Control"], rest
    for rest in ("", "/report", "/report.json", "/measurements.json", "/pages/1.png"):
        assert "private" in client.get(f"/inspections/{row.id}{rest}").headers["Cache-Control"], rest


def test_lines_are_shown_when_asked_for(client: FlaskClient, store: Store) -> None:
    row = books.done(store)
    plain = client.get(f"{TO}/{row.id}/measurements").get_json()
    whole = client.get(f"{TO}/{row.id}/measurements?lines=1").get_json()
    assert plain["schema"] == whole["schema"] == "pressworthy.measurements/1"
    assert [page["page"] for page in plain["pages"]] == [1, 2, 3]
    assert all("lines" not in page for page in plain["pages"])
    assert whole["pages"][1]["lines"][0]["text"] == "Tern Island, page 2"  # as the book was set
    for page in whole["pages"]:
        del page["lines"]
    assert plain == whole
    assert client.get(f"{TO}/{row.id}/measurements?lines=0").get_json() == plain


def test_a_picture_that_is_there_is_given(client: FlaskClient, store: Store) -> None:
    row = books.done(store)
    drawn = io.BytesIO()
    Image.new("L", (60, 90), 255).save(drawn, "png")
    store.bytes.write(picture_key(row.id, 2), drawn.getvalue())
    answer = client.get(f"{TO}/{row.id}/pages/2.png")
    assert (answer.status_code, answer.mimetype, answer.data) == (200, "image/png", drawn.getvalue())


def test_one_that_is_not_there_is_asked_for_and_waited_for(
    client: FlaskClient, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    row = books.done(store)
    asked: list[tuple[str, int]] = []

    def ring(inspection_id: str, page: int) -> bool:
        asked.append((inspection_id, page))
        threading.Timer(0.3, lambda: store.bytes.write(picture_key(inspection_id, page), b"drawn")).start()
        return True

    monkeypatch.setattr(results, "ring_drawing", ring)
    assert client.get(f"{TO}/{row.id}/pages/3.png").data == b"drawn"
    assert asked == [(row.id, 3)]


def test_one_that_takes_long_is_not_waited_for_without_end(
    client: FlaskClient, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(results, "ring_drawing", lambda *_: True)
    monkeypatch.setattr(results, "DRAWING_SECONDS", 0.2)
    answer = client.get(f"{TO}/{books.done(store).id}/pages/3.png")
    check_problem(answer, 503, "picture-not-drawn")
    assert int(answer.headers["Retry-After"]) > 0


def test_judging_again_makes_an_inspection_of_its_own(client: FlaskClient, store: Store) -> None:
    row = books.done(store, title="The Long Mole")
    answer = client.post(f"{TO}/{row.id}/judgements", json={"profile": "longmole-thick", "pages": 820})
    assert answer.status_code == 201
    told = answer.get_json()
    assert answer.headers["Location"] == told["links"]["self"] == f"{TO}/{told['id']}"
    assert told["id"] != row.id
    assert (told["state"], told["profile"], told["judged_as_pages"]) == ("done", "longmole-thick", 820)
    assert (told["title"], told["file"]) == ("The Long Mole", client.get(f"{TO}/{row.id}").get_json()["file"])
    assert told["report"]["profile"]["id"] == "longmole-thick"
    assert told["report"]["judged_as_pages"] == 820
    assert told["report"]["verdict"] == told["verdict"]
    assert client.get(told["links"]["report"]).get_json() == told["report"]
    assert client.get(f"{TO}/{row.id}").get_json()["profile"] == "ternhaven-mono"


def test_a_judgement_is_logged_under_the_request_that_asked_for_it(client: FlaskClient, store: Store) -> None:
    to = f"{TO}/{books.done(store).id}/judgements"
    answer = client.post(to, json={"profile": "common-paperback"}, headers={"X-Request-Id": "tern-9"})
    row = store.rows.get(answer.get_json()["id"])
    assert row is not None
    assert row.request_id == answer.headers["X-Request-Id"] == "tern-9"


def test_a_judgement_outlives_the_inspection_that_it_came_from(client: FlaskClient, store: Store) -> None:
    row = books.done(store)
    new = client.post(f"{TO}/{row.id}/judgements", json={"profile": "common-paperback"}).get_json()
    client.delete(f"{TO}/{row.id}")
    assert store.bytes.read(file_key(new["id"])) == books.book()
    assert client.get(new["links"]["measurements"]).status_code == 200
    assert "<html" in client.get(new["links"]["report_html"]).text


def test_the_page_of_a_judgement_is_set_when_it_is_read(client: FlaskClient, store: Store) -> None:
    new = client.post(f"{TO}/{books.done(store).id}/judgements", json={"profile": "common-paperback"}).get_json()
    with pytest.raises(Missing):
        store.bytes.read(report_key(new["id"], "html"))
    page = client.get(new["links"]["report_html"]).data
    assert store.bytes.read(report_key(new["id"], "html")) == page


def test_the_page_is_the_one_that_is_there_and_its_pictures_are_asked_for_once(
    client: FlaskClient, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The bell hangs until the answers have come: a page that waited for it would never come."""
    answered, rung = threading.Event(), threading.Event()
    asked: list[str] = []

    def ring(inspection_id: str) -> bool:
        asked.append(inspection_id)
        rung.set()
        return answered.wait(60)

    monkeypatch.setattr(pictured, "ring_pictures", ring)
    row = books.done(store)
    pages = [client.get(f"{TO}/{row.id}/report.html").data for _ in range(3)]
    assert rung.wait(60)
    answered.set()
    assert (asked, len(set(pages))) == ([row.id], 1)
    store.bytes.write(pictured_key(row.id), b"<!DOCTYPE html> with pictures")
    answer = client.get(f"{TO}/{row.id}/report.html")
    assert answer.data == b"<!DOCTYPE html> with pictures"
    assert "img-src data:" in answer.headers["Content-Security-Policy"].split("; ")


def test_a_judgement_asks_for_pictures_of_its_own(
    client: FlaskClient, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    rung: Queue[str] = Queue()
    monkeypatch.setattr(pictured, "ring_pictures", rung.put)
    new = client.post(f"{TO}/{books.done(store).id}/judgements", json={"profile": "common-paperback"}).get_json()
    assert rung.get(timeout=60) == new["id"]


@pytest.mark.parametrize(
    "order",
    [
        {},
        {"profile": 1},
        {"profile": "ternhaven-mono", "pages": 0},
        {"profile": "ternhaven-mono", "pages": True},
        {"profile": "ternhaven-mono", "pages": 240.5},
        {"profile": "ternhaven-mono", "colour": "red"},
    ],
)
def test_an_order_that_is_not_as_described_makes_nothing(client: FlaskClient, store: Store, order: object) -> None:
    row = books.done(store)
    check_problem(client.post(f"{TO}/{row.id}/judgements", json=order), 422, "invalid-request")
    assert len(store.rows.page("local").items) == 1


def test_results_that_have_just_been_deleted(client: FlaskClient, store: Store) -> None:
    row = books.done(store)
    store.bytes.delete_all(row.id)
    for rest in ("report.json", "report.html", "measurements", "measurements?lines=1"):
        check_problem(client.get(f"{TO}/{row.id}/{rest}"), 404, "no-such-inspection")
    order = {"profile": "ternhaven-mono"}
    check_problem(client.post(f"{TO}/{row.id}/judgements", json=order), 404, "no-such-inspection")
    assert store.bytes.size(measurements_key(row.id)) is None
