"""Which form of a counted thing a number takes: the plural categories of Unicode (UTS #35, Language Plural Rules).

A catalogue writes the rules of its language as CLDR does: ``n % 10 = 2..4 and n % 100 != 12..14``. Only whole numbers
are counted here, so the operands that speak of decimals are nought, and ``i`` is ``n``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

OTHER = "other"
"""The category that every language has: of all that no rule takes."""

_RELATION = re.compile(r"([nivwftce])(?:\s*%\s*(\d+))?\s*(!?=)\s*([\d.,\s]+)")


class UnknownRule(ValueError):
    """A rule that is not written as CLDR writes them."""


def category(number: int, rules: Mapping[str, str]) -> str:
    """The category of a whole number by a language's rules, one a category; ``other`` where none holds."""
    return next((name for name, rule in rules.items() if _holds(rule, abs(number))), OTHER)


def _holds(rule: str, number: int) -> bool:
    return any(all(test(number) for test in tests) for tests in _parsed(rule))


class _Relation:
    """One comparison: an operand, perhaps its remainder, among some ranges or outside them."""

    def __init__(self, written: str) -> None:
        found = _RELATION.fullmatch(written.strip())
        if found is None:
            raise UnknownRule(written)
        self._counts = found[1] in "ni"
        self._modulus = int(found[2]) if found[2] else None
        self._inside = found[3] == "="
        self._ranges = [_range(each) for each in found[4].split(",")]

    def __call__(self, number: int) -> bool:
        value = number if self._counts else 0
        if self._modulus:
            value %= self._modulus
        return any(first <= value <= last for first, last in self._ranges) == self._inside


def _range(written: str) -> tuple[int, int]:
    first, _, last = written.strip().partition("..")
    return int(first), int(last or first)


@cache
def _parsed(rule: str) -> tuple[tuple[_Relation, ...], ...]:
    """The alternatives of a rule, each a chain of relations that must all hold."""
    return tuple(tuple(_Relation(each) for each in chain.split(" and ")) for chain in rule.split(" or "))
