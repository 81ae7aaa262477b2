"""The app on a folder of its own, a program that calls it, and the means to look behind it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from service.app import create_app
from tests.house import House
from worker.limits import Limits
from worker.settings import Settings
from worker.store import Store, open_store

MOST_BYTES = 600_000


@pytest.fixture
def settings(tmp_path: Path, house: House) -> Iterator[Settings]:
    """A house of its own; a broker that nobody answers for; room for small books only."""
    nowhere = f"redis+socket://{tmp_path}/nobody.sock"
    with house.furnished(tmp_path) as environment:
        found = Settings.from_environment(tmp_path, environment)
        yield replace(found, given_broker_url=nowhere, asks_for_token=False, limits=Limits(bytes=MOST_BYTES))


@pytest.fixture
def app(settings: Settings) -> Flask:
    """A service that asks for no token."""
    return create_app(settings)


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """A program that calls it."""
    return app.test_client()


@pytest.fixture
def guarded(settings: Settings) -> FlaskClient:
    """A program that calls a service which asks for a token."""
    return create_app(replace(settings, asks_for_token=True)).test_client()


@pytest.fixture
def store(settings: Settings) -> Iterator[Store]:
    """What the app keeps, seen from outside."""
    opened = open_store(settings)
    yield opened
    opened.close()
