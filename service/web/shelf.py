"""The visitor's inspections, newest first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from flask import render_template, request, url_for
from flask.typing import ResponseReturnValue

from service.house import store
from service.intake import tidy_text
from service.web.printers import printers
from service.web.room import blueprint
from service.web.visitor import owner
from service.web.words import card_of
from worker.judge.models import Verdict
from worker.profiles import builtin_profiles
from worker.store import BadCursor, Page
from worker.words import told

__all__ = ["shelf"]

SIZE = 25
LONGEST = 300
"""Characters of what a list is narrowed to."""


@dataclass(frozen=True)
class Asked:
    """What the list is narrowed to; an empty text asks nothing. ``after`` is the cursor of a page further on."""

    verdict: str = ""
    profile: str = ""
    title: str = ""
    after: str = ""

    @property
    def any(self) -> bool:
        """Whether the list is narrowed."""
        return bool(self.verdict or self.profile or self.title)

    def address(self) -> str:
        """The address of this part of the list."""
        asked = {name: value for name, value in vars(self).items() if value}
        return url_for("web.shelf", **asked)


@blueprint.get("/inspections")
def shelf() -> ResponseReturnValue:
    """A part of the list."""
    asked = _asked(request.args)
    page = _page(asked)
    return render_template(
        "web/shelf.html",
        asked=asked,
        cards=[card_of(row) for row in page.items],
        older=replace(asked, after=page.next).address() if page.next else None,
        newest=replace(asked, after="").address(),
        verdicts={verdict.value: told(f"verdict.{verdict.value}.heading") for verdict in Verdict},
        printers=printers(builtin_profiles().values()),
    )


def _asked(given: Mapping[str, str]) -> Asked:
    return Asked(
        **{name: tidy_text(given.get(name, ""))[:LONGEST] for name in ("verdict", "profile", "title", "after")}
    )


def _page(asked: Asked) -> Page:
    """A cursor that is none of ours shows the newest."""
    narrowed = {"verdict": asked.verdict or None, "profile": asked.profile or None, "title": asked.title or None}
    try:
        return store().rows.page(owner(), after=asked.after or None, size=SIZE, **narrowed)
    except BadCursor:
        return store().rows.page(owner(), size=SIZE, **narrowed)
