"""What holds for every page: headers, nothing inline, nothing from elsewhere, hostile names shown as text, contrast.

Contrast ratios: WCAG 2.2, success criteria 1.4.3 (text, 4.5:1) and 1.4.11 (borders of controls, 3:1), by its formula.
"""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from service.web.room import blueprint
from tests.web import rows
from tests.web.visit import Page, Visit
from worker.store import Failure, Store

HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>\u202efdp.koob"
STATIC = Path(str(blueprint.static_folder))


@pytest.fixture
def addresses(store: Store) -> list[str]:
    """A page of every kind, in every state."""
    failing = rows.measuring(store, 1, 2)
    store.rows.fail(failing, Failure("limit", HOSTILE, HOSTILE, 2))
    stopped = rows.queued(store, HOSTILE, file_name=HOSTILE)
    store.rows.cancel(stopped.id)
    in_states = [rows.measuring(store, 3, 12), failing, stopped]
    in_states += [rows.queued(store, HOSTILE, file_name=HOSTILE), rows.done(store, HOSTILE, file_name=HOSTILE)]
    pages = [f"/inspections/{row.id}" for row in in_states]
    deletions = [f"{page}/deletion" for page in pages]
    named = f"/?title={HOSTILE}&pages={HOSTILE}&profile={HOSTILE}"
    return ["/", named, "/inspections", f"/inspections?title={HOSTILE}", "/inspections/ins_none", *pages, *deletions]


def test_every_page_forbids_what_it_does_not_need(visit: Visit, addresses: list[str]) -> None:
    for address in addresses:
        headers = visit.client.get(address).headers
        policy = dict(rule.strip().split(" ", 1) for rule in headers["Content-Security-Policy"].split(";"))
        assert policy["default-src"] == "'none'", address
        assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == "'self'"
        assert policy["base-uri"] == "'none'"
        assert policy["form-action"] == policy["frame-ancestors"] == "'self'"
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert "private" in headers["Cache-Control"]


def test_nothing_inline_and_nothing_from_elsewhere(visit: Visit, addresses: list[str]) -> None:
    for address in addresses:
        page = visit.get(address)
        assert page.text
        for tag, given in page.elements:
            assert tag != "style", address
            assert tag != "script" or (given.get("src") or "").startswith("/static/"), address
            assert not {name for name in given if name == "style" or name.startswith("on")}, (address, given)
            for name in ("src", "href", "action"):
                assert re.fullmatch(r"[/#?].*|", given.get(name) or "", re.DOTALL), (address, given)
        assert not page.all("img") or all((image["src"] or "").startswith("/inspections/") for image in page.all("img"))


def test_the_report_may_fetch_and_run_nothing(visit: Visit, store: Store) -> None:
    row = rows.done(store)
    answer = visit.client.get(f"/inspections/{row.id}/report")
    assert answer.get_data(as_text=True) == rows.REPORT_HTML
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "script-src" not in policy
    assert "frame-ancestors 'self'" in policy
    assert "sandbox" in policy
    assert "allow-scripts" not in policy


def test_hostile_names_do_not_leave_the_header_of_a_download(visit: Visit, store: Store) -> None:
    row = rows.done(store, file_name='a"\r\nX-Evil: 1\r\n/../../é.pdf')
    answer = visit.client.get(f"/inspections/{row.id}/report.json")
    assert answer.headers["Content-Disposition"].startswith("attachment")
    assert "X-Evil" not in answer.headers
    assert "\n" not in answer.headers["Content-Disposition"]
    assert answer.get_json()["verdict"] == "not-pressworthy"
    assert (
        visit.client.get(f"/inspections/{row.id}/measurements.json").get_json()["schema"]
        == "pressworthy.measurements/1"
    )


def test_a_name_that_turns_the_line_about_is_shown_without_its_power(visit: Visit, store: Store) -> None:
    rows.done(store, HOSTILE, file_name=HOSTILE)
    text = visit.get("/inspections").text
    assert "<script>alert(1)</script>" in text
    assert "\u202e" not in text


