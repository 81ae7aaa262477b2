"""Tables that are made by whoever comes first, and a database that several processes share."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import alembic.command
import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from sqlalchemy import column, create_engine, make_url, select, table, text

from tests.needs import needs_postgres
from tests.store.conftest import a_store, new
from worker.store import SCOPES, Members, StoreDown, Tokens
from worker.store.database import MIGRATIONS, Database
from worker.store.models import Base, Inspection

ROOT = Path(__file__).resolve().parents[2]

_OPENS_AND_WRITES = """
import sys
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from tests.store.conftest import a_store, new
store = a_store(sys.argv[1], Path(sys.argv[2]))
for _ in range(10):
    assert store.rows.claim(store.rows.create(new()).id) is not None
"""


def test_four_processes_start_at_once_on_an_empty_database(database_url: str, tmp_path: Path) -> None:
    command = [sys.executable, "-c", _OPENS_AND_WRITES, database_url, str(tmp_path / "files")]
    started = [subprocess.Popen(command, cwd=ROOT, stderr=subprocess.PIPE) for _ in range(4)]
    complaints = [process.communicate(timeout=60)[1].decode() for process in started]
    assert [process.returncode for process in started] == [0] * 4, complaints
    store = a_store(database_url, tmp_path / "files")
    assert len(store.rows.page("local", state="measuring", size=200).items) == 40
    store.close()


def test_the_migrations_make_what_the_models_say(database_url: str) -> None:
    database = Database(database_url)
    database.migrate()
    database.migrate()  # a second time changes nothing
    database.close()
    engine = create_engine(make_url(database_url).set(drivername=_driver(database_url)))
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), Base.metadata) == []
    engine.dispose()


def test_sqlite_keeps_a_write_ahead_log_and_waits(tmp_path: Path) -> None:
    database = Database(f"sqlite:///{tmp_path / 'folder' / 'rows.sqlite3'}")
    database.migrate()
    with database.read() as session:
        assert session.scalar(text("PRAGMA journal_mode")) == "wal"
        assert (
            session.scalar(text("PRAGMA synchronous")) == 2
        )  # FULL: https://sqlite.org/pragma.html#pragma_synchronous
        assert session.scalar(text("PRAGMA busy_timeout")) >= 5000
    database.close()


def test_a_database_that_is_away_is_said_to_be(tmp_path: Path) -> None:
    store = a_store(f"sqlite:///{tmp_path / 'rows.sqlite3'}", tmp_path / "files")
    store.check()
    store.close()
    (tmp_path / "rows.sqlite3").unlink()
    (tmp_path / "rows.sqlite3").mkdir()
    with pytest.raises(StoreDown, match="database"):
        store.check()


@needs_postgres
def test_a_postgresql_that_comes_back_is_used_again(postgres: str, tmp_path: Path) -> None:
    from tests.store.postgres import fresh_database

    with fresh_database(postgres) as url:
        store = a_store(url, tmp_path / "files")
        row = store.rows.create(new())
        engine = create_engine(make_url(postgres).set(drivername="postgresql+psycopg"))
        with engine.connect() as connection:
            connection.execute(
                text("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = :name"),
                {"name": make_url(url).database},
            )
        engine.dispose()
        assert store.rows.get(row.id) is not None
        store.close()


def _driver(url: str) -> str:
    return "sqlite" if url.startswith("sqlite") else "postgresql+psycopg"


def test_rows_of_an_older_version_are_there_after_the_upgrade(tmp_path: Path) -> None:
    """A database that the first version made, with an inspection in it."""
    url = f"sqlite:///{tmp_path / 'rows.sqlite3'}"
    engine = create_engine(url)
    with engine.begin() as connection:
        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS))
        config.attributes["connection"] = connection
        alembic.command.upgrade(config, "0001")
        connection.execute(
            text(
                "INSERT INTO inspections (id, owner, state, file_name, sha256, bytes, profile_id, profile_json, "
                "attempts, progress_done, created_at, expires_at) VALUES "
                "('ins_old', 'local', 'queued', 'b.pdf', '', 1, 'p', '{}', 0, 0, '2026-11-25 09:30:00', "
                "'2026-12-25 09:30:00')"
            )
        )
    engine.dispose()
    database = Database(url)
    database.migrate()
    with database.read() as session:
        row = session.get(Inspection, "ins_old")
        assert row is not None
        assert (row.file_name, row.against) == ("b.pdf", None)
    database.close()


def test_each_token_of_an_older_version_becomes_a_member_with_what_it_owned(database_url: str) -> None:
    """Two tokens of one name, one of them revoked, as they could be made before there were members."""
    engine = create_engine(make_url(database_url).set(drivername=_driver(database_url)))
    moment = datetime(2026, 11, 1, tzinfo=UTC)
    with engine.begin() as connection:
        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS))
        config.attributes["connection"] = connection
        alembic.command.upgrade(config, "0002")
        tokens = table("tokens", *map(column, ("id", "name", "hash", "created_at", "revoked_at")))
        for token_id, secret, revoked in (("tok_old", "former", moment), ("tok_new", "pw_present", None)):
            digest = sha256(secret.encode()).hexdigest()
            values = {"id": token_id, "name": "the mill", "hash": digest, "created_at": moment, "revoked_at": revoked}
            connection.execute(tokens.insert().values(values))
        facts: dict[str, object] = {
            "id": "ins_" + "a" * 26,
            "owner": "tok_new",
            "state": "cancelled",
            "file_name": "a.pdf",
        }
        facts |= {"sha256": "ab" * 32, "bytes": 1, "profile_id": "p", "profile_json": "{}", "attempts": 0}
        facts |= {"progress_done": 0, "created_at": moment, "expires_at": moment}
        connection.execute(table("inspections", *map(column, facts)).insert().values(facts))
    engine.dispose()
    database = Database(database_url)
    database.migrate()
    found = Tokens(database).find("pw_present")
    assert found is not None
    assert (found.member.name, found.member.circle, found.token.scopes) == ("the mill", "house", frozenset(SCOPES))
    with database.read() as session:
        assert session.scalars(select(Inspection.owner)).all() == [found.member.id]
    ended = [member.name for member in Members(database).all() if member.ended_at is not None]
    assert ended == ["the mill (tok_old)"]
    database.close()
