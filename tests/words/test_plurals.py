"""Which form a number takes, by CLDR’s table of plural rules for cardinals (from memory; Unicode CLDR, plurals.xml)."""

from __future__ import annotations

import pytest

from worker.words.catalogue import shipped
from worker.words.plurals import UnknownRule, category

RUSSIAN = {
    "one": "v = 0 and i % 10 = 1 and i % 100 != 11",
    "few": "v = 0 and i % 10 = 2..4 and i % 100 != 12..14",
    "many": "v = 0 and i % 10 = 0 or v = 0 and i % 10 = 5..9 or v = 0 and i % 100 = 11..14",
}
ARABIC = {"zero": "n = 0", "one": "n = 1", "two": "n = 2", "few": "n % 100 = 3..10", "many": "n % 100 = 11..99"}
FRENCH = {"one": "i = 0,1"}
LATVIAN = {
    "zero": "n % 10 = 0 or n % 100 = 11..19 or v = 2 and f % 100 = 11..19",
    "one": "n % 10 = 1 and n % 100 != 11 or v = 2 and f % 10 = 1 and f % 100 != 11 or v != 2 and f % 10 = 1",
}


@pytest.mark.parametrize(("number", "form"), [(0, "other"), (1, "one"), (2, "other"), (11, "other"), (21, "other")])
def test_english(number: int, form: str) -> None:
    assert category(number, shipped("en").plurals) == form


@pytest.mark.parametrize(
    ("rules", "samples"),
    [
        (RUSSIAN, {"one": (1, 21, 101), "few": (2, 24, 102), "many": (0, 5, 11, 14, 19, 100, 111)}),
        (ARABIC, {"zero": (0,), "one": (1,), "two": (2,), "few": (3, 110), "many": (11, 99), "other": (100, 102, 201)}),
        (FRENCH, {"one": (0, 1), "other": (2, 17)}),
        (LATVIAN, {"zero": (0, 10, 11, 19, 111), "one": (1, 21, 101), "other": (2, 9, 22)}),
    ],
    ids=["russian", "arabic", "french", "latvian"],
)
def test_languages_with_other_forms(rules: dict[str, str], samples: dict[str, tuple[int, ...]]) -> None:
    """The samples are CLDR’s own."""
    for form, numbers in samples.items():
        assert {number: category(number, rules) for number in numbers} == dict.fromkeys(numbers, form)


def test_a_rule_that_is_written_otherwise_is_refused() -> None:
    with pytest.raises(UnknownRule):
        category(3, {"one": "n is one"})
