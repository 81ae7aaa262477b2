"""All that a report says to a person, looked up in the catalogue of the language in force.

The texts are data (``en/*.toml``); what composes them is code. ``{…}`` in a text are the facts of its caller. A key
that is not there, or a fact that a text asks for and does not get, is a ``KeyError`` with the key's name.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import datetime
from typing import NamedTuple

from worker.rules import RULES
from worker.words.catalogue import Catalogue, shipped
from worker.words.plurals import category

__all__ = [
    "Catalogue",
    "RuleWords",
    "comma",
    "counted",
    "day",
    "grouped",
    "in_force",
    "rule_words",
    "semicolon",
    "speaking",
    "told",
]

_ENGLISH = shipped("en")
_IN_FORCE: ContextVar[Catalogue] = ContextVar("catalogue", default=_ENGLISH)


class RuleWords(NamedTuple):
    """What a finding says: what is wrong, where and by how much, what it does to the printed book, what to set."""

    title: str
    detail: str
    effect: str
    remedy: str


def told(key: str, /, **facts: object) -> str:
    """A text with its placeholders filled."""
    return _filled(key, facts)


def counted(key: str, number: int, /, **facts: object) -> str:
    """A text about so many things, in the plural form that the language has for it; ``{count}`` is the number."""
    return _filled(f"{key}.{category(number, in_force().plurals)}", {"count": number, **facts})


def rule_words(rule: str, form: str, facts: dict[str, object]) -> RuleWords:
    """The words of a rule's finding. ``form`` says which of its texts, empty for the one without a name."""
    group = RULES[rule].group.replace(" ", "-")
    key = f"rules-{group}.{rule}.{form}" if form else f"rules-{group}.{rule}"
    return RuleWords(*(_filled(f"{key}.{part}", facts) for part in RuleWords._fields))


def comma(parts: Iterable[str]) -> str:
    """Things with commas between them."""
    return told("units.lists.comma").join(parts)


def semicolon(parts: Iterable[str]) -> str:
    """Longer things, with semicolons between them."""
    return told("units.lists.semicolon").join(parts)


def grouped(number: int) -> str:
    """A whole number as people read it: ``1,200``."""
    return f"{number:,}".replace(",", told("units.thousands"))


def day(when: datetime) -> str:
    """A date: ``25 November 2026``."""
    month = told(f"dates.months.{when.month}")
    return told("dates.day", day=when.day, month=month, year=when.year)


@contextmanager
def speaking(catalogue: Catalogue) -> Iterator[None]:
    """Have another catalogue in force."""
    before = _IN_FORCE.set(catalogue)
    try:
        yield
    finally:
        _IN_FORCE.reset(before)


def in_force() -> Catalogue:
    """The catalogue of the language in force."""
    return _IN_FORCE.get()


def _filled(key: str, facts: dict[str, object]) -> str:
    text = _IN_FORCE.get().text(key)
    try:
        return text.format(**facts) if "{" in text else text
    except KeyError as missing:
        raise KeyError(f"{key} asks for {missing.args[0]}") from None
