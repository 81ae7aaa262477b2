"""A workshop for each test, and one with a broker and a worker that stay for those that break neither."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house import House
from tests.queue.workshop import Workshop


@pytest.fixture
def workshop(tmp_path: Path, house: House) -> Iterator[Workshop]:
    """Nothing runs in it yet."""
    with house.furnished(tmp_path) as kept_in:
        made = Workshop.at(tmp_path, kept_in)
        yield made
        made.close()


@pytest.fixture
def open_workshop(workshop: Workshop) -> Workshop:
    """Its broker and one worker run."""
    workshop.start_broker()
    workshop.start_worker()
    return workshop
