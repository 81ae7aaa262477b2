"""What the app is built around, for whoever answers a request: what is kept, and how this machine is set up."""

from __future__ import annotations

from flask import current_app
from flask.sansio.app import App

from worker.settings import Settings
from worker.store import Store

__all__ = ["furnish", "settings", "store"]

_SETTINGS, _STORE = "settings", "store"


def furnish(app: App, settings: Settings, store: Store) -> None:
    """Give an app what it is built around."""
    app.extensions |= {_SETTINGS: settings, _STORE: store}


def settings(app: App | None = None) -> Settings:
    """How this machine is set up."""
    found: Settings = (app or current_app).extensions[_SETTINGS]
    return found


def store() -> Store:
    """What is kept."""
    found: Store = current_app.extensions[_STORE]
    return found
