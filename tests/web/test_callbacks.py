"""A callback that is asked for on the first page, its tries on the page of the inspection, the secret that signs it.

The specification is Standard Webhooks; that the API and the page show one secret is asked of both.
"""

from __future__ import annotations

import re
from typing import Any

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from tests.web.visit import Visit
from worker.store import LOCAL, Delivery, Inspection, Store

ADDRESS = "https://hooks.tern-island.example/ended?book=1"


def _sent(visit: Visit, store: Store, url: str = ADDRESS) -> Inspection:
    assert visit.send_book(callback_url=url).status_code == 303
    (row,) = store.rows.page(LOCAL).items
    return row


def _again(visit: Visit, row: Inspection) -> TestResponse:
    return visit.submit(visit.get(f"/inspections/{row.id}").form("/callback/repetition"))


def _tried(store: Store, **how: Any) -> None:
    _settled(store, store.callbacks.claim(lambda _: "{}", most=10), **how)


def _settled(store: Store, claimed: Delivery | None, **how: Any) -> None:
    assert claimed is not None
    store.callbacks.settle(claimed, waits=(5, 300), **{"problem": None, "taken": False, "unwanted": False} | how)


def test_a_call_is_asked_for_and_sent_again(visit: Visit, store: Store) -> None:
    row = _sent(visit, store)
    page = visit.get(f"/inspections/{row.id}")
    assert ADDRESS in page.text
    assert "It is made once the inspection has ended." in page.text
    assert not [form for form in page.forms if form.action.endswith("/repetition")]
    store.rows.cancel(row.id)
    claimed = store.callbacks.claim(lambda _: "{}", most=10)
    assert "It is being sent just now" in visit.get(f"/inspections/{row.id}").text
    assert not [form for form in visit.get(f"/inspections/{row.id}").forms if form.action.endswith("/repetition")]
    _settled(store, claimed, status=500, problem="the receiver answered with 500")
    page = visit.get(f"/inspections/{row.id}")
    assert "after 1 try" in page.text
    assert "status 500" in page.text
    assert "The next is due on" in page.text
    assert _again(visit, row).location.endswith(f"/inspections/{row.id}#callback")
    _tried(store, status=204, taken=True)
    assert "It was taken, after 2 tries" in visit.get(f"/inspections/{row.id}").text
    assert _again(visit, row).status_code == 303
    call = store.callbacks.of_inspection(row.id)
    assert call is not None
    assert (call.state, call.attempts, call.series_from) == ("waiting", 2, 2)


def test_none_is_asked_for_by_default(visit: Visit, store: Store) -> None:
    row = _sent(visit, store, "")
    assert store.callbacks.of_inspection(row.id) is None
    assert "The call when it ends" not in visit.get(f"/inspections/{row.id}").text


@pytest.mark.parametrize(
    "url",
    ["http://127.0.0.1/", "ftp://x.example/", "https://x.example/" + "a" * 2000, "javascript:1"],
    ids=["loopback", "another scheme", "too long", "a script"],
)
def test_an_address_that_is_not_called_is_refused_and_kept_in_sight(visit: Visit, store: Store, url: str) -> None:
    answer = visit.send_book(callback_url=url)
    assert answer.status_code == 422
    assert "The address to call: " in answer.text
    assert '<details class="folded" open>' in answer.text
    assert store.rows.page(LOCAL).items == []


def test_a_link_never_says_whom_to_call(visit: Visit) -> None:
    assert visit.get(f"/?callback_url={ADDRESS}&title=Kelp").form("/inspections").values["title"] == "Kelp"
    assert "tern-island" not in visit.client.get(f"/?callback_url={ADDRESS}").text


def _secret(answer: TestResponse) -> str:
    assert (answer.status_code, answer.headers["Cache-Control"]) == (200, "no-store")
    found = re.search(r'value="(whsec_[^"]+)"', answer.text)
    assert found is not None
    return found[1].replace("&#43;", "+")


def test_the_secret_is_that_of_the_api(visit: Visit, store: Store) -> None:
    form = visit.get(f"/inspections/{_sent(visit, store).id}").form("/callback-secret")
    assert _secret(visit.submit(form)) == visit.client.get("/v1/callback-secret").json["secret"]  # type: ignore[index]
    assert visit.client.post("/callback-secret").status_code == 403  # without the form's own secret
    assert visit.client.get("/callback-secret").status_code == 405


def test_each_token_has_a_secret_of_its_own(guarded_app: Flask, store: Store) -> None:
    member, another = store.members.make("the press"), store.members.make("another")
    own, told = store.tokens.make("the desk", member.id)
    program, program_told = store.tokens.make("the program", member.id)
    theirs, _ = store.tokens.make("theirs", another.id)
    visit = Visit(guarded_app.test_client())
    visit.sign_in(told)
    page = visit.get("/tokens")
    secrets = {token.id: _secret(visit.submit(page.form(f"/{token.id}/callback-secret"))) for token in (own, program)}
    for token, bearer in ((own, told), (program, program_told)):
        asked = guarded_app.test_client().get("/v1/callback-secret", headers={"Authorization": f"Bearer {bearer}"})
        assert asked.json == {"secret": secrets[token.id]}
    form = page.form(f"/{own.id}/callback-secret")
    form.action = f"/tokens/{theirs.id}/callback-secret"
    assert visit.submit(form).status_code == 404


def test_a_token_that_does_not_manage_is_shown_no_secret(guarded_app: Flask, store: Store) -> None:
    _, told = store.tokens.make("a reader", store.members.make("the press").id, scopes=frozenset({"read", "submit"}))
    visit = Visit(guarded_app.test_client())
    visit.sign_in(told)
    form = visit.get("/").form("/inspections")
    form.action = "/callback-secret"
    assert visit.submit(form).status_code == 403
