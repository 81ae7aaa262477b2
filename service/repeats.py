"""A parameter that is given more than once is refused, and not one of its values chosen in silence."""

from __future__ import annotations

from collections import Counter

from flask import request
from werkzeug.datastructures import MultiDict

from service.problems import INVALID, Problem

__all__ = ["REPEATED", "once_each", "refuse_repeated_parameters", "refuse_repeats"]

REPEATED = "It was given more than once; give it once."


def refuse_repeated_parameters() -> None:
    """Before every call that has an address of ours: each parameter of its query is given once."""
    if request.url_rule is not None:
        refuse_repeats(request.args)


def refuse_repeats(given: MultiDict[str, str]) -> None:
    """Raise :class:`Problem` for a name that has several values."""
    _refuse([name for name, values in given.lists() if len(values) > 1])


def once_each(members: list[tuple[str, object]]) -> dict[str, object]:
    """A JSON object of these members; RFC 8259, section 4, leaves open what a repeated name means. See above."""
    times = Counter(name for name, _ in members)
    _refuse([name for name in times if times[name] > 1])
    return dict(members)


def _refuse(names: list[str]) -> None:
    if names:
        errors = [{"field": name, "detail": REPEATED} for name in names]
        raise Problem(INVALID, "; ".join(f"{name}: {REPEATED}" for name in names), errors=errors)
