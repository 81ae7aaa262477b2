"""What the pages need of the house around them: what is kept, how it is set up, which printers there are."""

from __future__ import annotations

from collections.abc import Mapping

from flask import Flask, current_app

from service.web.troubles import NoInspection
from worker.profiles import Profile, builtin_profiles
from worker.settings import Settings
from worker.store import Inspection, Store

__all__ = ["own_inspection", "owner", "profiles", "settings", "store"]


def settings(app: Flask | None = None) -> Settings:
    """How this machine is set up."""
    found: Settings = (app or current_app).extensions["settings"]
    return found


def store() -> Store:
    """What is kept."""
    found: Store = current_app.extensions["store"]
    return found


def profiles() -> Mapping[str, Profile]:
    """The printers that can be chosen, by id."""
    return builtin_profiles()


def owner() -> str:
    """Whose inspections this visitor sees; the door has let nobody in who has none."""
    from service.web.visitor import visitor

    found = visitor()
    assert found
    return found.owner


def own_inspection(inspection_id: str) -> Inspection:
    """The visitor's inspection of that id. Raises :class:`NoInspection`, for a stranger's too."""
    row = store().rows.get(inspection_id, owner())
    if row is None:
        raise NoInspection
    return row
