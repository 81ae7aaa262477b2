"""What strangers send on purpose, at every address of the app: each is refused in words, none is a fault, nothing that
they wrote acts on a page, and every answer forbids the browser what it does not need.

Headers: Content Security Policy and Referrer Policy (W3C), `X-Content-Type-Options` (Fetch). Numbers too long for
Python to read: https://docs.python.org/3/library/stdtypes.html#integer-string-conversion-length-limitation.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from urllib.parse import quote

import pytest
from flask import Flask
from sqlalchemy import Engine, event
from werkzeug.routing import Rule
from werkzeug.test import TestResponse

from service.app import create_app
from tests.api.test_isolation import Neighbours, _address, neighbours
from worker.settings import Settings
from worker.store import Member, NewArrival, NewTitle, Store

__all__ = ["neighbours"]

MARK = "<svg onload=alert(1)>\"'`{{7*7}}"
DIGITS = "9" * 5_000
NOT_SO_FEW = "0" * 8 + "19999"
"""A small number to whoever looks at its first digits."""

ODD_HEADERS = [
    ("Origin", "http://["),
    ("Origin", "null"),
    ("Host", "["),
    ("Cookie", "pressworthy=.eJw.x.y; __Host-pressworthy=1"),
    ("Authorization", "Bearer \u00ff"),
    ("Accept", "text/html;q=nan, a/b;q=" + DIGITS),
    ("Range", f"bytes={DIGITS}-"),
    ("Prefer", f"wait={DIGITS}"),
    ("If-None-Match", '"' * 3_000),
    ("Content-Length", "99999999999999999999"),
    ("Content-Type", "multipart/form-data; boundary=\u00ff"),
]
FIELDS = ("days", "pages", "name", "title", "author", "printing", "expected_pages", "note", "profile", "text", "next")
SOUND = {"name": "a name", "title": "A title", "author": "An author", "profile": "ternhaven-mono"}


@pytest.fixture
def app(settings: Settings) -> Flask:
    """A service that asks for a token, and has all the time in the world."""
    return create_app(replace(settings, asks_for_token=True, most_requests=1_000_000))


@pytest.fixture
def secrets(neighbours: Neighbours, store: Store) -> dict[str, str]:
    """Of a share link and of an author's link, by their rooms."""
    row = store.rows.get(neighbours.mine["inspection"])
    assert row is not None
    _, shared = store.shares.make(row, days=3)
    _, author = store.author_links.make(neighbours.mine["title"], row.owner, days=3)
    return {"shared": shared, "author": author}


def _rules(app: Flask, method: str) -> Iterator[Rule]:
    yield from (rule for rule in app.url_map.iter_rules() if method in (rule.methods or set()))


def _reached(found: Neighbours, rule: Rule, secrets: dict[str, str]) -> str:
    """An address with the ids of its owner's things, and the secret of a link where it takes one."""
    room = rule.rule.split("/")[1]
    address = _address(rule, found.mine)
    return address.replace(f"/{room}/x", f"/{room}/{secrets[room]}", 1) if room in secrets else address


def _asked(found: Neighbours, address: str, method: str = "GET", **headers: str) -> TestResponse:
    """As its owner asks: a program by its token, a person by the cookie."""
    if address.startswith("/v1/"):
        return found.app.test_client().open(address, method=method, headers=found.bearer | headers)
    return found.browser.open(address, method=method, headers=headers)


def _is_no_fault(answer: TestResponse, *asked: object) -> None:
    """Neither a fault of the service's own, nor one that is taken for the store's; a picture may not be drawn yet."""
    assert answer.status_code != 500, asked
    assert "cannot reach what it keeps" not in answer.text, asked


def test_every_answer_forbids_what_it_does_not_need(neighbours: Neighbours, secrets: dict[str, str]) -> None:
    walked = [_reached(neighbours, rule, secrets) for rule in _rules(neighbours.app, "GET")]
    walked += [f"{room}/nowhere" for room in ("", "/v1", "/shared", "/author", "/static")]
    shown = 0
    for address in walked:
        for accept in ("text/html", "application/json"):
            answer = _asked(neighbours, address, Accept=accept)
            shown += answer.status_code == 200
            rules = [rule.split() for rule in answer.headers["Content-Security-Policy"].split(";") if rule.strip()]
            policy = {name: " ".join(values) for name, *values in rules}
            assert policy["default-src"] == policy["base-uri"] == "'none'", address
            assert policy["frame-ancestors"] in {"'none'", "'self'"}, address
            assert policy.get("script-src", "'self'") == "'self'", address
            assert answer.headers["X-Content-Type-Options"] == "nosniff", address
            assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin", address
            secret = address.startswith(("/shared/", "/author/"))
            assert answer.headers["Referrer-Policy"] == ("no-referrer" if secret else "same-origin"), address
    assert shown > len(walked)


