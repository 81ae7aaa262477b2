"""An inspection's page in every state, and what one can do there."""

from __future__ import annotations

import pytest

from tests.web import rows
from tests.web.visit import Page, Visit
from worker.picturing import Undrawn
from worker.store import Failure, Store, picture_key, undrawn_key

RELOADS = {"http-equiv": "refresh", "content": "5"}


def test_one_that_waits_says_its_place_and_loads_again_by_itself(visit: Visit, store: Store) -> None:
    rows.queued(store, "Before")
    rows.queued(store, "Before that")
    page = visit.get(f"/inspections/{rows.queued(store).id}")
    assert "It is number 3 in the queue." in page.text
    assert RELOADS in page.all("meta")
    assert "The queue does not answer" in page.text  # nobody answers for the broker here


def test_one_that_runs_says_how_far_it_is_in_the_page_and_as_data(visit: Visit, store: Store) -> None:
    row = rows.measuring(store, 231, 812)
    page = visit.get(f"/inspections/{row.id}")
    assert "231 of 812 pages are measured." in page.text
    assert {"max": "812", "value": "231"}.items() <= page.all("progress")[0].items()
    told = visit.client.get(f"/inspections/{row.id}/progress").get_json()
    assert (told["state"], told["finished"], told["done"], told["total"]) == ("Measuring", False, 231, 812)


def test_a_later_attempt_says_so(visit: Visit, store: Store) -> None:
    row = rows.measuring(store, 1, 2)
    store.rows.give_back(row, counts=True)
    assert store.rows.claim(row.id) is not None
    assert "Attempt 2" in visit.get(f"/inspections/{row.id}").text


def test_one_that_is_done_shows_its_report_and_pictures(visit: Visit, store: Store) -> None:
    row = rows.done(store, flagged=(3, 4))
    store.bytes.write(picture_key(row.id, 3), b"\x89PNG\r\n\x1a\n")
    page = visit.get(f"/inspections/{row.id}")
    assert page.all("iframe")[0]["src"] == f"/inspections/{row.id}/report"
    assert [image["src"] for image in page.all("img")] == [f"/inspections/{row.id}/pages/3.png"]
    assert "Not drawn yet" in page.text
    assert "Page 4: Text too near the spine" in page.text
    assert RELOADS not in page.all("meta")
    assert visit.client.get(f"/inspections/{row.id}/pages/3.png").mimetype == "image/png"


def test_a_page_that_is_not_drawn_says_that_it_will_be(visit: Visit, store: Store) -> None:
    row = rows.done(store)
    waits = visit.get(f"/inspections/{row.id}/pages/4.png")
    assert (waits.status, "Page 4 is not drawn yet" in waits.text) == (503, True)
    for page in ("0", "13", "99999999999"):
        answer = visit.get(f"/inspections/{row.id}/pages/{page}.png")
        assert answer.status == 404
        assert "There is no page" in answer.text
    assert visit.get(f"/inspections/{rows.queued(store).id}/pages/1.png").status == 404


def test_a_page_that_cannot_be_drawn_says_why(visit: Visit, store: Store) -> None:
    row = rows.done(store, flagged=(3, 4))
    told = Undrawn(code="limit", message="the file asks for more than 60 seconds of work")
    store.bytes.write(undrawn_key(row.id, 4), told.model_dump_json().encode())
    shown = visit.get(f"/inspections/{row.id}")
    assert "Cannot be drawn" in shown.text
    assert [link.get("data-page") for link in shown.all("a") if "undrawn" in (link.get("class") or "")] == ["3"]
    why = visit.get(f"/inspections/{row.id}/pages/4.png")
    assert (why.status, "Page 4 cannot be drawn" in why.text, "60 seconds" in why.text) == (404, True, True)


def test_one_that_failed_says_why_and_keeps_what_was_chosen(visit: Visit, store: Store) -> None:
    row = rows.measuring(store, 211, 812)
    store.rows.fail(row, Failure("limit", "page 212 inflates past 1 GB", "Make its pictures smaller.", 212))
    page = visit.get(f"/inspections/{row.id}")
    assert "Page 212 inflates past 1 GB." in page.text
    assert "Make its pictures smaller." in page.text
    (again,) = [link for link in page.links() if link.startswith("/?")]
    form = visit.get(again)
    assert form.form("/inspections").values["title"] == "The Long Mole"
    assert [box["value"] for box in form.all("input") if "checked" in box] == ["ternhaven-mono"]


def test_stopping(visit: Visit, store: Store) -> None:
    row = rows.measuring(store, 1, 2)
    answer = visit.submit(visit.get(f"/inspections/{row.id}").form("/cancellation"))
    assert answer.location == f"/inspections/{row.id}"
    assert "It was stopped" in visit.get(answer.location).text
    assert visit.client.get(f"/inspections/{row.id}/progress").get_json()["finished"] is True


def test_deleting_asks_first(visit: Visit, store: Store) -> None:
    row = rows.done(store)
    page = visit.get(f"/inspections/{row.id}")
    question = next(link for link in page.links() if link.endswith("/deletion"))
    form = visit.get(question).form("/deletion")
    assert store.rows.get(row.id) is not None
    assert visit.submit(form).location == "/inspections"
    assert store.rows.get(row.id) is None
    assert visit.submit(form).status_code == 404


@pytest.mark.parametrize(
    ("profile", "pages", "line"),
    [
        ("nobody", "", "There is no such printer"),
        ("ternhaven-mono", "many", "whole number from 1"),
        ("ternhaven-mono", "0", "whole number from 1"),
        ("ternhaven-mono", "-3", "whole number from 1"),
        ("ternhaven-mono", "٣", "whole number from 1"),
        ("ternhaven-mono", "9" * 400, "whole number from 1"),
    ],
)
def test_judging_again_refuses_in_one_line(visit: Visit, store: Store, profile: str, pages: str, line: str) -> None:
    row = rows.done(store)
    form = visit.get(f"/inspections/{row.id}").form("/judgements")
    page = Page(visit.submit(form, profile=profile, pages=pages))
    assert page.status == 422
    assert line in page.text
    assert len(store.rows.page("local").items) == 1


def test_one_without_a_report_is_not_judged_again(visit: Visit, store: Store) -> None:
    waiting, ready = rows.queued(store), rows.done(store)
    form = visit.get(f"/inspections/{ready.id}").form("/judgements")
    form.action = form.action.replace(ready.id, waiting.id)
    assert visit.submit(form, profile="ternhaven-mono").status_code == 409
