"""A member's tokens, and the members, on pages of their own. That a secret is shown once and not kept is looked up in
the database; what a token then opens is asked of the API."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from tests.web import rows
from tests.web.visit import Form, Page, Visit
from worker.store import Scope, Store, Token
from worker.store.models import now

SignIn = Callable[..., tuple[Visit, Token]]


@pytest.fixture
def sign_in(guarded_app: Flask, store: Store) -> SignIn:
    """Signs a visitor in with a token of a member, who joins if need be."""

    def signed_in(name: str = "the reading room", *, operator: bool = False, **given: Any) -> tuple[Visit, Token]:
        member = store.members.named(name) or store.members.make(name, operator=operator)
        token, secret = store.tokens.make(f"{name}, in the browser", member.id, **given)
        visit = Visit(guarded_app.test_client())
        assert visit.sign_in(secret).status_code == 303
        return visit, token

    return signed_in


def _made(answer: TestResponse) -> str:
    """The secret that a page shows."""
    assert answer.status_code == 201, answer.text
    assert answer.headers["Cache-Control"] == "no-store"
    found = re.search(r'value="(pw_[^"]+)"', answer.text)
    assert found is not None
    return found[1]


def _make(visit: Visit, name: str = "the desk", page: str = "/tokens", **typed: Any) -> TestResponse:
    return visit.submit(visit.get(page).form("/tokens"), name=name, **typed)


def _status(app: Flask, secret: str, method: str = "GET", address: str = "/v1/inspections") -> int:
    headers = {"Authorization": f"Bearer {secret}"}
    return app.test_client().open(address, method=method, headers=headers).status_code


def test_a_token_is_made_shown_once_and_revoked(sign_in: SignIn, guarded_app: Flask, store: Store) -> None:
    visit, own = sign_in()
    secret = _made(_make(visit, **{"scope-read": "yes", "days": "30"}))
    assert _status(guarded_app, secret) == 200
    assert _status(guarded_app, secret, "POST") == 403
    page = visit.get("/tokens")
    assert secret not in page.text
    assert "the desk: read" in page.alert
    assert "last used" in page.alert
    assert "with which you have signed in" in page.alert
    (made,) = [token for token in store.tokens.of(own.member) if token.id != own.id]
    assert made.expires_at is not None
    assert abs(made.expires_at - now() - timedelta(days=30)) < timedelta(minutes=1)
    assert visit.submit(page.form(f"/tokens/{made.id}/revocation")).status_code == 303
    assert _status(guarded_app, secret) == 401
    assert "Ended" in visit.get("/tokens").alert


@pytest.mark.parametrize(
    "typed",
    [
        {},
        {"name": ""},
        {"name": "x" * 101, "scope-read": "yes"},
        {"scope-read": "yes", "days": "0"},
        {"scope-read": "yes", "days": "x"},
        {"scope-read": "yes", "days": "9999"},
        {"scope-read": "yes", "days": "9" * 400},
        {"scope-all": "yes"},
        {"scope-read": "yes", "name": "the reading room, in the browser"},
    ],
    ids=str,
)
def test_what_makes_no_token_is_said(sign_in: SignIn, store: Store, typed: dict[str, Any]) -> None:
    visit, own = sign_in()
    answer = _make(visit, **typed)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert len(store.tokens.of(own.member)) == 1


@pytest.mark.parametrize("asked", ["read", "submit"])
def test_no_token_reaches_further_than_its_makers(sign_in: SignIn, store: Store, asked: Scope) -> None:
    visit, own = sign_in(scopes=["manage"])
    page = visit.get("/tokens")
    assert f'scope-{asked}"' not in str(page.elements)
    assert _make(visit, **{f"scope-{asked}": "yes", "scope-manage": "yes"}).status_code == 422
    assert len(store.tokens.of(own.member)) == 1


@pytest.mark.parametrize(("days", "status"), [("", 422), ("6", 422), ("4", 201)])
def test_nor_does_it_outlast_it(sign_in: SignIn, days: str, status: int) -> None:
    visit, _ = sign_in(days=5)
    assert _make(visit, **{"scope-read": "yes", "days": days}).status_code == status


@pytest.mark.parametrize("scopes", [["read"], ["submit"], ["read", "submit"]])
def test_without_manage_there_is_no_such_page(sign_in: SignIn, scopes: list[Scope]) -> None:
    visit, _ = sign_in(scopes=scopes)
    assert visit.get("/tokens").status == 403
    assert "/tokens" not in visit.get("/inspections").links()


def test_anothers_token_is_neither_shown_nor_revoked(sign_in: SignIn, store: Store) -> None:
    visit, own = sign_in()
    _, theirs = sign_in("the other room")
    assert "the other room" not in visit.get("/tokens").text
    form = visit.get("/tokens").form("/tokens")
    revoke = Form(f"/tokens/{theirs.id}/revocation", "post", form.values)
    assert visit.submit(revoke).status_code == 404
    assert store.tokens.in_force(theirs.id) is not None
    assert store.tokens.in_force(own.id) is not None


def test_revoking_ones_own_signs_one_out(sign_in: SignIn) -> None:
    visit, own = sign_in()
    visit.submit(visit.get("/tokens").form(f"/tokens/{own.id}/revocation"))
    assert visit.client.get("/tokens").status_code == 303


def test_where_no_token_is_asked_for_there_are_none(visit: Visit) -> None:
    assert visit.get("/tokens").status == 404
    assert "/tokens" not in visit.get("/").links()


def test_an_operator_lets_a_member_in_and_out(sign_in: SignIn, guarded_app: Flask, store: Store) -> None:
    visit, _ = sign_in("the press", operator=True)
    assert "/members" in visit.get("/").links()
    form = visit.get("/members").form("/members")
    place = visit.submit(form, name="A. Fulmar", circle="the north").headers["Location"]
    member = store.members.named("A. Fulmar")
    assert member is not None
    assert (member.circle, member.operator, place) == ("the north", False, f"/members/{member.id}")
    secret = _made(_make(visit, "first", place, **{"scope-read": "yes", "scope-submit": "yes"}))
    row = rows.done(store, owner=member.id)
    assert _status(guarded_app, secret, address=f"/v1/inspections/{row.id}") == 200
    assert "first: read, submit" in visit.get(place).alert
    assert visit.submit(visit.get(f"{place}/ending").form("/ending")).status_code == 303
    assert _status(guarded_app, secret) == 401
    assert visit.get(place).status == 404
    assert "No longer members" in visit.get("/members").text


@pytest.mark.parametrize(
    "typed", [{"name": ""}, {"name": "x" * 101}, {"name": "a", "circle": "x" * 101}, {"name": "the press"}]
)
def test_a_name_that_cannot_be_is_refused(sign_in: SignIn, store: Store, typed: dict[str, Any]) -> None:
    visit, _ = sign_in("the press", operator=True)
    answer = visit.submit(visit.get("/members").form("/members"), **typed)
    assert answer.status_code == 422
    assert len(store.members.all()) == 1


def test_an_operator_does_not_end_its_own_membership(sign_in: SignIn, store: Store) -> None:
    visit, own = sign_in("the press", operator=True)
    answer = visit.submit(visit.get(f"/members/{own.member}/ending").form("/ending"))
    assert answer.status_code == 409
    assert store.tokens.in_force(own.id) is not None


def test_for_anybody_else_there_are_no_members(sign_in: SignIn, store: Store) -> None:
    visit, own = sign_in()
    other = store.members.make("the other room")
    form_values = visit.get("/tokens").form("/tokens").values
    for place in ("/members", f"/members/{other.id}", f"/members/{own.member}", f"/members/{other.id}/ending"):
        assert visit.get(place).status == 404
    for place in ("/members", f"/members/{other.id}/tokens", f"/members/{other.id}/ending"):
        sent = visit.submit(Form(place, "post", form_values | {"scope-read": "yes"}), name="x")
        assert sent.status_code == 404
    assert len(store.members.all()) == 2
    assert store.tokens.of(other.id) == []
    assert "/members" not in visit.get("/").links()


def test_a_members_name_is_no_key_to_its_page(sign_in: SignIn) -> None:
    visit, _ = sign_in("the press", operator=True)
    assert visit.get("/members/the press").status == 404


def test_sharing_from_the_page_of_an_inspection(sign_in: SignIn, guarded_app: Flask, store: Store) -> None:
    visit, own = sign_in()
    row = rows.done(store, owner=own.member)
    here = f"/inspections/{row.id}"
    answer = visit.submit(visit.get(here).form("/shares"), days="3")
    assert answer.status_code == 201
    assert (answer.headers["Cache-Control"], answer.headers["Referrer-Policy"]) == ("no-store", "no-referrer")
    (link,) = [given["value"] or "" for given in Page(answer).all("input") if given.get("id") == "link"]
    stranger = Visit(guarded_app.test_client())
    path = link.removeprefix("http://localhost")
    assert "The Long Mole" in stranger.get(path).text
    assert link not in visit.get(here).text
    assert visit.submit(visit.get(here).form("/withdrawal")).status_code == 303
    assert stranger.get(path).status == 404
    for days in ("0", "x", "91", "9" * 9):
        assert visit.submit(visit.get(here).form("/shares"), days=days).status_code == 422
    assert store.shares.of(row.id) == []
    waits = rows.queued(store, owner=own.member)
    form = Form(f"/inspections/{waits.id}/shares", "post", visit.get(here).form("/shares").values)
    assert visit.submit(form).status_code == 409


def test_who_may_not_share_is_not_offered_it(sign_in: SignIn, store: Store) -> None:
    visit, own = sign_in(scopes=["read", "submit"])
    row = rows.done(store, owner=own.member)
    assert not [form for form in visit.get(f"/inspections/{row.id}").forms if form.action.endswith("/shares")]