def test_no_word_of_a_stranger_acts_on_any_page(neighbours: Neighbours, secrets: dict[str, str], store: Store) -> None:
    row = store.rows.get(neighbours.mine["inspection"])
    assert row is not None
    with store._database.write() as session:  # as if it had come past every check
        kept = session.merge(row)
        kept.file_name = kept.title = MARK
    store.titles.change(neighbours.mine["title"], row.owner, {"author": MARK, "title": MARK, "note": MARK})
    store.titles.create(row.owner, NewTitle(MARK, MARK, "ternhaven-mono", None, None, None, MARK))
    store.arrivals.note(row.owner, [NewArrival(MARK, refusal=MARK)])
    store.tokens.make(MARK, row.owner)
    query = "&".join(f"{name}={quote(MARK)}" for name in ("title", "profile", "about", "next", "against"))
    seen = 0
    for rule in _rules(neighbours.app, "GET"):
        address = _reached(neighbours, rule, secrets)
        for asked in (address, f"{address}?{query}"):
            answer = _asked(neighbours, asked, Accept="text/html")
            if answer.mimetype == "text/html":
                assert "<svg onload" not in answer.text, asked
                seen += "&lt;svg onload" in answer.text and "{{7*7}}" in answer.text
    assert seen >= 12


@pytest.mark.parametrize("method", ["GET", "POST"])
def test_no_odd_header_is_a_fault(neighbours: Neighbours, secrets: dict[str, str], method: str) -> None:
    here = neighbours.mine["inspection"]
    for address in (
        "/",
        "/inspections",
        f"/inspections/{here}/report.json",
        f"/v1/inspections/{here}/report",
        "/v1/inspections",
        f"/v1/inspections/{here}/shares",
        f"/shared/{secrets['shared']}",
        f"/author/{secrets['author']}",
        "/sign-in",
        "/static/web.css",
    ):
        for name, value in ODD_HEADERS:
            _is_no_fault(_asked(neighbours, address, method, **{name: value}), method, address, name)


def test_no_odd_value_in_a_form_is_a_fault(neighbours: Neighbours, secrets: dict[str, str]) -> None:
    for rule in _rules(neighbours.app, "POST"):
        if rule.rule.startswith("/v1/") or rule.rule.endswith(("deletion", "ending", "sign-out", "sign-in")):
            continue
        address = _reached(neighbours, rule, secrets)
        for value in ("\x00", DIGITS, NOT_SO_FEW):
            form = dict.fromkeys(FIELDS, value) | {"form_secret": neighbours.form_secret, "scope-read": "1"}
            for sound in ({}, SOUND):
                _is_no_fault(neighbours.browser.post(address, data=form | sound), rule.rule, value[:12])


def test_a_number_is_not_taken_for_its_first_digits(neighbours: Neighbours, store: Store) -> None:
    form = {"form_secret": neighbours.form_secret, "name": "for ever", "scope-read": "1", "days": NOT_SO_FEW}
    assert neighbours.browser.post("/tokens", data=form).status_code == 422
    assert "for ever" not in {token.name for token in store.tokens.of(neighbours.mine["member"])}


def test_no_odd_id_reaches_the_database(neighbours: Neighbours, store: Store) -> None:
    """PostgreSQL takes no zero in a text; asked for one, it seems to be away (the documentation's section 8.3)."""
    with store._database.write() as session:
        acting = session.get(Member, neighbours.mine["member"])
        assert acting is not None
        acting.operator = True
    told: list[str] = []

    def note(*given: object) -> None:
        told.append(str(given[3]))

    event.listen(Engine, "before_cursor_execute", note)
    asked = 0
    for kind in neighbours.mine:
        odd = neighbours.mine | {kind: "a\x00b"}
        for method in ("GET", "POST", "DELETE", "PATCH"):
            for rule in _rules(neighbours.app, method):
                if "\x00" in _address(rule, odd):
                    asked += 1
                    assert neighbours.ask(rule, method, odd).status_code in {303, 404}, (method, rule.rule)
    event.remove(Engine, "before_cursor_execute", note)
    assert asked >= 40
    assert told
    assert not [each for each in told if "\\x00" in each]


def test_the_description_is_made_once(neighbours: Neighbours, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is open to all, and takes a hundred times as long as another answer."""
    addresses = ("/openapi.json", "/reference")
    first = [_asked(neighbours, address).data for address in addresses]

    def again(_: object = None) -> None:
        raise AssertionError("it is made again")

    monkeypatch.setattr("service.api.description._schemas", again)
    monkeypatch.setattr("service.api.reference.page_of", again)
    assert [_asked(neighbours, address).data for address in addresses] == first


def test_a_cookie_that_another_house_signed_opens_nothing(neighbours: Neighbours) -> None:
    stranger = neighbours.app.test_client()
    ours, neighbours.app.secret_key = neighbours.app.secret_key, "another house's key, and as long as ours is"
    with stranger.session_transaction() as session:
        session["token"] = neighbours.theirs["token"]
    assert stranger.get("/inspections").status_code == 200
    neighbours.app.secret_key = ours
    assert stranger.get("/inspections").headers["Location"].startswith("/sign-in")
