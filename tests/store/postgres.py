"""A PostgreSQL server of one's own: a cluster in a temporary folder, on a Unix socket, gone afterwards."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
from sqlalchemy import make_url

from tests.needs import postgres_programs, postgres_url


@contextmanager
def running_postgres() -> Iterator[str]:
    """The URL of a server: the one that the environment names, or a private one."""
    given = postgres_url()
    if given:
        yield given
        return
    programs = postgres_programs()
    assert programs is not None
    folder = Path(tempfile.mkdtemp(prefix="pw-pg-", dir="/tmp"))  # a socket's path must be short
    user = _user_of(folder)
    try:
        new_cluster: list[Path | str] = [programs / "initdb", "-D", folder / "data", "-U", "test", "-A", "trust"]
        _run([*new_cluster, "--no-sync"], user)
        options = f"-k {folder} -c listen_addresses='' -c fsync=off"
        control: list[Path | str] = [programs / "pg_ctl", "-D", folder / "data", "-w"]
        _run([*control, "-l", folder / "log", "-o", options, "start"], user)
        try:
            yield f"postgresql://test@/postgres?host={folder}"
        finally:
            _run([*control, "-m", "immediate", "stop"], user)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def fresh_database(server: str, like: str | None = None) -> Iterator[str]:
    """The URL of an empty database on that server; with ``like``, the URL of one that nobody uses, of a copy of it."""
    name = f"test_{uuid.uuid4().hex[:12]}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"' + (f' TEMPLATE "{make_url(like).database}"' if like else ""))
        try:
            yield make_url(server).set(database=name).render_as_string(hide_password=False)
        finally:
            connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def _user_of(folder: Path) -> str | None:
    """PostgreSQL refuses to run as root: the account that Debian makes for it runs it then."""
    if os.getuid() != 0:
        return None
    account = pwd.getpwnam("postgres")
    os.chown(folder, account.pw_uid, account.pw_gid)
    return account.pw_name


def _run(command: list[Path | str], user: str | None) -> None:
    # Not captured: the server that pg_ctl starts would keep the pipe open.
    subprocess.run(command, user=user, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd="/")
