"""The printers that a visitor can choose, and the visitor's own profiles: pasted or as a file, changed, deleted."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import chain, count

from flask import make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from service.access import manages
from service.known_profiles import KnownProfile, known_profile, known_profiles
from service.own_profiles import MOST_BYTES, flaws_of, keep_profile, let_go, read_profile
from service.problems import CHANGED_MEANWHILE, Problem
from service.web.printers import printer_of, printers
from service.web.room import blueprint
from service.web.troubles import NoPrinter
from service.web.visitor import owner
from worker.profiles import ProfileError
from worker.store import KeptProfile
from worker.store.profiles import Agreed
from worker.units import show_size

__all__ = ["all_printers", "delete_printer", "keep_printer", "new_printer", "printer", "printer_deletion"]

LIKE = "common-paperback"
"""What one starts from where nothing else is chosen."""

EMPTY = "Paste the profile, or choose its file."
CHANGED = (
    "This profile has been changed meanwhile, in another window or by a program. Nothing was kept; "
    "look at it again before you change it."
)
EXISTS = "You have a profile of this id already. Change that one, or give this one another id."


@dataclass(frozen=True)
class Typed:
    """A form as it stands. ``replaces`` is the id of the profile that it changes, as of ``mark``; empty: a new one."""

    text: str
    shared: bool = False
    replaces: str = ""
    mark: str = ""


@blueprint.get("/printers")
def all_printers() -> ResponseReturnValue:
    """Every printer that can be chosen."""
    return render_template("web/printers.html", printers=printers(known_profiles(owner()).values()))


@blueprint.get("/printers/new")
@manages
def new_printer() -> ResponseReturnValue:
    """The form for a profile of one's own, which starts from another."""
    like = known_profile(request.args.get("like", LIKE), owner()) or known_profile(LIKE, owner())
    return _form(Typed(_renamed(like) if like else ""))


@blueprint.post("/printers")
@manages
def keep_printer() -> ResponseReturnValue:
    """Keep what was pasted or given as a file, or say in the form what has to be changed."""
    typed, data = _sent()
    try:
        if not data.strip():
            return _form(typed, EMPTY, 422)
        if len(data) > MOST_BYTES:
            return _form(
                typed, f"The profile is larger than {show_size(MOST_BYTES)}. It is a page or two of text.", 413
            )
        read = read_profile(data, is_json=data.lstrip().startswith(b"{"), id_in_address=typed.replaces or None)
        keep_profile(read, owner(), shared="circle" if typed.shared else "private", agreed=_agreed(typed))
    except ProfileError as error:
        return _form(typed, "The profile has to be changed. Nothing was kept.", 422, flaws_of(error))
    except Problem as problem:
        return _form(typed, problem.detail, problem.kind.status)
    return redirect(url_for("web.printer", profile_id=read.profile.id), 303)


@blueprint.get("/printers/<profile_id>")
def printer(profile_id: str) -> ResponseReturnValue:
    """One printer: one's own to change, any other to read and to start from."""
    known = _known(profile_id)
    if known.source == "own":
        return _form(Typed(known.toml, known.shared == "circle", profile_id, known.mark))
    return render_template("web/printer.html", printer=printer_of(known), text=known.toml)


@blueprint.get("/printers/<profile_id>/deletion")
@manages
def printer_deletion(profile_id: str) -> ResponseReturnValue:
    """Ask before anything is deleted."""
    return render_template("web/printer_deletion.html", printer=printer_of(_known(profile_id, own=True)))


@blueprint.post("/printers/<profile_id>/deletion")
@manages
def delete_printer(profile_id: str) -> ResponseReturnValue:
    """Delete the visitor's own profile; reports keep it."""
    _known(profile_id, own=True)
    let_go(profile_id, owner(), agreed=lambda _: None)
    return redirect(url_for("web.all_printers"), 303)


def _known(profile_id: str, *, own: bool = False) -> KnownProfile:
    """Raises :class:`NoPrinter`."""
    known = known_profile(profile_id, owner())
    if known is None or (own and known.source != "own"):
        raise NoPrinter
    return known


def _renamed(known: KnownProfile) -> str:
    """The profile's text under an id that is free."""
    taken = known_profiles(owner())
    names = chain(["my-printer"], (f"my-printer-{number}" for number in count(2)))
    free = next(name for name in names if name not in taken)
    return re.sub(r'(?m)^(id\s*=\s*)"[^"]*"', rf'\g<1>"{free}"', known.toml, count=1)


def _sent() -> tuple[Typed, bytes]:
    """What stands in the form, and the profile's bytes: those of the file where one was chosen."""
    file = request.files.get("file")
    data = file.read() if file is not None and file.filename else request.form.get("text", "").encode()
    data = data.replace(b"\r\n", b"\n")
    typed = Typed(
        text=data.decode("utf-8", "replace"),
        shared=request.form.get("shared") == "circle",
        replaces=request.form.get("replaces", "")[:100],
        mark=request.form.get("mark", "")[:100],
    )
    return typed, data


def _agreed(typed: Typed) -> Agreed:
    def agreed(row: KeptProfile | None) -> None:
        if not typed.replaces and row is not None:
            raise Problem(CHANGED_MEANWHILE, EXISTS)
        if typed.replaces and (row is None or row.mark != typed.mark):
            raise Problem(CHANGED_MEANWHILE, CHANGED)

    return agreed


def _form(
    typed: Typed, problem: str = "", status: int = 200, flaws: list[dict[str, object]] | None = None
) -> ResponseReturnValue:
    page = render_template(
        "web/own_printer.html",
        typed=typed,
        problem=problem,
        flaws=flaws or [],
        most_size=show_size(MOST_BYTES),
    )
    return make_response(page, status)
