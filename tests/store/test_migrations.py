"""Every version's tables, with rows in them, are brought up to date on both databases."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import alembic.command
import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, MetaData, Table, create_engine, insert, make_url, text

from worker.store import Inspection, Token
from worker.store.database import MIGRATIONS, Database
from worker.store.models import Base

OLD_INSPECTION = f"ins_{'a' * 26}"
OLD_TOKEN = f"tok_{'a' * 26}"


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    return config


def revisions() -> list[str]:
    """All of them, the first one first."""
    return [each.revision for each in ScriptDirectory.from_config(_config()).walk_revisions()][::-1]


@contextmanager
def upgraded_to(revision: str, url: str) -> Iterator[Connection]:
    """A database as the version of that revision made it."""
    driver = "sqlite" if url.startswith("sqlite") else "postgresql+psycopg"
    engine = create_engine(make_url(url).set(drivername=driver))
    with engine.begin() as connection:
        config = _config()
        config.attributes["connection"] = connection
        alembic.command.upgrade(config, revision)
        yield connection
    engine.dispose()


def a_row_in(connection: Connection) -> None:
    """An inspection and a token, with what every version has known of them."""
    moment = text("'2026-11-25 09:30:00+00:00'")
    known = {
        "inspections": {
            "id": OLD_INSPECTION,
            "owner": "local",
            "state": "queued",
            "file_name": "b.pdf",
            "sha256": "ab" * 32,
            "bytes": 1,
            "profile_id": "p",
            "profile_json": "{}",
            "attempts": 0,
            "progress_done": 0,
            "created_at": moment,
            "expires_at": moment,
        },
        "tokens": {"id": OLD_TOKEN, "name": "desk", "hash": "cd" * 32, "created_at": moment},
    }
    for name, values in known.items():
        connection.execute(insert(Table(name, MetaData(), autoload_with=connection)).values(values))


@pytest.mark.parametrize("revision", revisions())
def test_rows_of_an_older_version_are_there_after_the_upgrade(database_url: str, revision: str) -> None:
    with upgraded_to(revision, database_url) as connection:
        a_row_in(connection)
    database = Database(database_url)
    database.migrate()
    with database.read() as session:
        row, token = session.get(Inspection, OLD_INSPECTION), session.get(Token, OLD_TOKEN)
        assert row is not None
        assert token is not None
        assert (row.file_name, row.state, row.against) == ("b.pdf", "queued", None)
        assert token.hash == "cd" * 32
        assert compare_metadata(MigrationContext.configure(session.connection()), Base.metadata) == []
    database.close()


def test_there_is_one_line_of_revisions() -> None:
    assert len(ScriptDirectory.from_config(_config()).get_heads()) == 1
