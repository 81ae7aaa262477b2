"""What all tests share: the sample books, and where they stand."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import settings

from tests.books.fixtures import book_of, novel
from tests.house import houses_for, postgres, s3_url, the_house
from tests.measured import forget_measured

__all__ = ["book_of", "novel", "postgres", "s3_url", "sample_pdfs", "the_house"]


def pytest_addoption(parser: pytest.Parser) -> None:
    """Where tests that keep something are run: see :mod:`tests.house`."""
    parser.addoption("--houses", choices=["usual", "both"], default="usual", help="try everything in both houses")


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Run a test that needs a house in each that is meant for it."""
    if "house" in metafunc.fixturenames:
        metafunc.parametrize("house", houses_for(metafunc), indirect=True, scope="session")


def pytest_sessionfinish(session: pytest.Session) -> None:
    """At the end of the whole run, drop what its processes have shared."""
    if not hasattr(session.config, "workerinput"):
        forget_measured()


@pytest.fixture(scope="session")
def sample_pdfs() -> Path:
    """The folder of the sample books."""
    return Path(__file__).resolve().parents[1] / "sample_pdfs"


# A law holds or it does not; how long a check of it takes on a busy machine is no part of it.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
