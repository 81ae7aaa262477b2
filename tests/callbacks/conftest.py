"""Stores of both kinds, as the store's own tests have them."""

from __future__ import annotations

from tests.store.conftest import database_url, store

__all__ = ["database_url", "store"]
