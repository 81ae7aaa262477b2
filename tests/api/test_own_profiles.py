"""Own profiles over HTTP: conditions by RFC 9110, section 13, and RFC 6585; forms by tomllib and json."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.app import create_app
from service.own_profiles import MOST_BYTES
from tests.api import books
from tests.api.problem import check_problem
from worker.profiles import builtin_profiles, parse_profile_toml
from worker.settings import Settings
from worker.store import Store

AT = "/v1/profiles/mole-press"
TOML = "application/toml"
TO = "/v1/inspections"
MOLE = """\
id = "mole-press"   # of Tern Island
name = "Mole Press"
revision = "2026-11"
unit = "in"

[interior]
trims = [{ name = "Trade", width = "6 in", height = "9 in" }]

[interior.margins]
outside = "0.3 in"
inside = [{ pages = 160, least = "0.45 in" }, { least = "0.9 in" }]

[weights]
link-annotation = "refusal"
"""
AS_JSON = tomllib.loads(MOLE)


def put(client: FlaskClient, text: str = MOLE, at: str = AT, kind: str = TOML, **headers: str) -> Any:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return client.put(at, data=text.encode(), content_type=kind, headers=named)


class Member:
    """A program with a token of its own."""

    def __init__(self, client: FlaskClient, store: Store, name: str) -> None:
        self.client = client
        token, secret = store.tokens.make(name)
        self.owner = token.member
        self.headers = {"Authorization": f"Bearer {secret}"}

    def get(self, at: str = AT) -> Any:
        return self.client.get(at, headers=self.headers)

    def put(self, text: str = MOLE, at: str = AT, **headers: str) -> Any:
        return put(self.client, text, at, **headers, **self.headers)

    def delete(self, at: str = AT) -> Any:
        return self.client.delete(at, headers=self.headers)

    def listed(self) -> dict[str, tuple[str, str | None]]:
        found = self.get("/v1/profiles").get_json()["profiles"]
        return {it["id"]: (it["source"], it["shared"]) for it in found if it["source"] != "built-in"}


@pytest.fixture
def ada(guarded: FlaskClient, store: Store) -> Member:
    return Member(guarded, store, "ada")


@pytest.fixture
def ben(guarded: FlaskClient, store: Store) -> Member:
    return Member(guarded, store, "ben")


def test_what_is_put_as_toml_comes_back_byte_for_byte(client: FlaskClient) -> None:
    made = put(client)
    assert (made.status_code, made.headers["Location"]) == (201, AT)
    assert (made.get_json()["source"], made.get_json()["shared"]) == ("own", "private")
    as_toml = client.get(AT, headers={"Accept": TOML})
    assert as_toml.text == MOLE
    assert made.headers["ETag"] == as_toml.headers["ETag"]  # RFC 9110, 9.3.4
    assert client.get(AT).get_json()["weights"] == {"link-annotation": "refusal"}


def test_what_is_put_as_json_comes_back_as_json_and_as_toml(client: FlaskClient) -> None:
    made = put(client, json.dumps(AS_JSON), kind="application/json")
    assert made.status_code == 201
    assert "ETag" not in made.headers  # it is not kept byte for byte: RFC 9110, 9.3.4
    assert tomllib.loads(client.get(AT, headers={"Accept": TOML}).text) == AS_JSON
    shown = client.get(AT).get_json()
    assert shown["interior"]["trims"][0]["width"] == "6 in"
    assert put(client, json.dumps(shown), kind="application/json", If_Match="*").status_code == 200


@pytest.mark.parametrize("profile_id", sorted(builtin_profiles()))
def test_every_built_in_one_is_a_start_for_ones_own(client: FlaskClient, profile_id: str) -> None:
    theirs = builtin_profiles()[profile_id].model_dump(mode="json")
    for kind in (TOML, "application/json"):
        text = client.get(f"/v1/profiles/{profile_id}", headers={"Accept": kind}).text
        made = put(client, text.replace(f'"{profile_id}"', '"mine"', 1), "/v1/profiles/mine", kind)
        assert made.status_code == 201, made.text
        assert client.get("/v1/profiles/mine").get_json() == theirs | {"id": "mine"}
        as_toml = client.get("/v1/profiles/mine", headers={"Accept": TOML}).text
        assert parse_profile_toml(as_toml).model_dump(mode="json") == theirs | {"id": "mine"}
        client.delete("/v1/profiles/mine")


def test_conditions_of_a_put(client: FlaskClient) -> None:
    check_problem(put(client, If_Match='"anything"'), 412, "changed-meanwhile")
    check_problem(put(client, If_Match="*"), 412, "changed-meanwhile")
    assert put(client, If_None_Match="*").status_code == 201
    check_problem(put(client, If_None_Match="*"), 412, "changed-meanwhile")
    check_problem(put(client), 428, "condition-needed")
    tag = client.get(AT).headers["ETag"]
    check_problem(put(client, If_Match=f"W/{tag}"), 412, "changed-meanwhile")  # strongly compared: RFC 9110, 13.1.1
    changed = MOLE.replace("2026-11", "2026-12")
    assert put(client, changed, If_Match=f'"other", {tag}').status_code == 200
    check_problem(put(client, MOLE, If_Match=tag), 412, "changed-meanwhile")
    assert client.get(AT).get_json()["revision"] == "2026-12"
    assert put(client, MOLE, If_Match=client.get(AT, headers={"Accept": TOML}).headers["ETag"]).status_code == 200


def test_conditions_of_a_deletion(client: FlaskClient) -> None:
    check_problem(client.delete(AT), 404, "no-such-profile")
    put(client)
    check_problem(client.delete(AT, headers={"If-Match": '"old"'}), 412, "changed-meanwhile")
    assert client.delete(AT, headers={"If-Match": client.get(AT).headers["ETag"]}).status_code == 204
    put(client)
    assert client.delete(AT).status_code == 204
    check_problem(client.get(AT), 404, "no-such-profile")


def test_what_one_has_already_is_not_sent_again(client: FlaskClient) -> None:
    put(client)
    for at in (AT, "/v1/profiles", "/v1/profiles/ternhaven-mono"):
        for accept in ("application/json", TOML) if at != "/v1/profiles" else ("application/json",):
            headers = {"Accept": accept}
            tag = client.get(at, headers=headers).headers["ETag"]
            again = client.get(at, headers=headers | {"If-None-Match": tag})
            assert (again.status_code, again.data) == (304, b"")
            assert again.headers["ETag"] == tag
    both = {client.get(AT, headers={"Accept": accept}).headers["ETag"] for accept in ("application/json", TOML)}
    assert len(both) == 2
    before = client.get("/v1/profiles").headers["ETag"]
    put(client, at=f"{AT}?shared=circle", If_Match="*")
    assert client.get("/v1/profiles", headers={"If-None-Match": before}).status_code == 200


@pytest.mark.parametrize(
    ("text", "kind", "field", "line", "word"),
    [
        (MOLE.replace("unit", "units"), TOML, "units", 4, '"unit"'),
        (MOLE.replace('"6 in"', '"6 inches"'), TOML, "interior.trims[1].width", 7, "inches"),
        (MOLE.replace("mole-press", "other-press"), TOML, "id", 1, "as in the address"),
        (MOLE.replace("[weights]", "[weights"), TOML, "profile", 13, "TOML"),
        (json.dumps(AS_JSON | {"units": "in"}, indent=1), "application/json", "units", 30, '"unit"'),
        ("[1]", "application/json", "profile", None, "object"),
        ("{", "application/json", "profile", 1, "JSON"),
        ("", TOML, "id", None, "required"),
        ("\udcff", TOML, "profile", None, "UTF-8"),
        ("a." * 9000 + "a = 1", TOML, "profile", 1, "too many parts"),
        ("a = " + "[" * 9000, TOML, "profile", None, "nested too deeply"),
        ("a = " + "9" * 9000, TOML, "profile", None, "digits"),
    ],
)
def test_what_is_wrong_is_named_by_key_and_line(
    client: FlaskClient, text: str, kind: str, field: str, line: int | None, word: str
) -> None:
    answer = client.put(AT, data=text.encode("utf-8", "surrogateescape"), content_type=kind)
    told = check_problem(answer, 422, "profile-not-sound")
    errors = told["errors"]
    assert isinstance(errors, list)
    assert (errors[0]["field"], errors[0]["line"]) == (field, line), errors
    assert word in errors[0]["detail"]
    check_problem(client.get(AT), 404, "no-such-profile")


def test_a_body_of_another_kind_or_too_long_is_refused(client: FlaskClient) -> None:
    answer = put(client, kind="text/plain")
    check_problem(answer, 415, "unsupported-media-type")
    assert TOML in answer.headers["Accept"]
    check_problem(put(client, MOLE + "#" * MOST_BYTES), 413, "too-large")
    assert client.get("/v1/limits").get_json()["profile_bytes"] == MOST_BYTES


def test_a_built_in_one_is_read_only(client: FlaskClient) -> None:
    mine = MOLE.replace("mole-press", "ternhaven-mono")
    for answer in (put(client, mine, "/v1/profiles/ternhaven-mono"), client.delete("/v1/profiles/ternhaven-mono")):
        check_problem(answer, 403, "profile-built-in")


def test_nobody_keeps_more_than_so_many(settings: Settings) -> None:
    client = create_app(replace(settings, most_profiles=2)).test_client()
    for number in range(3):
        answer = put(client, MOLE.replace("mole-press", f"press-{number}"), f"/v1/profiles/press-{number}")
        assert answer.status_code == (201 if number < 2 else 409)
    assert check_problem(answer, 409, "too-many-profiles")["limit"] == {"profiles": 2}


def test_a_private_one_is_as_good_as_none_to_others(ada: Member, ben: Member) -> None:
    nothing = [ben.get(), ben.delete()]
    ada.put()
    for before, after in zip(nothing, [ben.get(), ben.delete()], strict=True):
        assert (before.status_code, before.json) == (after.status_code, after.json) == (404, before.json)
    assert ben.listed() == {}
    assert ben.put(MOLE.replace("Mole Press", "Ben's")).status_code == 201
    assert (ada.get().get_json()["name"], ben.get().get_json()["name"]) == ("Mole Press", "Ben's")


def test_a_shared_one_is_the_circles_to_judge_by_and_its_owners_to_change(
    ada: Member, ben: Member, store: Store
) -> None:
    ada.put(at=f"{AT}?shared=circle")
    assert (ada.listed(), ben.listed()) == (
        {"mole-press": ("own", "circle")},
        {"mole-press": ("circle", "circle")},
    )
    check_problem(ben.put(If_Match="*"), 403, "profile-of-another")
    check_problem(ben.delete(), 403, "profile-of-another")
    row = books.done(store, owner=ben.owner)
    judged = ben.client.post(f"{TO}/{row.id}/judgements", json={"profile": "mole-press"}, headers=ben.headers)
    assert judged.get_json()["report"]["profile"] == {"id": "mole-press", "name": "Mole Press", "revision": "2026-11"}
    assert ada.put(MOLE.replace("2026-11", "2026-12"), If_Match="*").get_json()["shared"] == "circle"  # as it was
    assert ben.get().get_json()["revision"] == "2026-12"
    ada.put(at=f"{AT}?shared=private", If_Match="*")
    assert ben.get().status_code == 404


def test_an_id_is_shared_once_and_ones_own_goes_first(ada: Member, ben: Member) -> None:
    ben.put(MOLE.replace("Mole Press", "Ben's"))
    assert ada.put(at=f"{AT}?shared=circle").status_code == 201
    check_problem(ben.put(at=f"{AT}?shared=circle", If_Match="*"), 409, "profile-id-taken")
    assert ben.get().get_json()["name"] == "Ben's"
    assert ben.delete().status_code == 204
    assert ben.get().get_json()["name"] == "Mole Press"


def test_an_upload_is_judged_by_ones_own(client: FlaskClient, store: Store) -> None:
    put(client)
    sent = client.post(f"{TO}?profile=mole-press", data=books.book(), content_type="application/pdf")
    assert sent.status_code == 202
    row = store.rows.get(sent.get_json()["id"])
    assert row is not None
    assert json.loads(row.profile_json)["name"] == "Mole Press"
    listed = client.get(f"{TO}?profile=mole-press").get_json()["inspections"]
    assert [it["id"] for it in listed] == [row.id]


def test_a_report_keeps_the_revision_that_it_was_judged_by(client: FlaskClient, store: Store) -> None:
    put(client)
    done = books.done(store)
    judged = client.post(f"{TO}/{done.id}/judgements", json={"profile": "mole-press"}).get_json()
    waits = client.post(f"{TO}?profile=mole-press", data=books.book(), content_type="application/pdf").get_json()
    put(client, MOLE.replace("2026-11", "2027-01").replace('"0.3 in"', '"2 in"'), If_Match="*")
    client.delete(AT)
    report = client.get(f"{TO}/{judged['id']}/report.json").get_json()
    assert report["profile"]["revision"] == "2026-11"
    assert [it["verdict"] for it in client.get(TO).get_json()["inspections"] if it["id"] == judged["id"]] == [
        report["verdict"]
    ]
    row = store.rows.get(waits["id"])
    assert row is not None
    assert json.loads(row.profile_json)["revision"] == "2026-11"
    answer = client.post(f"{TO}/{done.id}/judgements", json={"profile": "mole-press"})
    check_problem(answer, 422, "unknown-profile")
