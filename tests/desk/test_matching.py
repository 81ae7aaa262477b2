"""Which title a file belongs to. What is sure and what is asked is common practice, no source; the check digits of the
numbers in names are those of python-stdnum."""

from __future__ import annotations

import pytest
from stdnum import isbn as stdnum

from service.desk.matching import Clues, isbn_in_name, match
from tests.desk.desk import ISBN, title
from worker.store import Store, Title

OTHER = "9780000000064"


@pytest.fixture
def titles(store: Store) -> list[Title]:
    return [
        title(store, "The Salt Road", "Maud Kittering", isbn=ISBN),
        title(store, "Kelp: A History", "Ines Carrow", isbn=OTHER),
        title(store, "Tide Tables 2", "Jory Penhale"),
        title(store, "Tide Tables 3", "Jory Penhale"),
        title(store, "The New Book", "Nell Trevanion"),
        title(store, "Nell’s Almanac", "Nell Trevanion"),
    ]


@pytest.mark.parametrize(
    ("clues", "name"),
    [
        (Clues(f"{ISBN}.pdf"), "The Salt Road"),
        (Clues("978-0-00-000001-9 interior.pdf"), "The Salt Road"),
        (Clues("978_0_000000_01_9_v2.pdf"), "The Salt Road"),
        (Clues("upload (3).pdf", isbns=("9780000000033", ISBN)), "The Salt Road"),
        (Clues("kelp.pdf", isbns=(ISBN,)), "The Salt Road"),
        (Clues("book.pdf", titles=("The Salt Road: A Novel",)), "The Salt Road"),
        (Clues("book.pdf", titles=("SALT ROAD",)), "The Salt Road"),
        (Clues("the-salt-road.pdf"), "The Salt Road"),
        (Clues("Kittering_Salt_Road.pdf"), "The Salt Road"),
        (Clues("salt road FINAL v3 (2).pdf"), "The Salt Road"),
        (Clues("kelp-interior-2026-11-28.pdf"), "Kelp: A History"),
        (Clues("kelp a history.pdf"), "Kelp: A History"),
        (Clues("tide-tables-3.pdf"), "Tide Tables 3"),
        (Clues("new-book.pdf"), "The New Book"),
        (Clues("nells almanac.pdf"), "Nell’s Almanac"),
        (Clues("Nell's Almanac.pdf"), "Nell’s Almanac"),
    ],
)
def test_it_is_sure(titles: list[Title], clues: Clues, name: str) -> None:
    found = match(clues, titles)
    assert found.title is not None
    assert found.title.title == name
    assert found.why.startswith("By the")


@pytest.mark.parametrize(
    "clues",
    [
        Clues("book.pdf"),
        Clues("final.pdf"),
        Clues("new book v2.pdf"),
        Clues(".pdf"),
        Clues(""),
        Clues("salt.pdf"),
        Clues("the-salt-road-and-kelp.pdf"),
        Clues("tide-tables.pdf"),
        Clues("kelp.pdf", titles=("The Salt Road",)),
        Clues("book.pdf", isbns=(ISBN, OTHER)),
        Clues(f"{ISBN}.pdf", isbns=(OTHER,)),
        Clues("97800000000190.pdf"),
        Clues("9780000000018.pdf"),
    ],
)
def test_it_is_asked(titles: list[Title], clues: Clues) -> None:
    found = match(clues, titles)
    assert found.title is None
    assert found.why.endswith(".")


def test_one_number_of_two_titles_is_asked(store: Store, titles: list[Title]) -> None:
    found = match(Clues(f"{ISBN}.pdf"), [*titles, title(store, "The Salt Road, again", isbn=ISBN)])
    assert found.title is None
    assert "The Salt Road, again" in found.why


@pytest.mark.parametrize("name", [f"{ISBN}.pdf", "x978-0-00-000001-9.pdf", "ISBN 0-00-000001-9 .pdf"])
def test_a_number_in_a_name_has_its_check_digit_right(name: str) -> None:
    found = list(isbn_in_name(name))
    assert all(stdnum.is_valid(each) for each in found)
    assert found == ([ISBN] if "978" in name else [stdnum.to_isbn13("0000000019")] if found else [])
