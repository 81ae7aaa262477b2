"""The web pages' app on a folder of its own, and a visitor who reads pages and sends forms as a browser would."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from flask import Flask

from service.app import create_app
from service.web import sign_in
from service.web.attempts import Attempts
from tests.house import House
from tests.web.visit import Visit
from worker.settings import Settings
from worker.store import Store, open_store

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Chromium, started once for all of a module's tests."""
    from tests.web.browser import running_browser

    with running_browser() as found:
        yield found


@pytest.fixture
def address(app: Flask) -> Iterator[str]:
    """The address of a service that asks for no token, on a port of this machine."""
    from tests.web.browser import served

    with served(app) as found:
        yield found


@pytest.fixture
def guarded_address(guarded_app: Flask) -> Iterator[str]:
    """The address of one that asks for one."""
    from tests.web.browser import served

    with served(guarded_app) as found:
        yield found


@pytest.fixture
def book(sample_pdfs: Path) -> Path:
    """A book to send."""
    return sample_pdfs / "second-harbour.pdf"


@pytest.fixture
def settings(tmp_path: Path, house: House) -> Iterator[Settings]:
    """A house of its own; a broker that nobody answers for, so that nothing leaves the test."""
    nowhere = f"redis+socket://{tmp_path}/nobody.sock"
    with house.furnished(tmp_path) as environment:
        found = Settings.from_environment(tmp_path, environment)
        yield replace(found, given_broker_url=nowhere, asks_for_token=False)


@pytest.fixture
def guarded(settings: Settings) -> Settings:
    """The same, where a token is asked for."""
    return replace(settings, asks_for_token=True)


@pytest.fixture
def store(settings: Settings) -> Iterator[Store]:
    """What the app keeps, seen from outside."""
    opened = open_store(settings)
    yield opened
    opened.close()


@pytest.fixture(autouse=True)
def fresh_attempts(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test's failed sign-ins count against the next."""
    monkeypatch.setattr(sign_in, "attempts", Attempts())


@pytest.fixture
def app(settings: Settings) -> Flask:
    """A service that asks for no token."""
    return create_app(settings)


@pytest.fixture
def guarded_app(guarded: Settings) -> Flask:
    """A service that asks for one."""
    return create_app(guarded)


@pytest.fixture
def visit(app: Flask) -> Visit:
    """A visitor of a service that asks for no token."""
    return Visit(app.test_client())
