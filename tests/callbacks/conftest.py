"""Stores in databases of both kinds, that another process may open too."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.store.conftest import a_store, database_url
from worker.store import Store

__all__ = ["database_url", "store"]


@pytest.fixture
def store(database_url: str, tmp_path: Path) -> Iterator[Store]:
    """A store whose leases last a second."""
    opened = a_store(database_url, tmp_path / "files")
    yield opened
    opened.close()
