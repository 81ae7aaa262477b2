"""Fixtures that set each book once a session."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from tests.books.books import (
    Plan,
    long_novel,
    set_by_fpdf2,
    set_by_libreoffice,
    set_by_reportlab,
    set_by_typst,
)
from tests.needs import needs_libreoffice

Setter = Callable[[Plan, Path], Path]
BookOf = Callable[[str, Plan], Path]

SETTERS: dict[str, Setter] = {
    "typst": set_by_typst,
    "reportlab": set_by_reportlab,
    "fpdf2": set_by_fpdf2,
    "libreoffice": set_by_libreoffice,
}

PRODUCERS = [
    pytest.param(name, marks=needs_libreoffice) if name == "libreoffice" else pytest.param(name) for name in SETTERS
]
"""Parameters for a test over all producers."""


@pytest.fixture(scope="session")
def book_of(tmp_path_factory: pytest.TempPathFactory) -> BookOf:
    """``book_of(producer, plan)``: the path of that book, set once a session."""

    @cache
    def setting(producer: str, plan: Plan) -> Path:
        return SETTERS[producer](plan, tmp_path_factory.mktemp(producer))

    return setting


@pytest.fixture(scope="session")
def novel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A novel of 720 pages, set by Typst."""
    return long_novel(tmp_path_factory.mktemp("novel") / "novel.pdf")
