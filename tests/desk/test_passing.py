"""A pass for press is of one file's bytes, by somebody with a name, and of a file that was inspected."""

from __future__ import annotations

from dataclasses import replace

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from tests.desk import desk
from tests.web import rows
from tests.web.visit import Visit
from worker.store import Failure, Store, Title


def _pass(visit: Visit, title: Title, **typed: str) -> TestResponse:
    return visit.submit(visit.get(f"/titles/{title.id}").form("/pass"), **{"by": "Orla Fenwick"} | typed)


def _stand(visit: Visit, title: Title, standing: str) -> TestResponse:
    return visit.submit(visit.get(f"/titles/{title.id}").form("/standing"), standing=standing)


def test_a_file_is_passed_and_it_is_said_by_whom(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    file = desk.inspected(store, title, verdict="pressworthy")
    assert _pass(visit, title).status_code == 303
    page = visit.get(f"/titles/{title.id}")
    assert "Passed for press by Orla Fenwick" in page.alert
    assert file.sha256 in page.text
    assert not [form for form in page.forms if form.action.endswith("/pass")]


def test_a_file_that_came_meanwhile_is_not_passed_unseen(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    desk.inspected(store, title)
    form = visit.get(f"/titles/{title.id}").form("/pass")
    later = rows.new(store, title.title)
    store.bytes.write(f"inspections/{later.id}/file.pdf", b"%PDF-1.4 another")
    other = store.rows.create(type(later)(**vars(later) | {"sha256": "b" * 64}))
    desk.submitted(store, title, other)
    answer = visit.submit(form, by="Orla Fenwick")
    assert answer.status_code == 409
    assert "Another file has come" in answer.get_data(as_text=True)
    assert desk.now(store, title).standing == "to-be-looked-at"


def test_of_a_file_after_a_pass_it_is_said_that_it_needs_its_own(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    desk.inspected(store, title, verdict="pressworthy")
    _pass(visit, title)
    assert "This is another file" not in visit.get(f"/titles/{title.id}").text
    row = rows.new(store, title.title)
    desk.submitted(store, title, store.rows.create(replace(row, sha256="b" * 64)))
    page = visit.get(f"/titles/{title.id}")
    assert "File 1 was passed for press by Orla Fenwick" in page.alert
    assert "This is another file, and needs a pass of its own." in page.alert


def test_what_was_not_inspected_is_not_passed(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    desk.inspected(store, title)
    form = visit.get(f"/titles/{title.id}").form("/pass")
    row = rows.measuring(store, 1, 2)
    desk.submitted(store, title, row)
    waiting = visit.submit(form, by="Orla Fenwick", sha256=row.sha256)
    assert (waiting.status_code, "still being inspected" in waiting.get_data(as_text=True)) == (409, True)
    store.rows.fail(row, Failure("limit", "page 2 is too much", "Split it.", 2))
    failed = visit.submit(form, by="Orla Fenwick", sha256=row.sha256)
    assert (failed.status_code, "has no report" in failed.get_data(as_text=True)) == (409, True)
    assert desk.now(store, title).standing == "to-be-looked-at"


def test_nobody_passes_without_a_name_and_the_name_is_remembered(visit: Visit, store: Store) -> None:
    title, other = desk.title(store), desk.title(store, "Kelp")
    desk.inspected(store, title)
    desk.inspected(store, other)
    assert _pass(visit, title, by="  ").status_code == 422
    assert desk.now(store, title).standing == "to-be-looked-at"
    _pass(visit, title)
    assert visit.get(f"/titles/{other.id}").form("/pass").values["by"] == "Orla Fenwick"


def test_who_has_signed_in_passes_in_that_name_and_no_other(guarded_app: Flask, store: Store) -> None:
    token, secret = store.tokens.make("the reading room")
    visit = Visit(guarded_app.test_client())
    visit.sign_in(secret)
    title = desk.title(store, owner=token.member)
    desk.inspected(store, title)
    assert _pass(visit, title, by="Somebody Else").status_code == 303
    assert store.titles.submissions(title.id)[-1][0].passed_by == "the reading room"


def test_a_new_file_takes_the_title_back(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    desk.inspected(store, title)
    _pass(visit, title)
    row = rows.new(store, title.title)
    desk.submitted(store, title, store.rows.create(type(row)(**vars(row) | {"sha256": "b" * 64})))
    page = visit.get(f"/titles/{title.id}")
    assert "To be looked at" in page.text
    assert "Passed for press by Orla Fenwick" in page.text  # of the file before, in its place in the list


def test_waiting_withdrawing_and_taking_up_again(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    desk.inspected(store, title)
    for standing, told in (
        ("waiting-for-author", "Waiting for the author"),
        ("to-be-looked-at", "To be looked at"),
        ("withdrawn", "Withdrawn"),
        ("to-be-looked-at", "To be looked at"),
    ):
        assert _stand(visit, title, standing).status_code == 303
        assert desk.now(store, title).standing == standing
        assert told in visit.get(f"/titles/{title.id}").text


@pytest.mark.parametrize("standing", ["passed", "", "nonsense"])
def test_a_pass_is_given_by_a_pass_alone(visit: Visit, store: Store, standing: str) -> None:
    title = desk.title(store)
    desk.inspected(store, title)
    assert _stand(visit, title, standing).status_code == 422
    assert desk.now(store, title).standing == "to-be-looked-at"
