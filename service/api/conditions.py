"""On what a change may be made (RFC 9110, section 13): ``If-Match`` and ``If-None-Match`` before something is put or
deleted. What exists is replaced only by somebody who names it, so that nobody's change is lost unseen (RFC 6585)."""

from __future__ import annotations

from collections.abc import Callable, Collection

from flask import request
from pydantic import BaseModel
from werkzeug.datastructures import ETags
from werkzeug.http import generate_etag

from service.api.shown import answer
from service.problems import CHANGED_MEANWHILE, CONDITION_NEEDED, Problem

__all__ = ["check_conditions", "check_unchanged"]


def check_conditions(tags: Collection[str] | None, *, needed: bool) -> None:
    """Raise :class:`Problem` unless the request's conditions hold.

    ``tags`` are the entity tags of what is there, one for each form that it comes in; None where there is nothing.
    ``needed``: what is there is not changed without ``If-Match``.
    """
    if "If-Match" in request.headers:
        if not _named(request.if_match, tags):
            raise _changed("There is none" if tags is None else "It has changed since, or `If-Match` is not its ETag")
    elif tags is not None and needed and "If-None-Match" not in request.headers:
        raise Problem(
            CONDITION_NEEDED,
            "There is one already. GET it, and send its `ETag` in `If-Match`; `*` replaces whatever is there.",
        )
    if "If-None-Match" in request.headers and _named(request.if_none_match, tags):
        raise _changed("There is one already")


def check_unchanged(shown: Callable[[], BaseModel]) -> None:
    """Raise :class:`Problem` where the request's conditions do not hold for a thing as it is ``shown`` now."""
    if request.if_match or request.if_none_match:
        check_conditions({generate_etag(answer(shown()).get_data())}, needed=False)


def _named(given: ETags, tags: Collection[str] | None) -> bool:
    """Whether what is there is among those that a header names, strongly compared; ``*`` is whatever is there."""
    return tags is not None and (given.star_tag or any(given.is_strong(tag) for tag in tags))


def _changed(why: str) -> Problem:
    return Problem(CHANGED_MEANWHILE, f"{why}. GET it again, and send the request by what it says now.")
