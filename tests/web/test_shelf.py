"""The list: order, filters, paging."""

from __future__ import annotations

from service.web.listing import SIZE
from tests.web import rows
from tests.web.visit import Page, Visit
from worker.store import Store


def _titles(page: Page) -> list[str]:
    return [line.strip() for line in page.text.splitlines() if line.startswith("Book ")]


def test_newest_first_and_leafed_through(visit: Visit, store: Store) -> None:
    for number in range(SIZE * 2 + 3):
        rows.queued(store, f"Book {number:03}")
    seen: list[str] = []
    address = "/inspections"
    for _ in range(3):
        page = visit.get(address)
        seen += _titles(page)
        address = next((link for link in page.links() if "after=" in link), "")
    assert address == ""
    assert seen == [f"Book {number:03}" for number in reversed(range(SIZE * 2 + 3))]


def test_narrowed_by_verdict_printer_and_title(visit: Visit, store: Store) -> None:
    rows.done(store, "Book of Salt", verdict="pressworthy", flagged=())
    rows.done(store, "Book of Tar", verdict="reservations", profile="ropewalk-offset")
    rows.done(store, "Book of Rope", profile="ropewalk-offset")
    rows.queued(store, "Book of Wind")
    assert _titles(visit.get("/inspections?verdict=not-pressworthy")) == ["Book of Rope"]
    assert _titles(visit.get("/inspections?profile=ropewalk-offset")) == ["Book of Rope", "Book of Tar"]
    assert _titles(visit.get("/inspections?profile=ropewalk-offset&verdict=reservations")) == ["Book of Tar"]
    page = visit.get("/inspections?title=SALT")
    assert _titles(page) == ["Book of Salt"]
    assert {"name": "title", "value": "SALT"}.items() <= page.all("input")[-1].items()


def test_leafing_keeps_what_the_list_is_narrowed_to(visit: Visit, store: Store) -> None:
    for _ in range(SIZE + 1):
        rows.done(store, "Book", verdict="pressworthy", flagged=())
    rows.queued(store, "Book that waits")
    (older,) = [link for link in visit.get("/inspections?verdict=pressworthy").links() if "after=" in link]
    page = visit.get(older)
    assert len([text for text in page.text.splitlines() if text.strip() == "Book"]) == 1
    assert "/inspections?verdict=pressworthy" in page.links()


def test_an_empty_list_and_one_that_nothing_fits(visit: Visit) -> None:
    assert "No book has been inspected yet." in visit.get("/inspections").text
    assert "Nothing in your list fits." in visit.get("/inspections?verdict=nonsense").text


def test_a_cursor_that_is_none_of_ours_shows_the_newest(visit: Visit, store: Store) -> None:
    rows.queued(store, "Book")
    page = visit.get("/inspections?after=nonsense")
    assert page.status == 200
    assert "Book" in page.text


def test_the_weight_of_a_verdict_is_in_words_beside_its_line(visit: Visit, store: Store) -> None:
    rows.done(store, "Book")
    page = visit.get("/inspections")
    assert [item.get("class") for item in page.all("li")] == ["refusal"]
    assert "Not pressworthy" in page.text
