"""Printers of one's own on the pages: kept, changed, deleted, what is wrong said by key and line; no script needed."""

from __future__ import annotations

import json
import re
import tomllib
from io import BytesIO
from typing import Any

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from service.own_profiles import MOST_BYTES
from tests.api.test_own_profiles import MOLE
from tests.needs import needs_chromium, needs_module
from tests.web import rows
from tests.web.visit import Page, Visit
from worker.profiles import builtin_profiles
from worker.store import NewProfile, Store

AT = "/printers/mole-press"


def send(
    visit: Visit, at: str = "/printers/new", file: tuple[BytesIO, str] | None = None, **typed: Any
) -> TestResponse:
    """Fill in the form of that page and send it."""
    form = visit.get(at).form("/printers")
    return visit.submit(form, file=file or (BytesIO(b""), ""), **typed)


def kept(store: Store, profile_id: str = "mole-press", owner: str = "local") -> str | None:
    row = store.profiles.own(profile_id, owner)
    return None if row is None else row.toml


def said(answer: TestResponse) -> str:
    return " ".join(Page(answer).text.split())


def test_every_printer_is_listed_and_can_be_read(visit: Visit) -> None:
    page = visit.get("/printers")
    for profile in builtin_profiles().values():
        assert profile.name in page.text
        assert f"/printers/{profile.id}" in page.links()
        shown = visit.get(f"/printers/{profile.id}")
        assert f'id = "{profile.id}"' in shown.text
        assert f"/printers/new?like={profile.id}" in shown.links()


def test_one_is_kept_chosen_changed_and_deleted(visit: Visit, store: Store) -> None:
    made = send(visit, text=MOLE.replace("\n", "\r\n"))  # as browsers send a text of several lines
    assert (made.status_code, made.location) == (303, AT)
    assert kept(store) == MOLE
    assert visit.send_book(profile="mole-press").status_code == 303
    assert [row.profile_id for row in store.rows.page("local").items] == ["mole-press"]
    for page in (visit.get("/"), visit.get("/inspections"), visit.get("/printers")):
        assert "Mole Press" in page.text
    changed = send(visit, AT, text=MOLE.replace("Mole Press", "Mole and Sons"), shared="circle")
    assert changed.status_code == 303
    assert "yours, shared" in visit.get("/printers").text
    assert "Mole and Sons" in visit.get("/").text
    deletion = visit.get(f"{AT}/deletion")
    assert "Mole and Sons" in deletion.text
    assert visit.submit(deletion.form(f"{AT}/deletion")).location == "/printers"
    assert kept(store) is None
    assert visit.get(AT).status == 404


def test_a_finished_book_is_judged_for_it(visit: Visit, store: Store) -> None:
    send(visit, text=MOLE)
    row = rows.done(store)
    page = visit.get(f"/inspections/{row.id}")
    assert "mole-press" in [given.get("value") for given in page.all("option")]


@pytest.mark.parametrize(("name", "text"), [("mole.toml", MOLE), ("mole.json", json.dumps(tomllib.loads(MOLE)))])
def test_a_file_takes_the_place_of_the_text(visit: Visit, store: Store, name: str, text: str) -> None:
    made = send(visit, file=(BytesIO(text.encode()), name), text="nothing")
    assert made.location == AT
    assert tomllib.loads(kept(store) or "") == tomllib.loads(MOLE)


def test_what_is_wrong_is_said_by_key_and_line_and_nothing_is_lost(visit: Visit, store: Store) -> None:
    wrong = MOLE.replace("unit =", "units =").replace('"6 in"', '"6 inches"')
    answer = send(visit, text=wrong, shared="circle")
    words = said(answer)
    assert answer.status_code == 422
    assert re.search(r'Line 4, units: Unknown key "units"; did you mean "unit"\?', words)
    assert "Line 7, interior.trims[1].width:" in words
    assert 'units = "in"' in words  # the text stands in the form
    shared = next(given for given in Page(answer).all("input") if given.get("name") == "shared")
    assert "checked" in shared
    assert kept(store) is None


@pytest.mark.parametrize(
    ("text", "status", "words"),
    [
        ("", 422, "Paste the profile"),
        ("a = " + "[" * 5000, 422, "nested too deeply"),
        ("#" * (MOST_BYTES + 1), 413, "32 kB"),
        (MOLE.replace("mole-press", "ternhaven-mono"), 403, "is built in"),
        ("{", 422, "JSON"),
        ("<script>alert(1)</script>", 422, "TOML"),
    ],
)
def test_what_cannot_be_kept_is_refused_in_the_form(
    visit: Visit, store: Store, text: str, status: int, words: str
) -> None:
    answer = send(visit, text=text)
    assert answer.status_code == status
    assert words in said(answer)
    assert all((given.get("src") or "").startswith("/static/") for given in Page(answer).all("script"))
    assert store.profiles.known_to("local", None) == []


