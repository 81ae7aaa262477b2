"""The database: SQLite (WAL) by default, PostgreSQL by URL; its tables are brought up to date as a process starts."""

from __future__ import annotations

import contextlib
import fcntl
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, Engine, create_engine, event, make_url, text
from sqlalchemy.engine import URL
from sqlalchemy.orm import Session, sessionmaker
from sqlalchemy.pool import ConnectionPoolEntry

MIGRATIONS = Path(__file__).parent / "migrations"
PATIENCE_MS = 15_000
"""How long a writer waits for another one in SQLite."""

CONNECTING = {"connect_timeout": "5"}
"""Seconds within which a PostgreSQL server answers, or is taken for absent; the URL may say otherwise."""

_ADVISORY_LOCK = 7_077_359  # any number, the same in every process of ours
_WRITES = "pressworthy_writes"


class Database:
    """Sessions that read, and sessions that write. Objects that leave a session keep the values they had there."""

    def __init__(self, url: str) -> None:
        self._engine = _engine(make_url(url))
        writing = self._engine.execution_options(**{_WRITES: True})
        self._reading = sessionmaker(self._engine, expire_on_commit=False)
        self._writing = sessionmaker(writing, expire_on_commit=False)

    @contextlib.contextmanager
    def read(self) -> Iterator[Session]:
        """A transaction that only reads."""
        with self._reading() as session:
            yield session

    @contextlib.contextmanager
    def write(self) -> Iterator[Session]:
        """A transaction that may read and then write; committed at its end, rolled back by an exception.

        In SQLite it is the only writer from its first statement on (BEGIN IMMEDIATE): one that begins as a reader
        fails when another has written meanwhile.
        """
        with self._writing.begin() as session:
            yield session

    def migrate(self) -> None:
        """Bring the tables up to date. Several processes may do so at once: one does, the others wait."""
        with _one_at_a_time(self._engine.url):
            if self._engine.dialect.name == "sqlite":
                _keep_a_write_ahead_log(self._engine)
            with self._engine.execution_options(**{_WRITES: True}).begin() as connection:
                if connection.dialect.name == "postgresql":
                    connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _ADVISORY_LOCK})
                upgrade(connection)

    def forget(self) -> None:
        """Empty SQLite's log of what was written, so that nothing deleted is left in it; at once, or not this time.

        PostgreSQL sees to it itself: a deleted row is gone with the next VACUUM, which its autovacuum starts.
        """
        if self._engine.dialect.name != "sqlite":
            return
        with contextlib.closing(self._engine.raw_connection()) as connection:
            cursor = connection.cursor()
            cursor.execute("PRAGMA busy_timeout = 0")  # whoever reads or writes goes first: there is another sweep
            try:
                cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
            finally:
                cursor.execute(f"PRAGMA busy_timeout = {PATIENCE_MS}")

    def check(self) -> None:
        """Raise SQLAlchemy's own error unless the database answers."""
        with self.read() as session:
            session.execute(text("SELECT 1"))

    def close(self) -> None:
        """Give back every connection."""
        self._engine.dispose()


def upgrade(connection: Connection) -> None:
    """Run the migrations that this database has not seen, in the transaction of ``connection``."""
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def _engine(url: URL) -> Engine:
    """What goes into a statement (titles, names of files) is shown in no error, and so in no log."""
    if url.get_backend_name() == "sqlite":
        if url.database and url.database != ":memory:":
            Path(url.database).parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        engine = create_engine(url, hide_parameters=True)
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
        return engine
    if url.drivername in ("postgres", "postgresql"):
        url = url.set(drivername="postgresql+psycopg")
    return create_engine(url.update_query_dict(CONNECTING | dict(url.query)), pool_pre_ping=True, hide_parameters=True)


def _set_up_sqlite(connection: sqlite3.Connection, _: ConnectionPoolEntry) -> None:
    connection.isolation_level = None  # the driver begins nothing by itself: see _begin_sqlite
    connection.execute(f"PRAGMA busy_timeout = {PATIENCE_MS}")
    connection.execute("PRAGMA synchronous = FULL")  # a commit survives a power cut
    connection.execute("PRAGMA secure_delete = ON")  # what is deleted is overwritten with zeros


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get(_WRITES)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _keep_a_write_ahead_log(engine: Engine) -> None:
    """Readers then never wait for the writer. The database remembers it."""
    raw = engine.raw_connection()
    try:
        raw.cursor().execute("PRAGMA journal_mode = WAL")
    finally:
        raw.close()


@contextlib.contextmanager
def _one_at_a_time(url: URL) -> Iterator[None]:
    """A lock beside an SQLite file, while its journal changes and its tables are made."""
    if url.get_backend_name() != "sqlite" or not url.database or url.database == ":memory:":
        yield
        return
    with Path(f"{url.database}.lock").open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield
