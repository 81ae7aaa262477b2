"""Every address with an id in it, as another member: the answer is the one for an id that never existed.

The app's own map of addresses is walked, so a new one is looked at as soon as it is there; one whose parameter is of a
kind that is not known here fails until it is said what it is. "The same answer" is the same status, headers and body
(RFC 9110), the id apart; and the same statements reach the database in the same order, so that the time taken tells
nothing either.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import Engine, event
from werkzeug.routing import Rule
from werkzeug.test import TestResponse

from service.access import SAFE_METHODS
from service.app import create_app
from tests.api import books
from worker.profiles import builtin_profiles, profile_toml
from worker.settings import Settings
from worker.store import (
    SCOPES,
    Inspection,
    NewArrival,
    NewProfile,
    NewTitle,
    Scope,
    Store,
    Token,
    asked_for,
    new_inspection_id,
    proof_key,
)
from worker.store.models import new_id

OPEN = "open to all, or told from a secret and not from an id"
FIXED = "no id: a place within something that has one"

PARAMETERS: dict[tuple[str, str], str] = {
    ("/v1/inspections/", "id"): "inspection",
    ("/v1/inspections/", "share"): "share",
    ("/v1/inspections/", "page"): FIXED,
    ("/inspections/", "inspection_id"): "inspection",
    ("/inspections/", "share_id"): "share",
    ("/inspections/", "page"): FIXED,
    ("/tokens/", "token_id"): "token",
    ("/members/", "member_id"): "member",
    ("/v1/inspections/", "delivery"): "delivery",
    ("/v1/titles/", "id"): "title",
    ("/v1/titles/", "link"): "link",
    ("/v1/titles/", "number"): FIXED,
    ("/titles/", "title_id"): "title",
    ("/titles/", "link_id"): "link",
    ("/titles/", "number"): FIXED,
    ("/take-in/", "delivery_id"): "arrivals",
    ("/v1/profiles/", "id"): "profile",
    ("/printers/", "profile_id"): "profile",
    ("/author/", "secret"): OPEN,
    ("/author/", "number"): OPEN,
    ("/problems/", "slug"): OPEN,
    ("/shared/", "secret"): OPEN,
    ("/shared/", "rest"): OPEN,
    ("/shared/", "page"): OPEN,
    ("/static/", "filename"): OPEN,
}
"""What each parameter is, by the room that it stands in."""

MAKES = {("PUT", "/v1/profiles/<id>")}
"""What is made there under an id of one's own choice, whoever else has one of that id."""

BODIES: dict[tuple[str, str], dict[str, object]] = {
    ("POST", "/v1/titles/<id>/pass"): {"sha256": "a" * 64},
    ("PATCH", "/v1/titles/<id>"): {"note": "A second look."},
    ("POST", "/v1/titles/<id>/links"): {"days": 1},
}
"""What is sent in good faith where it is not a printer or a number of days."""

NOT_TO_SAY = {"Date", "X-Request-Id", "X-RateLimit-Remaining", "X-RateLimit-Reset"}
OPEN_API = {"/v1/health", "/v1/ready", "/v1/limits"}
OPEN_PAGES = {"/sign-in", "/sign-out"}
CARRY_FILES = {"/inspections": 422, "/take-in": 403, "/titles/<title_id>/submissions": 422}
"""A form with a file, and how it is refused without one: some are taken in before they are known to be ours."""


Told = tuple[int, str, list[tuple[str, str]]]
"""Status, body and headers."""


@dataclass
class Neighbours:
    """A service with a member who has one of everything, and another who looks for it."""

    app: Flask
    store: Store
    theirs: dict[str, str]
    mine: dict[str, str]
    never: dict[str, str]
    bearer: dict[str, str]
    browser: FlaskClient
    form_secret: str

    def ask(self, rule: Rule, method: str, ids: dict[str, str]) -> TestResponse:
        """Call an address with these ids, with all that a caller in good faith would bring."""
        address = _address(rule, ids)
        if rule.rule.startswith("/v1/"):
            if rule.rule.endswith("/submissions") and method == "POST":
                return self.app.test_client().post(
                    address, headers=self.bearer, data=books.book(), content_type="application/pdf"
                )
            given = BODIES.get((method, rule.rule), {"profile": "ternhaven-mono", "days": 1})
            body = None if method in SAFE_METHODS else given
            return self.app.test_client().open(address, method=method, headers=self.bearer, json=body)
        data = None if method in SAFE_METHODS else {"form_secret": self.form_secret, "profile": "ternhaven-mono"}
        return self.browser.open(address, method=method, data=data)


