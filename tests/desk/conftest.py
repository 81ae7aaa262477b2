"""The app on a folder of its own, as the web pages' tests have it."""

from __future__ import annotations

from tests.web.conftest import app, fresh_attempts, guarded, guarded_app, settings, store, visit

__all__ = ["app", "fresh_attempts", "guarded", "guarded_app", "settings", "store", "visit"]
