"""A mended file sent to be compared with an earlier inspection: by the link on its page, and the box in the form."""

from __future__ import annotations

import pytest

from tests.web import rows
from tests.web.visit import Page, Visit
from worker.store import Store


def test_the_page_of_an_inspection_leads_to_the_form_that_compares(visit: Visit, store: Store) -> None:
    row = rows.done(store, "The Long Mole")
    (link,) = [each for each in visit.get(f"/inspections/{row.id}").links() if "against=" in each]
    page = visit.get(link)
    (box,) = [each for each in page.all("input") if each.get("name") == "against"]
    assert (box["type"], box["value"], "checked" in box) == ("checkbox", row.id, True)
    assert "Compare it with The Long Mole as inspected on" in " ".join(page.text.split())
    visit.send_book(against=row.id)
    assert {each.against for each in store.rows.page("local").items if each.id != row.id} == {row.id}


def test_without_an_earlier_one_there_is_no_box(visit: Visit, store: Store) -> None:
    assert not [each for each in visit.get("/").all("input") if each.get("name") == "against"]
    visit.send_book()
    (row,) = store.rows.page("local").items
    assert row.against is None


@pytest.mark.parametrize("whose", ["another's", "unfinished", "no id"])
def test_only_a_done_one_of_ones_own_is_compared_with(visit: Visit, store: Store, whose: str) -> None:
    other = rows.done(store, owner="tok_" + "a" * 26).id
    against = {"another's": other, "unfinished": rows.queued(store).id, "no id": "<b>'"}[whose]
    kept = len(store.rows.page("local").items)
    page = Page(visit.send_book(against=against))
    assert page.status == 404
    assert "to compare with is gone" in page.text
    assert not [each for each in page.all("input") if each.get("name") == "against"]
    assert len(store.rows.page("local").items) == kept