@pytest.fixture
def app(settings: Settings) -> Flask:
    return create_app(replace(settings, asks_for_token=True))


@pytest.fixture
def neighbours(app: Flask, store: Store) -> Neighbours:
    (them, _), (me, secret) = store.tokens.make("them"), store.tokens.make("me")
    browser, form_secret = _signed_in(app, secret)
    ids = {}
    for token in (them, me):
        row = books.done(store, owner=token.member)
        store.bytes.write(proof_key(row.id), b"%PDF- a proof")
        share, _ = store.shares.make(row, days=3)
        ids[token.id] = {"inspection": row.id, "share": share.id, "token": token.id, "member": token.member}
        ids[token.id] |= _at_the_desk(store, token, row) | {
            "delivery": _called(store, row),
            "profile": _printer(store, token),
        }
    never = {
        "inspection": new_inspection_id(),
        "share": new_id("shr_"),
        "token": new_id("tok_"),
        "member": new_id("mem_"),
        "title": new_id("tit_"),
        "link": new_id("lnk_"),
        "arrivals": new_id("del_"),
        "delivery": new_id("dlv_"),
        "profile": "a-press-of-nobody",
    }
    bearer = {"Authorization": f"Bearer {secret}"}
    return Neighbours(app, store, ids[them.id], ids[me.id], never, bearer, browser, form_secret)


def _at_the_desk(store: Store, token: Token, row: Inspection) -> dict[str, str]:
    title = store.titles.create(token.member, NewTitle("Maud Kittering", "The Salt Road", "ternhaven-mono"))
    link, _ = store.author_links.make(title.id, token.member, days=30)
    store.arrivals.note(token.member, [NewArrival("salt.pdf", inspection_id=row.id)])
    (arrival,) = store.arrivals.without_title(token.member)
    return {"title": title.id, "link": link.id, "arrivals": arrival.delivery}


def _called(store: Store, row: Inspection) -> str:
    """The callback of one more inspection, as its owner asked for it."""
    called = asked_for(row.id, owner=row.owner, signer="tok", key_mark="k", url="https://desk.tern-island.example/in")
    with store._database.write() as session:
        session.add(called)
    return called.id


def _printer(store: Store, token: Token) -> str:
    name = f"press-of-{token.name}"
    text = profile_toml("ternhaven-mono").replace('"ternhaven-mono"', f'"{name}"')
    profile = builtin_profiles()["ternhaven-mono"].model_copy(update={"id": name})
    store.profiles.put(
        NewProfile(token.member, name, None, text, profile.model_dump_json()), most=9, agreed=lambda _: None
    )
    return name


def _signed_in(app: Flask, secret: str) -> tuple[FlaskClient, str]:
    """A browser in which a token has been pasted, and what its forms bring back."""
    browser = app.test_client()

    def brings() -> str:
        found = re.search(r'name="form_secret" value="([^"]+)"', browser.get("/sign-in", follow_redirects=True).text)
        assert found is not None
        return found[1]

    browser.post("/sign-in", data={"form_secret": brings(), "token": secret})
    with browser.session_transaction() as session:
        session["form"] = "as a page would have it"
    return browser, "as a page would have it"


def _kind(rule: Rule, argument: str) -> str:
    found = [kind for (room, name), kind in PARAMETERS.items() if rule.rule.startswith(room) and name == argument]
    assert found, f"say in PARAMETERS what <{argument}> of {rule.rule} is"
    return found[0]


def _address(rule: Rule, ids: dict[str, str]) -> str:
    address = re.sub(r"<int:\w+>", "1", rule.rule)
    return re.sub(r"<(?:\w+:)?(\w+)>", lambda found: ids.get(_kind(rule, found[1]), "x"), address)