@pytest.mark.parametrize(
    ("address", "status", "heading"),
    [
        ("/inspections/ins_none", 404, "There is no such inspection"),
        ("/inspections/%3Cscript%3E", 404, "There is no such inspection"),
        ("/inspections/ins_none/report", 404, "There is no such inspection"),
        ("/nowhere", 404, "There is no such page"),
        ("/static/nowhere.css", 404, "There is no such page"),
    ],
)
def test_every_error_is_a_page(visit: Visit, address: str, status: int, heading: str) -> None:
    page = visit.get(address, Accept="text/html")
    assert (page.status, heading in page.text) == (status, True)
    assert "/" in page.links()


def test_a_wrong_method_is_a_page_that_names_the_right_ones(visit: Visit) -> None:
    answer = visit.client.put("/inspections", headers={"Accept": "text/html"})
    assert answer.status_code == 405
    assert "POST" in answer.headers["Allow"]


def test_a_store_that_does_not_answer_is_a_page(visit: Visit, tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / "pressworthy.sqlite3")) as database:
        database.execute("DROP TABLE inspections")
    page = visit.get("/inspections")
    assert page.status == 503
    assert "cannot reach what it keeps" in page.text


def test_what_a_page_needs_is_served_here_and_may_be_kept(visit: Visit) -> None:
    page = visit.get("/")
    needed = [link["href"] for link in page.all("link")] + [script["src"] for script in page.all("script")]
    assert len(needed) >= 3
    for address in needed:
        answer = visit.client.get(str(address))
        assert answer.status_code == 200
        assert "max-age" in answer.headers["Cache-Control"]
        assert not answer.headers.getlist("Set-Cookie")


def test_every_control_has_a_name_and_every_page_its_landmarks(visit: Visit, addresses: list[str]) -> None:
    for address in addresses:
        page = visit.get(address)
        labelled = {label.get("for") for label in page.all("label")}
        for tag in ("input", "select"):
            for control in page.all(tag):
                assert control.get("type") == "hidden" or control.get("id") in labelled, (address, control)
        assert len(page.all("main")) == len(page.all("h1")) == 1, address
        assert page.all("html")[0]["lang"] == "en-GB"
        assert page.links()[0] == "#main"


def _palettes() -> list[dict[str, str]]:
    roots = re.findall(r":root \{([^}]*)\}", (STATIC / "web.css").read_text())
    light, dark = (dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6})", root)) for root in roots[:2])
    return [light, dark]


def _luminance(colour: str) -> float:
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    dark, light = sorted((_luminance(one), _luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_the_ratio_of_black_on_white() -> None:
    assert _contrast("#000000", "#ffffff") == pytest.approx(21.0)  # WCAG 2.2, definition of contrast ratio


@pytest.mark.parametrize("palette", _palettes(), ids=["light", "dark"])
def test_text_and_controls_stand_out_enough(palette: dict[str, str]) -> None:
    for ground in ("paper", "sheet"):
        for text in ("ink", "quiet", "verdigris"):
            assert _contrast(palette[text], palette[ground]) >= 4.5, (text, ground)
        assert _contrast(palette["line"], palette[ground]) >= 3, ground
    assert _contrast(palette["paper"], palette["ink"]) >= 4.5  # the words on a button
    assert _contrast(palette["paper"], palette["verdigris"]) >= 4.5  # the same under the pointer


def test_both_themes_give_every_colour() -> None:
    light, dark = _palettes()
    assert set(light) == set(dark)


def test_an_inspection_page_reads_back_what_is_shown(visit: Visit, store: Store) -> None:
    page: Page = visit.get(f"/inspections/{rows.done(store).id}")
    assert "Not pressworthy for Ternhaven Digital, black and white" in " ".join(page.text.split())
    assert page.all("iframe")[0]["sandbox"] == "allow-same-origin"
