"""The form of a title: a new one, or what is to be changed about one. What was typed is never lost by a refusal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields, replace

from flask import make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from service.access import manages
from service.desk.fields import LONGEST_NOTE, BadTitle, new_title, refuse_taken_isbn, tidy_note
from service.desk.matching import clues_of
from service.desk.printing import trims_of
from service.house import store
from service.intake import tidy_text
from service.known_profiles import known_profiles
from service.web.desk.reports import report_of
from service.web.desk.take_in import own_arrival, place_arrival
from service.web.desk.visiting import own_title
from service.web.desk.words import title_card
from service.web.room import blueprint
from service.web.visitor import owner
from worker.keeping import kept_facts
from worker.profiles import Profile
from worker.report.words import shown
from worker.store import Inspection, Missing, Title

__all__ = ["change", "changed", "create", "new"]

LONGEST = 300
BETWEEN = "/"
"""Between the printer's id and the trim's name, in the one field that both are chosen in."""


@dataclass(frozen=True)
class Typed:
    """What stands in the form. ``printing`` is a printer's id, alone or with one of its trims."""

    author: str = ""
    title: str = ""
    isbn: str = ""
    printing: str = ""
    expected_pages: str = ""
    note: str = ""
    arrival: str = ""

    @classmethod
    def of(cls, given: Mapping[str, str]) -> Typed:
        """What a form or a link brings."""
        told = {each.name: tidy_text(given.get(each.name, ""))[:LONGEST] for each in fields(cls)}
        return cls(**told | {"note": tidy_note(given.get("note", ""))})

    @classmethod
    def about(cls, title: Title) -> Typed:
        """What is known of a title."""
        return cls(
            author=title.author,
            title=title.title,
            isbn=title.isbn or "",
            printing=_printing(title),
            expected_pages=str(title.expected_pages or ""),
            note=title.note,
        )

    def members(self) -> dict[str, str]:
        """What the desk's own rules are held against."""
        profile, _, trim = self.printing.partition(BETWEEN)
        told = {name: value for name, value in asdict(self).items() if name not in {"printing", "arrival"}}
        return told | {"profile": profile, "trim": trim}


@blueprint.get("/titles/new")
def new() -> ResponseReturnValue:
    """The empty form; or one that a file that came in has filled."""
    typed = Typed.of(request.args)
    typed = replace(typed, printing=typed.printing or _last_printing())
    arrival = own_arrival(typed.arrival)
    row = store().rows.get(arrival.inspection_id or "", owner()) if arrival is not None else None
    return _form(_from_file(row, typed) if row is not None else typed)


@blueprint.post("/titles")
def create() -> ResponseReturnValue:
    """Make the title; the file that it was made from is its first."""
    typed = Typed.of(request.form)
    try:
        told = new_title(typed.members(), owner())
        refuse_taken_isbn(store(), owner(), told)
        made = store().titles.create(owner(), told)
    except BadTitle as bad:
        return _form(typed, bad, status=422)
    if typed.arrival:
        return place_arrival(typed.arrival, made)
    return redirect(url_for("web.title", title_id=made.id), 303)


@blueprint.get("/titles/<title_id>/change")
@manages
def change(title_id: str) -> ResponseReturnValue:
    """The form, filled with what is known."""
    row = own_title(title_id)
    return _form(Typed.about(row), row=row)


@blueprint.post("/titles/<title_id>/change")
@manages
def changed(title_id: str) -> ResponseReturnValue:
    """Change it. Files that were judged already stay as they were judged."""
    row = own_title(title_id)
    typed = Typed.of(request.form)
    try:
        told = new_title(typed.members(), owner())
        refuse_taken_isbn(store(), owner(), told, but=row.id)
        store().titles.change(row.id, owner(), asdict(told))
    except BadTitle as bad:
        return _form(typed, bad, row=row, status=422)
    return redirect(url_for("web.title", title_id=row.id), 303)


def _printing(title: Title) -> str:
    return title.profile_id + (BETWEEN + title.trim if title.trim else "")


def _last_printing() -> str:
    """That of the title that was last in hand: a press mostly prints with one printer, in one size."""
    last = store().titles.page(owner(), size=1).items
    return _printing(last[0].title) if last else ""


def _from_file(row: Inspection, typed: Typed) -> Typed:
    """What the file itself says, where nothing was typed."""
    report = report_of(row)
    clues = clues_of(row.file_name, row.title, report)
    author = ""
    if report is not None:
        try:
            author = kept_facts(store(), row).document.author or ""
        except Missing:
            author = ""
    return Typed(
        author=typed.author or tidy_text(shown(author))[:LONGEST],
        title=typed.title or tidy_text(shown(next(iter(clues.titles), "")))[:LONGEST],
        isbn=typed.isbn or next(iter(clues.isbns), ""),
        expected_pages=typed.expected_pages,
        printing=typed.printing,
        arrival=typed.arrival,
    )


def _form(
    typed: Typed, bad: BadTitle | None = None, *, row: Title | None = None, status: int = 200
) -> ResponseReturnValue:
    page = render_template(
        "web/desk/title_form.html",
        typed=typed,
        bad=dict(bad.errors) if bad is not None else {},
        card=title_card(row) if row is not None else None,
        printings=[_choices(known.profile) for known in known_profiles(owner()).values()],
        longest=LONGEST,
        longest_note=LONGEST_NOTE,
    )
    return make_response(page, status)


def _choices(profile: Profile) -> tuple[str, str, list[tuple[str, str]]]:
    """A printer's id and name, and its trims: each value of the field, and its words."""
    trims = [(f"{profile.id}{BETWEEN}{name}", name) for name in reversed(trims_of(profile))]
    return profile.id, shown(profile.name), trims