def _with_ids(app: Flask) -> list[tuple[Rule, str, list[str]]]:
    """Every address with ids of somebody's things in it, each method, and the kinds of the ids."""
    found = []
    for rule in app.url_map.iter_rules():
        kinds = [_kind(rule, argument) for argument in sorted(rule.arguments, key=rule.rule.index)]
        ids = [kind for kind in kinds if kind not in {OPEN, FIXED}]
        if ids:
            found += [(rule, method, ids) for method in sorted((rule.methods or set()) - {"OPTIONS"})]
    return found


def _told(answer: TestResponse, ids: dict[str, str]) -> Told:
    """All that an answer tells, with a word for each id that the question named."""

    def without(text: str) -> str:
        for kind, each in ids.items():
            text = text.replace(each, f"<{kind}>")
        return text

    headers = sorted((name, without(value)) for name, value in answer.headers if name not in NOT_TO_SAY)
    return answer.status_code, without(answer.text), headers


@contextmanager
def _statements() -> Iterator[list[str]]:
    """The statements that reach any database meanwhile."""
    seen: list[str] = []

    def note(*given: object) -> None:
        seen.append(str(given[2]))

    event.listen(Engine, "before_cursor_execute", note)
    try:
        yield seen
    finally:
        event.remove(Engine, "before_cursor_execute", note)


def _looked_for(neighbours: Neighbours, rule: Rule, method: str, ids: dict[str, str]) -> tuple[Told, list[str]]:
    with _statements() as seen:
        told = _told(neighbours.ask(rule, method, ids), ids)
    return told, seen


def test_anothers_things_are_answered_as_things_that_never_were(neighbours: Neighbours) -> None:
    walked = _with_ids(neighbours.app)
    assert len(walked) >= 35
    for rule, method, _ in walked:
        theirs, seen = _looked_for(neighbours, rule, method, neighbours.theirs)
        never, seen_for_never = _looked_for(neighbours, rule, method, neighbours.never)
        assert theirs == never, (method, rule.rule)
        assert theirs[0] == 404 or (method, rule.rule) in MAKES, (method, rule.rule)
        assert seen == seen_for_never, (method, rule.rule)
    assert neighbours.store.rows.get(neighbours.theirs["inspection"]) is not None
    assert [each.id for each in neighbours.store.shares.of(neighbours.theirs["inspection"])] == [
        neighbours.theirs["share"]
    ]
    assert neighbours.store.tokens.in_force(neighbours.theirs["token"]) is not None


def test_nor_is_anything_of_anothers_found_through_ones_own(neighbours: Neighbours) -> None:
    """One's own inspection, with the id of a thing that belongs to another's."""
    walked = [each for each in _with_ids(neighbours.app) if len(each[2]) > 1]
    assert len(walked) >= 4
    for rule, method, kinds in walked:
        within = {kind for kind in kinds if kind not in {"inspection", "title"}}
        mixed = [
            neighbours.mine | {kind: ids[kind] for kind in within} for ids in (neighbours.theirs, neighbours.never)
        ]
        theirs, never = (_looked_for(neighbours, rule, method, ids) for ids in mixed)
        assert theirs[0] == never[0], (method, rule.rule)
    assert [each.id for each in neighbours.store.shares.of(neighbours.theirs["inspection"])] == [
        neighbours.theirs["share"]
    ]


@pytest.mark.parametrize(
    "guessed", ["x", "INS", "ins_", "ins_" + "a" * 25, "ins_" + "a" * 27, "a' OR '1'='1", "é" * 26, "x" * 4000]
)
def test_what_can_be_no_id_is_answered_alike(neighbours: Neighbours, guessed: str) -> None:
    for rule, method, _ in _with_ids(neighbours.app):
        odd = dict.fromkeys(neighbours.never, guessed)
        if (method, rule.rule) not in MAKES:
            assert _looked_for(neighbours, rule, method, odd)[0][:1] == (404,), (method, rule.rule)


def test_the_owner_is_answered_otherwise(neighbours: Neighbours) -> None:
    """Or the walk above would prove nothing: what it asks is there for whoever has it."""
    found = [
        (rule.rule, method)
        for rule, method, kinds in _with_ids(neighbours.app)
        if method == "GET"
        and "member" not in kinds
        and neighbours.ask(rule, method, neighbours.mine).status_code == 200
    ]
    assert len(found) >= 12


