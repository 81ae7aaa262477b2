"""The printer of a title, narrowed to the trim that was agreed on; and the trims that one may choose from."""

from __future__ import annotations

from service.intake import profile_named
from worker.profiles import Profile
from worker.profiles.models import Trim
from worker.store import Title
from worker.units import POINTS_IN, show_area

__all__ = ["BadTrim", "profile_of", "trim_named", "trims_of"]


class BadTrim(ValueError):
    """The printer has no such trim; the message says which it has."""


def trims_of(profile: Profile) -> dict[str, Trim]:
    """The sizes that a printer cuts to, each by its name: ``6 × 9 in``."""
    return {_name(trim): trim for trim in reversed(profile.interior.trims)}


def trim_named(typed: str, profile: Profile) -> str | None:
    """The trim's own name; None for an empty field. Raises :class:`BadTrim`."""
    wanted = " ".join(typed.replace("x", "×").replace("×", " × ").split())
    if not wanted:
        return None
    names = list(reversed(trims_of(profile)))
    if wanted not in names:
        raise BadTrim(f"{profile.name} does not cut to that. It has {', '.join(names)}. Choose one, or leave it open.")
    return wanted


def profile_of(title: Title) -> Profile:
    """By what a title's files are judged: its printer's profile, with the one trim that was agreed on.

    Its name says so. A trim that the printer has no longer is passed over. Raises :class:`Problem` where there is no
    such printer any more.
    """
    profile = profile_named(title.profile_id, title.owner)
    trim = trims_of(profile).get(title.trim or "")
    if trim is None:
        return profile
    interior = profile.interior.model_copy(update={"trims": (trim,)})
    return profile.model_copy(update={"interior": interior, "name": f"{profile.name}, cut to {title.trim}"})


def _name(trim: Trim) -> str:
    unit = next(unit for unit in POINTS_IN if trim.width.text.endswith(unit))
    return show_area(trim.width, trim.height, unit).partition(" (")[0]
