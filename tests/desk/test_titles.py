"""The list of titles, the page of one, and its form, as a visitor without a script uses them."""

from __future__ import annotations

import re
from typing import Any

import pytest
from werkzeug.test import TestResponse

from service.web.listing import SIZE
from tests.desk import desk
from tests.web.visit import Visit
from worker.store import LOCAL, Store, Title

SOUND = {"author": "Maud Kittering", "title": "The Salt Road", "printing": "ternhaven-mono/6 × 9 in"}


def _make(visit: Visit, **typed: Any) -> TestResponse:
    return visit.submit(visit.get("/titles/new").form("/titles"), **SOUND | typed)


def _only(store: Store) -> Title:
    (listed,) = store.titles.page(LOCAL).items
    return listed.title


def test_a_title_is_made(visit: Visit, store: Store) -> None:
    made = _make(visit, isbn="978-0-00-000001-9", expected_pages="312", note="A note\r\nof two lines")
    title = _only(store)
    assert (made.status_code, made.location) == (303, f"/titles/{title.id}")
    assert (title.author, title.title, title.isbn, title.profile_id, title.trim, title.expected_pages, title.note) == (
        "Maud Kittering", "The Salt Road", desk.ISBN, "ternhaven-mono", "6 × 9 in", 312, "A note\nof two lines",
    )  # fmt: skip
    page = visit.get(f"/titles/{title.id}")
    for told in ("The Salt Road", "Maud Kittering", desk.ISBN, "cut to 6 × 9 in", "312 pages expected", "Waiting for"):
        assert told in page.text, told


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"isbn": "9780000000018"}, "it would be 9"),
        ({"title": " "}, "Say what it is called"),
        ({"author": ""}, "Say who wrote it"),
        ({"printing": ""}, "Choose one of these"),
        ({"printing": "nobody"}, "Choose one of these"),
        ({"printing": "ternhaven-mono/8 × 8 in"}, "does not cut to that"),
        ({"expected_pages": "many"}, "whole number"),
        ({"expected_pages": "0"}, "whole number"),
        ({"expected_pages": "٣١٢"}, "whole number"),
    ],
)
def test_a_refusal_says_what_to_do_and_keeps_what_was_typed(
    visit: Visit, store: Store, typed: dict[str, str], told: str
) -> None:
    answer = _make(visit, **{"isbn": "978-0-00-000001-9", "note": "Kept"} | typed)
    assert answer.status_code == 422
    text = answer.get_data(as_text=True)
    assert told in text
    for name in {"author", "title", "isbn", "note"} - typed.keys():
        kept = {"isbn": "978-0-00-000001-9", "note": "Kept"} | SOUND
        assert kept[name] in text
    assert store.titles.page(LOCAL).items == []


def test_a_title_is_changed_and_its_files_stay_as_judged(visit: Visit, store: Store) -> None:
    title = desk.title(store, isbn=desk.ISBN)
    desk.inspected(store, title)
    form = visit.get(f"/titles/{title.id}/change").form("/change")
    assert form.values["isbn"] == desk.ISBN
    answer = visit.submit(form, **SOUND | {"printing": "ropewalk-offset", "title": "The Salt Roads"})
    assert answer.status_code == 303
    now = desk.now(store, title)
    assert (now.title, now.profile_id, now.trim, now.isbn) == ("The Salt Roads", "ropewalk-offset", None, desk.ISBN)
    ((_, row),) = store.titles.submissions(title.id)
    assert row is not None
    assert row.profile_id == "ternhaven-mono"


