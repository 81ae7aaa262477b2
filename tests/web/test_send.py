"""Sending a book by the form: what is kept, what is refused, and what stands in the form again after a refusal."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from flask import Flask

from service.app import create_app
from service.intake import profile_named
from tests.web.visit import SMALL_PDF, Page, Visit
from worker.settings import Settings
from worker.store import Store, file_key

DATA = {"Accept": "application/json"}


def test_a_book_is_kept_before_it_is_answered(visit: Visit, store: Store) -> None:
    answer = visit.send_book(title="  The\tLong\nMole ", pages="312", name="books/long-mole.pdf")
    (row,) = store.rows.page("local").items
    assert (answer.status_code, answer.location) == (303, f"/inspections/{row.id}")
    assert (row.title, row.judged_as_pages, row.file_name) == ("The Long Mole", 312, "long-mole.pdf")
    assert row.profile_json == profile_named("ternhaven-mono").model_dump_json()
    assert store.bytes.read(file_key(row.id)) == SMALL_PDF


def test_a_script_is_told_where_to_go(visit: Visit, store: Store) -> None:
    answer = visit.send_book(headers=DATA)
    (row,) = store.rows.page("local").items
    assert (answer.status_code, answer.get_json()) == (201, {"location": f"/inspections/{row.id}"})


REFUSED: list[tuple[dict[str, Any], int, str]] = [
    ({"content": b""}, 422, "The file is empty"),
    ({"content": b"Dear printer"}, 415, "The file is not a PDF"),
    ({"content": b" " * 2000 + SMALL_PDF}, 415, "The file is not a PDF"),
    ({"pages": "many"}, 422, "whole number from 1"),
    ({"pages": "0"}, 422, "whole number from 1"),
    ({"profile": "nobody"}, 422, "ternhaven-mono"),
]


@pytest.mark.parametrize(("given", "status", "line"), REFUSED)
def test_a_refusal_is_one_line_in_the_form_and_keeps_what_was_typed(
    visit: Visit, store: Store, given: dict[str, Any], status: int, line: str
) -> None:
    answer = visit.send_book(**{"title": "Mole & <i>co</i>", "pages": "40"} | given)
    page = Page(answer)
    assert page.status == status
    assert line in page.text
    assert page.form("/inspections").values["title"] == "Mole & <i>co</i>"
    assert page.form("/inspections").values["pages"] == given.get("pages", "40")
    chosen = [box["value"] for box in page.all("input") if "checked" in box]
    assert chosen == ([] if "profile" in given else ["ternhaven-mono"])
    assert store.rows.page("local").items == []
    assert store.bytes.inspections(untouched_for=-1) == []


@pytest.mark.parametrize(("given", "status", "line"), REFUSED)
def test_a_script_is_told_the_same_line(visit: Visit, given: dict[str, Any], status: int, line: str) -> None:
    answer = visit.send_book(headers=DATA, **given)
    assert answer.status_code == status
    assert line in answer.get_json()["problem"]


def test_no_file_at_all(visit: Visit, store: Store) -> None:
    """A browser that sends the form without a file sends an empty one without a name."""
    form = visit.get("/").form("/inspections")
    answer = visit.send_book(content=b"", name="")
    assert answer.status_code == 422
    assert visit.submit(form, profile="ternhaven-mono").status_code in {415, 422}
    assert store.rows.page("local").items == []


def test_a_file_over_the_limit_is_refused_with_the_limit(settings: Settings) -> None:
    small = create_app(replace(settings, limits=replace(settings.limits, bytes=200_000)))
    visit = Visit(small.test_client())
    for size in (200_001, 1_000_000):  # found out while it arrives, and announced
        answer = visit.send_book(SMALL_PDF + b" " * size, title="The Long Mole", pages="312")
        page = Page(answer)
        assert page.status == 413
        assert "larger than the 200 kB" in page.text
        assert "Make its pictures smaller or split it" in page.text
        assert {"title": "The Long Mole", "pages": "312"}.items() <= page.form("/inspections").values.items()
        assert [box["value"] for box in page.all("input") if "checked" in box] == ["ternhaven-mono"]


def test_the_file_is_the_last_that_the_form_sends(visit: Visit) -> None:
    """What was typed has arrived before it: HTML sends fields in the order in which they stand."""
    named = [given.get("name") for tag, given in visit.get("/").elements if tag == "input"]
    assert named[-1] == "file"
    assert {"profile", "title", "pages"} <= set(named)


def test_one_who_is_signed_out_is_told_so(guarded_app: Flask, store: Store) -> None:
    visit = Visit(guarded_app.test_client())
    _, secret = store.tokens.make("the reading room")
    visit.sign_in(secret)
    form = visit.get("/").form("/inspections")
    store.tokens.revoke("the reading room")
    assert visit.submit(form, profile="ternhaven-mono").status_code == 401
    answer = visit.submit(form, DATA, profile="ternhaven-mono")
    assert answer.status_code == 401
    assert "Sign in" in answer.get_json()["problem"]


def test_another_name_for_this_machine_is_refused(app: Flask) -> None:
    """DNS rebinding: a page of another site whose name suddenly means this machine."""
    answer = app.test_client().get("/", base_url="http://rebound.example", headers={"Accept": "text/html"})
    assert answer.status_code == 403
    assert "127.0.0.1" in Page(answer).text