def test_a_new_one_does_not_take_the_place_of_another(visit: Visit, store: Store) -> None:
    send(visit, text=MOLE)
    answer = send(visit, text=MOLE.replace("Mole Press", "Another"))
    assert answer.status_code == 412
    assert "of this id already" in said(answer)
    assert kept(store) == MOLE


def test_a_change_that_was_made_meanwhile_is_not_lost(visit: Visit, store: Store) -> None:
    send(visit, text=MOLE)
    form = visit.get(AT).form("/printers")
    send(visit, AT, text=MOLE.replace("Mole Press", "By somebody else"))
    answer = visit.submit(form, file=(BytesIO(b""), ""), text=MOLE.replace("Mole Press", "Late"))
    assert answer.status_code == 412
    assert "changed meanwhile" in said(answer)
    assert "By somebody else" in (kept(store) or "")


def test_one_that_is_changed_keeps_its_id(visit: Visit, store: Store) -> None:
    send(visit, text=MOLE)
    answer = send(visit, AT, text=MOLE.replace("mole-press", "other-press"))
    assert answer.status_code == 422
    assert "as in the address" in said(answer)
    assert kept(store, "other-press") is None


def test_a_new_one_starts_from_another_under_a_free_id(visit: Visit, store: Store) -> None:
    send(visit, text=MOLE.replace("mole-press", "my-printer"))
    text = visit.get("/printers/new?like=ternhaven-mono").text
    assert 'id = "my-printer-2"' in text
    assert "Ternhaven Digital" in text
    assert 'id = "my-printer-2"' in visit.get("/printers/new?like=%00").text


def test_anothers_is_seen_where_it_is_shared_and_never_changed(guarded_app: Flask, store: Store) -> None:
    visit = Visit(guarded_app.test_client())
    visit.sign_in(store.tokens.make("ada")[1])
    for profile_id, circle in (("shared-press", "house"), ("private-press", None)):
        text = MOLE.replace("mole-press", profile_id)
        profile = builtin_profiles()["ternhaven-mono"].model_copy(update={"id": profile_id, "name": profile_id})
        new = NewProfile("mem_ben", profile_id, circle, text, profile.model_dump_json())
        store.profiles.put(new, most=9, agreed=lambda _: None)
    listed = visit.get("/printers")
    assert "shared with you" in listed.text
    assert "private-press" not in listed.text
    assert visit.get("/printers/shared-press").all("textarea") == []
    assert visit.get("/printers/private-press").status == visit.get("/printers/none").status == 404
    for profile_id in ("shared-press", "private-press", "ternhaven-mono", "none"):
        assert visit.get(f"/printers/{profile_id}/deletion").status == 404
    form = visit.get("/printers/new").form("/printers")
    for profile_id in ("shared-press", "private-press", "ternhaven-mono", "none"):
        form.action = f"/printers/{profile_id}/deletion"
        assert visit.submit(form).status_code == 404
    answer = send(visit, text=MOLE.replace("mole-press", "shared-press"))
    assert answer.status_code == 403
    assert kept(store, "shared-press", "mem_ben") is not None
    assert kept(store, "private-press", "mem_ben") is not None


def test_a_forged_form_keeps_and_deletes_nothing(visit: Visit, store: Store) -> None:
    send(visit, text=MOLE)
    for at in ("/printers", f"{AT}/deletion"):
        assert visit.client.post(at, data={"text": MOLE.replace("mole-press", "forged")}).status_code == 403
    assert kept(store) == MOLE
    assert kept(store, "forged") is None


@needs_chromium
@needs_module("axe_playwright_python")
class TestInABrowser:
    """As people see it, without a script."""

    def test_a_profile_is_pasted_mended_and_kept(self, browser: Any, address: str) -> None:
        from playwright.sync_api import expect

        from tests.web.browser import looking

        with looking(browser, java_script_enabled=False) as (_, page, _witness):
            page.goto(f"{address}/printers")
            page.get_by_role("link", name="Add a printer of your own").click()
            page.get_by_label("The profile, in TOML or JSON").fill(MOLE.replace("unit =", "units ="))
            page.get_by_role("button", name="Keep it").click()
            expect(page.get_by_role("alert")).to_contain_text("Line 4, units")
            page.get_by_label("The profile, in TOML or JSON").fill(MOLE)
            page.get_by_role("button", name="Keep it").click()
            expect(page.get_by_role("heading", level=1)).to_have_text("Change a printer of your own")
            page.get_by_role("link", name="Delete this profile").click()
            page.get_by_role("button", name="Delete it").click()
            expect(page.get_by_role("heading", level=1)).to_have_text("Printers")
            expect(page.get_by_text("Mole Press")).to_have_count(0)