def test_a_note_is_kept_as_it_is_typed(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    form = visit.get(f"/titles/{title.id}").form("/note")
    visit.submit(form, note="Ask for <b>rights</b>\r\n\r\nthen call\x00\u2028")
    assert desk.now(store, title).note == "Ask for <b>rights</b>\n\nthen call"
    assert "<b>rights" not in visit.client.get(f"/titles/{title.id}").get_data(as_text=True)
    visit.submit(form, note="x" * 9000)
    assert len(desk.now(store, title).note) == 8000


def test_finding(visit: Visit, store: Store) -> None:
    salt = desk.title(store, "The Salt Road", isbn=desk.ISBN)
    kelp = desk.title(store, "Kelp", "Ines Carrow")
    desk.inspected(store, kelp, verdict="pressworthy")

    def found(query: str) -> set[str]:
        return set(re.findall(r"/titles/(tit_\w+)", " ".join(visit.get(f"/titles?{query}").links())))

    assert found("") == {salt.id, kelp.id}
    assert found("about=kittering") == found(f"about={desk.ISBN}") == found("about=salt") == {salt.id}
    assert found("standing=to-be-looked-at") == found("verdict=pressworthy") == {kelp.id}
    assert found("about=nobody") == found("standing=nonsense") == found("verdict=nonsense") == set()
    assert found("after=nonsense") == {salt.id, kelp.id}
    assert "No title of yours fits" in visit.get("/titles?about=nobody").text


def test_leafing(visit: Visit, store: Store) -> None:
    made = {desk.title(store, f"Title {number}").id for number in range(60)}
    met: list[str] = []
    address: str | None = "/titles?about=title"
    while address:
        page = visit.get(address)
        met += [link.removeprefix("/titles/") for link in page.links() if link.startswith("/titles/tit_")]
        address = next((given["href"] for given in page.all("a") if given.get("rel") == "next"), None)
        assert address is None or "about=title" in address
    assert len(met) == 60
    assert set(met) == made


def test_what_differs_from_what_was_agreed_on_is_said(visit: Visit, store: Store) -> None:
    title = desk.title(store, expected_pages=312)
    desk.inspected(store, title)
    assert "It has 12 pages; 312 are expected." in visit.get(f"/titles/{title.id}").text


def test_an_inspection_leads_to_its_title(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    file = desk.inspected(store, title)
    assert f"/titles/{title.id}" in visit.get(f"/inspections/{file.inspection_id}").links()


def test_a_file_whose_report_is_gone_is_still_told_of(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    file = desk.inspected(store, title, verdict="reservations")
    store.delete(file.inspection_id)
    page = visit.get(f"/titles/{title.id}")
    assert page.status == 200
    assert "Pressworthy, with reservations" in page.text
    assert "no longer kept" in page.text
    assert not [link for link in page.links() if file.inspection_id in link]


@pytest.mark.parametrize("address", ["/titles/tit_none", "/titles/%00", "/titles/" + "x" * 3000, "/take-in/%00"])
def test_what_is_no_id_is_not_found(visit: Visit, address: str) -> None:
    assert visit.get(address).status == 404


def test_hostile_words_are_shown_as_words(visit: Visit, store: Store) -> None:
    hostile = "<script>alert(1)</script>\"'\u202efdp"
    title = desk.title(store, hostile, hostile)
    for address in ("/titles", f"/titles/{title.id}", f"/titles/{title.id}/change", f"/titles?about={hostile}"):
        page = visit.get(address)
        assert page.status == 200
        assert {script.get("src") or "" for script in page.all("script")} <= {
            "/static/send.js", "/static/watch.js", "/static/copy.js", "/static/delivery.js",
        }  # fmt: skip


def test_too_much_is_refused(visit: Visit, store: Store) -> None:
    assert _make(visit, title="x" * 100_000).status_code == 413
    _make(visit, title="x" * 5000)
    assert len(_only(store).title) == 300


def test_the_next_title_is_offered_the_printer_of_the_last(visit: Visit) -> None:
    def offered() -> list[str | None]:
        return [each["value"] for each in visit.get("/titles/new").all("option") if "selected" in each]

    assert offered() == []
    _make(visit, printing="ropewalk-offset")
    assert offered() == ["ropewalk-offset"]


def test_what_waits_for_the_desk_stands_first(visit: Visit, store: Store) -> None:
    looked_at = desk.title(store, "Kelp")
    desk.inspected(store, looked_at)
    for number in range(SIZE):
        desk.title(store, f"Title {number}")
    page = visit.get("/titles")
    assert page.links().index(f"/titles/{looked_at.id}") < page.links().index(f"/titles/{_last(store).id}")
    assert len([link for link in page.links() if link.startswith("/titles/tit_")]) == SIZE
    (whole,) = [link for link in page.links() if "whole=yes" in link]
    assert len([link for link in visit.get(whole).links() if link.startswith("/titles/tit_")]) == SIZE + 1


def _last(store: Store) -> Title:
    """The title that was touched last."""
    return store.titles.page(LOCAL).items[0].title


def test_a_note_is_read_on_top_of_the_page_and_in_the_list(visit: Visit, store: Store) -> None:
    title = desk.title(store)
    visit.submit(visit.get(f"/titles/{title.id}").form("/note"), note="Ask for the rights\r\nto the map")
    page = visit.get(f"/titles/{title.id}")
    assert page.text.index("Ask for the rights\nto the map") < page.text.index("Take in its file")
    assert "Ask for the rights" in visit.get("/titles").text
