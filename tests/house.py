"""The two houses that a service may live in: SQLite and a folder, or PostgreSQL and a bucket.

What goes through :class:`Settings` is tried in either of them, from what ``house`` gives: fixtures of ``tests/store``,
``tests/queue`` and ``tests/api`` ask it for the environment of a fresh house. Both are tried where what is kept matters
(:data:`IN_BOTH`), and everywhere with ``--houses both``.
"""

from __future__ import annotations

import os
import shutil
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.needs import needs_module, needs_postgres
from tests.store.postgres import fresh_database, running_postgres
from worker.settings import Settings
from worker.store.database import Database

__all__ = ["IN_BOTH", "SMALL", "House", "houses_for", "postgres", "s3_url", "the_house"]

SMALL, LARGE = "sqlite-folder", "postgres-bucket"

IN_BOTH = (
    "tests/store/",
    "tests/queue/test_callbacks.py",
    "tests/queue/test_endings.py",
    "tests/queue/test_figures.py",
    "tests/queue/test_nothing_is_lost.py",
    "tests/queue/test_pulse.py",
    "tests/api/test_end_to_end.py",
    "tests/api/test_inspections.py",
    "tests/api/test_results.py",
    "tests/api/test_upload.py",
)
"""Where what is kept matters; the rest of the tests of the API and the pages are about what is said. How pictures and a
proof come to be is tried in the small house, and that they are kept in the large one by ``test_end_to_end``."""

BUCKET = "books"
ROOT = Path(__file__).resolve().parents[1]


class House:
    """One kind of house. ``postgres`` is the URL of a server and ``s3_url`` of a bucket, None in the small one.

    ``ready`` is a database whose tables are made: a file, or a URL on that server. Each house begins with a copy of it,
    as one does that was opened before; how tables come to be is tried in ``tests/store``.
    """

    def __init__(self, name: str, ready: str, postgres: str | None = None, s3_url: str | None = None) -> None:
        self.name = name
        self._ready = ready
        self._postgres = postgres
        self._s3_url = s3_url

    @contextmanager
    def furnished(self, data: Path) -> Iterator[dict[str, str]]:
        """The settings of a house with the data folder ``data``, nothing in it, as the environment has them."""
        if self._postgres is None:
            shutil.copy(self._ready, data)
            yield {}
            return
        with fresh_database(self._postgres, like=self._ready) as url:
            yield {"PRESSWORTHY_DATABASE_URL": url, "PRESSWORTHY_STORE_URL": f"{self._s3_url}/{uuid.uuid4().hex}"}


def houses_for(metafunc: pytest.Metafunc) -> list[object]:
    """The houses that a test is run in."""
    small = metafunc.definition.get_closest_marker("sqlite_folder") is not None
    place = metafunc.definition.path.relative_to(ROOT).as_posix()
    both = metafunc.config.getoption("houses") == "both" or place.startswith(IN_BOTH)
    if small or not both:
        return [SMALL]
    return [SMALL, pytest.param(LARGE, marks=[needs_postgres, needs_module("moto"), needs_module("flask_cors")])]


@pytest.fixture(scope="session", name="house")
def the_house(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """The house that this test is run in: see :func:`houses_for`."""
    if request.param == SMALL:
        settings = Settings.from_environment(tmp_path_factory.mktemp("house"), {})
        yield House(SMALL, _tables_made(settings.database_url).removeprefix("sqlite:///"))
        return
    postgres = request.getfixturevalue("postgres")
    with fresh_database(postgres) as url:
        yield House(LARGE, _tables_made(url), postgres, request.getfixturevalue("s3_url"))


def _tables_made(url: str) -> str:
    database = Database(url)
    database.migrate()
    database.close()
    return url


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The URL of a PostgreSQL server's maintenance database."""
    with running_postgres() as url:
        yield url


@pytest.fixture(scope="session")
def s3_url() -> Iterator[str]:
    """A bucket on a server that speaks S3 over HTTP; its keys are in the environment, as they are in a real one's."""
    import boto3
    from moto.server import ThreadedMotoServer

    server = ThreadedMotoServer(port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    known = {
        "AWS_ENDPOINT_URL": f"http://{host}:{port}",
        "AWS_ACCESS_KEY_ID": "test",
        "AWS_SECRET_ACCESS_KEY": "test",
        "AWS_REGION": "us-east-1",
        "AWS_ALLOW_HTTP": "true",
    }
    before = {name: os.environ.get(name) for name in known}
    os.environ.update(known)
    boto3.client("s3", region_name="us-east-1", endpoint_url=known["AWS_ENDPOINT_URL"]).create_bucket(Bucket=BUCKET)
    yield f"s3://{BUCKET}"
    for name, value in before.items():
        if value is None:
            os.environ.pop(name)
        else:
            os.environ[name] = value
    server.stop()
