"""Signing in by a token, where one is asked for. Cookie attributes: RFC 6265 and its revision (SameSite, prefixes)."""

from __future__ import annotations

import base64
import zlib

import pytest
from flask import Flask
from flask.testing import FlaskClient

from service.web.attempts import MOST
from tests.web import rows
from tests.web.visit import Page, Visit
from worker.store import Store

PAGES = ("/", "/inspections", "/inspections/ins_x", "/inspections/ins_x/report", "/inspections/ins_x/progress")


@pytest.fixture
def visit(guarded_app: Flask) -> Visit:
    return Visit(guarded_app.test_client())


@pytest.fixture
def secret(store: Store) -> str:
    return store.tokens.make("the reading room")[1]


def _cookie(client: FlaskClient) -> str:
    cookie = client.get_cookie("pressworthy")
    assert cookie is not None
    return cookie.value


@pytest.mark.parametrize("address", PAGES)
def test_every_page_asks_to_sign_in_and_leads_back(visit: Visit, secret: str, address: str) -> None:
    answer = visit.client.get(address)
    assert answer.status_code == 303
    sign_in = Page(visit.client.get(answer.location))
    led = visit.submit(sign_in.form("/sign-in"), token=secret)
    assert (led.status_code, led.location) == (303, address)


def test_the_cookie_is_kept_from_scripts_and_from_other_sites(visit: Visit, secret: str) -> None:
    answer = visit.sign_in(secret)
    (cookie,) = answer.headers.getlist("Set-Cookie")
    parts = {part.strip().lower() for part in cookie.split(";")}
    assert {"httponly", "samesite=strict", "path=/"} <= parts
    assert "secure" not in parts  # by plain http no browser would keep it
    assert "domain" not in cookie.lower()


def test_by_https_the_cookie_is_secure_and_bound_to_the_host(guarded_app: Flask, secret: str) -> None:
    client = guarded_app.test_client()
    form = Page(client.get("/sign-in", base_url="https://press.example")).form("/sign-in")
    answer = client.post(
        form.action, data=form.values | {"token": secret}, base_url="https://press.example", headers={}
    )
    (cookie,) = answer.headers.getlist("Set-Cookie")
    assert cookie.startswith("__Host-pressworthy=")
    assert "secure" in {part.strip().lower() for part in cookie.split(";")}


def test_the_token_is_nowhere_in_the_cookie_or_the_pages(visit: Visit, secret: str) -> None:
    visit.sign_in(secret)
    value = _cookie(visit.client)
    payload = value.lstrip(".").split(".")[0]
    raw = base64.urlsafe_b64decode(payload + "=" * (-len(payload) % 4))
    told = zlib.decompress(raw) if value.startswith(".") else raw
    assert b"tok_" in told  # its id, which opens nothing
    assert secret not in value
    assert secret.encode() not in told
    assert secret not in visit.get("/").text


def test_a_changed_cookie_opens_nothing(visit: Visit, secret: str) -> None:
    visit.sign_in(secret)
    value = _cookie(visit.client)
    for forged in (value[:-4] + "AAAA", "x" + value, value.split(".")[0], "tok_1"):
        visit.client.set_cookie("pressworthy", forged)
        assert visit.client.get("/").status_code == 303
    visit.client.set_cookie("pressworthy", value)
    assert visit.client.get("/").status_code == 200


@pytest.mark.parametrize("wrong", ["", "wrong", "pw_" + "A" * 43, "\u202e", "x" * 10_000])
def test_a_wrong_token_is_one_clear_line(visit: Visit, secret: str, wrong: str) -> None:
    answer = visit.sign_in(wrong)
    page = Page(answer)
    assert page.status == 403
    assert "not known here, or its force has ended" in page.text
    assert visit.client.get("/").status_code == 303


def test_revoking_a_token_ends_its_visits_at_once(visit: Visit, store: Store, secret: str) -> None:
    visit.sign_in(secret)
    assert visit.client.get("/").status_code == 200
    assert store.tokens.revoke("the reading room")
    assert visit.client.get("/").status_code == 303


def test_signing_out(visit: Visit, secret: str) -> None:
    visit.sign_in(secret)
    visit.submit(visit.get("/").form("/sign-out"))
    assert visit.client.get("/inspections").status_code == 303


def test_nothing_of_the_visit_before_is_carried_into_a_sign_in(visit: Visit, secret: str) -> None:
    before = visit.get("/sign-in").form("/sign-in").values
    visit.sign_in(secret)
    after = visit.get("/").form("/sign-out").values
    assert before["form_secret"] != after["form_secret"]


def test_tries_are_bounded_and_told_when_to_come_back(visit: Visit, secret: str) -> None:
    for _ in range(MOST):
        assert visit.sign_in("wrong").status_code == 403
    answer = visit.sign_in(secret)
    assert answer.status_code == 429
    assert 1 <= int(answer.headers["Retry-After"]) <= 60


