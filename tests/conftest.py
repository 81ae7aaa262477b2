"""What all tests share: the sample books, and where they stand."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import settings

from tests.books.fixtures import book_of, novel

__all__ = ["book_of", "novel", "sample_pdfs"]


@pytest.fixture(scope="session")
def sample_pdfs() -> Path:
    """The folder of the sample books."""
    return Path(__file__).resolve().parents[1] / "sample_pdfs"


# A law holds or it does not; how long a check of it takes on a busy machine is no part of it.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
