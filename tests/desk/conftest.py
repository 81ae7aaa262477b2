"""The app on a folder of its own, as the web pages' tests have it."""

from __future__ import annotations

from tests.web.conftest import (
    address,
    app,
    book,
    browser,
    fresh_attempts,
    guarded,
    guarded_app,
    settings,
    store,
    visit,
)

__all__ = [
    "address",
    "app",
    "book",
    "browser",
    "fresh_attempts",
    "guarded",
    "guarded_app",
    "settings",
    "store",
    "visit",
]