@pytest.mark.parametrize(
    "onward",
    [
        "https://elsewhere.example/",
        "//elsewhere.example/",
        "/\\elsewhere.example/",
        "\\\\elsewhere.example",
        "javascript:alert(1)",
        "/%09/elsewhere.example",
        "/\t/elsewhere.example",
        "//[",
        "http://[",
        "elsewhere",
        "",
    ],
)
def test_signing_in_leads_to_our_own_pages_alone(visit: Visit, secret: str, onward: str) -> None:
    form = visit.get("/sign-in").form("/sign-in")
    form.values["next"] = onward
    location = visit.submit(form, token=secret).location
    assert location.startswith("/")
    assert not location.startswith(("//", "/\\", "/\t"))


def test_one_sees_only_ones_own(visit: Visit, store: Store, secret: str) -> None:
    mine, other = store.tokens.all()[0], store.tokens.make("the press room")[0]
    visit.sign_in(secret)
    theirs, ours = rows.done(store, "Theirs", owner=other.member), rows.done(store, "Ours", owner=mine.member)
    shelf = visit.get("/inspections")
    assert "Ours" in shelf.text
    assert "Theirs" not in shelf.text
    for part in ("", "/report", "/report.json", "/measurements.json", "/pages/3.png", "/progress", "/deletion"):
        assert visit.client.get(f"/inspections/{theirs.id}{part}").status_code == 404, part
    for part, form in (("", "judgements"), ("/deletion", "deletion")):
        sent = visit.get(f"/inspections/{ours.id}{part}").form(f"/{form}")
        sent.action = sent.action.replace(ours.id, theirs.id)
        assert visit.submit(sent, profile="ternhaven-mono").status_code == 404, form
    assert store.rows.get(theirs.id) is not None


def test_a_link_on_another_site_does_not_sign_one_out(visit: Visit, secret: str) -> None:
    """A browser keeps a strict cookie back on the way in; the page then leads to itself, and the cookie comes along."""
    visit.sign_in(secret)
    value = _cookie(visit.client)
    visit.client.delete_cookie("pressworthy")
    arrival = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Dest": "document"}
    answer = visit.client.get("/inspections", headers=arrival)
    assert answer.status_code == 200
    assert not answer.headers.getlist("Set-Cookie")
    assert {"http-equiv": "refresh", "content": "0"} in Page(answer).all("meta")
    visit.client.set_cookie("pressworthy", value)
    assert visit.client.get("/inspections").status_code == 200


def test_the_cookie_opens_no_call_of_the_api(visit: Visit, secret: str) -> None:
    """A call carries its token; what a browser sends by itself is not enough for one."""
    visit.sign_in(secret)
    assert visit.client.get("/v1/inspections").status_code == 401
    assert visit.client.get("/v1/inspections", headers={"Authorization": f"Bearer {secret}"}).status_code == 200


def test_where_no_token_is_asked_for_nobody_signs_in(app: Flask) -> None:
    client = app.test_client()
    assert client.get("/").status_code == 200
    assert client.get("/sign-in").location == "/"


def test_a_page_offers_what_the_token_may_do(visit: Visit, store: Store) -> None:
    member = store.members.make("the reading room").id
    row = rows.done(store, owner=member)
    place = f"/inspections/{row.id}"
    _, reads = store.tokens.make("reads", member, scopes=["read"])
    _, submits = store.tokens.make("submits", member, scopes=["read", "submit"])
    _, whole = store.tokens.make("whole", member)
    for secret, judges, deletes in ((reads, False, False), (submits, True, False), (whole, True, True)):
        visit.client.delete_cookie("pressworthy")
        visit.sign_in(secret)
        page = visit.get(place)
        assert any(form.action.endswith("/judgements") for form in page.forms) == judges
        assert (f"{place}/deletion" in page.links()) == deletes


def test_what_is_not_offered_is_refused(visit: Visit, store: Store) -> None:
    member = store.members.make("the reading room").id
    row = rows.done(store, owner=member)
    _, whole = store.tokens.make("whole", member)
    visit.sign_in(whole)
    judging = visit.get(f"/inspections/{row.id}").form("/judgements")
    deleting = visit.get(f"/inspections/{row.id}/deletion").form("/deletion")
    token, _ = store.tokens.make("reads", member, scopes=["read"])
    with visit.client.session_transaction() as session:  # the same browser, its forms and all
        session["token"] = token.id
    for form in (judging, deleting):
        refused = visit.submit(form, profile="ternhaven-mono")
        assert refused.status_code == 403
        assert "scope" in refused.get_data(as_text=True)
    assert visit.client.get(f"/inspections/{row.id}/deletion").status_code == 403
    assert visit.client.get(f"/inspections/{row.id}").status_code == 200
    assert [each.id for each in store.rows.page(member).items] == [row.id]