def _needed(app: Flask, rule: Rule, method: str) -> Scope:
    """As the brief on tokens has it: to look takes `read`, to send `submit`; views may be marked with another."""
    by_method: Scope = "read" if method in SAFE_METHODS else "submit"
    return getattr(app.view_functions[rule.endpoint], "scope", by_method)


def _guarded(app: Flask, *, api: bool) -> list[tuple[Rule, str]]:
    rooms = ("/problems/", "/static/", "/shared/", "/author/", "/openapi.json", "/reference")
    return [
        (rule, method)
        for rule in app.url_map.iter_rules()
        for method in sorted((rule.methods or set()) - {"OPTIONS"})
        if rule.rule.startswith("/v1/") == api and not rule.rule.startswith(rooms)
        if rule.rule not in OPEN_API | OPEN_PAGES
    ]


@pytest.mark.parametrize("api", [True, False], ids=["api", "pages"])
@pytest.mark.parametrize("held", ["nothing", "all the others"])
def test_every_address_is_shut_to_a_token_without_its_scope(neighbours: Neighbours, api: bool, held: str) -> None:
    kinds = [()] if held == "nothing" else [tuple(each for each in SCOPES if each != lacks) for lacks in SCOPES]
    walked = _guarded(neighbours.app, api=api)
    assert len(walked) >= 20
    for number, scopes in enumerate(kinds):
        _, secret = neighbours.store.tokens.make(f"limited {number}", neighbours.mine["member"], scopes=scopes)
        browser, form_secret = _signed_in(neighbours.app, secret)
        caller = replace(
            neighbours, bearer={"Authorization": f"Bearer {secret}"}, browser=browser, form_secret=form_secret
        )
        for rule, method in walked:
            if _needed(neighbours.app, rule, method) not in scopes:
                assert caller.ask(rule, method, neighbours.mine).status_code == 403, (method, rule.rule, scopes)
    assert neighbours.store.rows.get(neighbours.mine["inspection"]) is not None
    assert len(neighbours.store.rows.page(neighbours.mine["member"]).items) == 1


def test_what_deletes_and_what_shares_takes_manage(app: Flask) -> None:
    manages = {
        (method, rule.rule)
        for rule in app.url_map.iter_rules()
        for method in rule.methods or set()
        if _needed(app, rule, method) == "manage"
    }
    asked = [(method, rule.rule) for rule in app.url_map.iter_rules() for method in rule.methods or set()]
    for method, rule in asked:
        changes_the_house = method in {"DELETE", "PUT", "PATCH"} or re.search(
            r"/(deletion|shares|links|withdrawal)$", rule
        )
        if changes_the_house and method not in SAFE_METHODS:
            assert (method, rule) in manages, (method, rule)
    assert {("GET", "/tokens"), ("POST", "/tokens"), ("GET", "/members"), ("POST", "/members")} <= manages


@pytest.mark.parametrize("brought", [None, "", "guessed", "é" * 40])
def test_every_form_is_guarded(neighbours: Neighbours, brought: str | None) -> None:
    forms = [rule for rule, method in _guarded(neighbours.app, api=False) if method == "POST"]
    forms += [
        rule
        for rule in neighbours.app.url_map.iter_rules()
        if rule.rule in OPEN_PAGES and "POST" in (rule.methods or set())
    ]
    assert len(forms) >= 10
    data = {"profile": "ternhaven-mono"} | ({} if brought is None else {"form_secret": brought})
    for rule in forms:
        carries_a_file = rule.rule in CARRY_FILES
        kind = "multipart/form-data" if carries_a_file else None
        answer = neighbours.browser.post(_address(rule, neighbours.mine), data=data, content_type=kind)
        assert answer.status_code == CARRY_FILES.get(rule.rule, 403), rule.rule
        elsewhere = neighbours.browser.post(
            _address(rule, neighbours.mine),
            data=data | {"form_secret": neighbours.form_secret},
            headers={"Sec-Fetch-Site": "cross-site"},
        )
        assert elsewhere.status_code == 403, rule.rule
    assert neighbours.store.rows.get(neighbours.mine["inspection"]) is not None
    assert len(neighbours.store.members.all()) == 2
