"""Stores to fill and empty, in both houses, and databases of both kinds; PostgreSQL where it is installed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from tests.house import House
from tests.needs import needs_postgres
from tests.store.postgres import fresh_database
from worker.settings import Settings
from worker.store import NewInspection, Store, new_inspection_id, open_store
from worker.store.database import Database
from worker.store.folder import FolderBytes
from worker.store.rows import Rows


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=needs_postgres)])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """An empty database of each kind."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'rows.sqlite3'}"
        return
    with fresh_database(request.getfixturevalue("postgres")) as url:
        yield url


@pytest.fixture
def store(house: House, tmp_path: Path) -> Iterator[Store]:
    """A store whose leases last a second, in each house."""
    with house.furnished(tmp_path) as environment:
        opened = open_store(replace(Settings.from_environment(tmp_path, environment), lease_seconds=1))
        yield opened
        opened.close()


def a_store(url: str, files: Path, *, lease: timedelta = timedelta(seconds=1)) -> Store:
    """A store at ``url``, its tables made."""
    database = Database(url)
    database.migrate()
    return Store(database, Rows(database, kept=timedelta(days=30), lease=lease), FolderBytes(files))


def new(owner: str = "local", **known: object) -> NewInspection:
    """An upload of an invented book."""
    facts: dict[str, object] = {
        "id": new_inspection_id(),
        "owner": owner,
        "file_name": "second-harbour.pdf",
        "sha256": "ab" * 32,
        "bytes": 1000,
        "profile_id": "common-paperback",
        "profile_json": "{}",
    }
    return NewInspection(**(facts | known))  # type: ignore[arg-type]
