"""The rules that this version tests, by id. To add one: write its function, its words and its test."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from worker.judge.case import Case, Draft

Rule = Callable[[Case], Iterable[Draft]]

RULES: dict[str, Rule] = {}


def rule(rule_id: str) -> Callable[[Rule], Rule]:
    """Enter a function as the test of a rule. It yields a draft for each cause; none where the book is sound."""

    def enter(function: Rule) -> Rule:
        RULES[rule_id] = function
        return function

    return enter
