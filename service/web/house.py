"""What the pages need of the house around them: what is kept, how it is set up, which printers there are."""

from __future__ import annotations

from collections.abc import Mapping

from flask import current_app
from flask.sansio.app import App

from worker.profiles import Profile, builtin_profiles
from worker.settings import Settings
from worker.store import Store

__all__ = ["profiles", "settings", "store"]


def settings(app: App | None = None) -> Settings:
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
