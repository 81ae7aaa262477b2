"""The first page: choose a printer, give a file, send it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

from flask import jsonify, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from service.access import is_an_id
from service.house import settings, store
from service.intake import Wish, admit, profile_named, receive, tidy_text
from service.known_profiles import known_profiles
from service.problems import NO_SUCH_INSPECTION, Problem
from service.quotas import need_place
from service.web.callbacks import calls_to
from service.web.forgery import FIELD, guard_form
from service.web.pages_field import BadPages, pages_of
from service.web.printers import printers
from service.web.room import blueprint
from service.web.script import by_script
from service.web.visitor import owner
from service.web.words import CAUTION, card_of
from worker.callbacks.address import LONGEST_URL
from worker.store import Inspection
from worker.units import show_size

__all__ = ["choose", "send"]

LONGEST = 300
"""Characters of what may be typed."""
LONGEST_OF = {"callback_url": LONGEST_URL + 1}
"""Of an address enough to see that it is too long: a shorter one would be another."""


@dataclass(frozen=True)
class Typed:
    """What was chosen and typed, so that a refusal loses none of it."""

    profile: str = ""
    title: str = ""
    pages: str = ""
    against: str = ""
    callback_url: str = ""

    @classmethod
    def of(cls, given: Mapping[str, str]) -> Typed:
        """What a form brings."""
        return cls(
            **{
                each.name: tidy_text(given.get(each.name, ""))[: LONGEST_OF.get(each.name, LONGEST)]
                for each in fields(cls)
            }
        )

    @classmethod
    def linked(cls, given: Mapping[str, str]) -> Typed:
        """What a link brings: never whom to call, which stands folded away and might go unseen."""
        return replace(cls.of(given), callback_url="")


@blueprint.get("/")
def choose() -> ResponseReturnValue:
    """The form; a link may bring what stands in it."""
    return _form(Typed.linked(request.args))


@blueprint.post("/inspections")
def send() -> ResponseReturnValue:
    """Take the book in; then lead to its page, or say in the form what has to be changed."""
    brought: dict[str, str] = {}
    try:
        need_place(owner(), request)
        with receive(request, store(), settings().limits.bytes, brought) as arrived:
            guard_form(brought.get(FIELD, ""))
            typed = Typed.of(brought)
            row = admit(store(), arrived, _wish(typed), owner(), beside=calls_to(typed.callback_url))
    except Problem as problem:
        return _refused(problem.detail, problem.kind.status, brought)
    except BadPages as bad:
        return _refused(str(bad), 422, brought)
    place = url_for("web.inspection", inspection_id=row.id)
    return (jsonify(location=place), 201) if by_script() else redirect(place, 303)


def _wish(typed: Typed) -> Wish:
    """Raises :class:`Problem` for an unknown printer or an earlier inspection that is gone, and :class:`BadPages`."""
    return Wish(
        profile=profile_named(typed.profile, owner()),
        title=typed.title or None,
        pages=pages_of(typed.pages),
        against=_to_compare(typed.against).id if typed.against else None,
    )


def _to_compare(inspection_id: str) -> Inspection:
    """The visitor's earlier inspection. Raises :class:`Problem`."""
    row = _earlier(inspection_id)
    if row is None:
        raise Problem(NO_SUCH_INSPECTION, "The inspection to compare with is gone. Send the book without comparing it.")
    return row


def _earlier(inspection_id: str) -> Inspection | None:
    """The visitor's inspection of that id, if it has a report to compare with."""
    row = store().rows.get(inspection_id, owner()) if is_an_id(inspection_id) else None
    return row if row is not None and row.state == "done" else None


def _refused(problem: str, status: int, brought: Mapping[str, str]) -> ResponseReturnValue:
    return (jsonify(problem=problem), status) if by_script() else _form(Typed.of(brought), problem, status)


def _form(typed: Typed, problem: str = "", status: int = 200) -> ResponseReturnValue:
    limits = settings().limits
    earlier = _earlier(typed.against)
    page = render_template(
        "web/choose.html",
        typed=typed,
        earlier=card_of(earlier) if earlier else None,
        problem=problem,
        printers=printers(known_profiles(owner()).values()),
        most_bytes=limits.bytes,
        most_size=show_size(limits.bytes),
        most_pages=f"{limits.pages:,}",
        caution=CAUTION,
        longest_url=LONGEST_URL,
    )
    return make_response(page, status)
