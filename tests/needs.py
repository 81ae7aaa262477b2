"""What some tests need beyond Python; where it is missing they skip and say what is missing."""

from __future__ import annotations

import importlib.util
import os
import shutil
from pathlib import Path

import pytest


def needs_program(*names: str, package: str) -> pytest.MarkDecorator:
    """Skip unless every one of the programs ``names`` is on the path; ``package`` is what to install."""
    missing = [name for name in names if shutil.which(name) is None]
    return pytest.mark.skipif(bool(missing), reason=f"needs {package} ({', '.join(missing or names)})")


def needs_module(name: str) -> pytest.MarkDecorator:
    """Skip unless the Python module ``name`` can be imported."""
    return pytest.mark.skipif(importlib.util.find_spec(name) is None, reason=f"needs the Python package {name}")


def needs_corpus(path: str | Path, *, package: str | None = None) -> pytest.MarkDecorator:
    """Skip unless the file or folder ``path`` of a documentation ``package`` is installed."""
    reason = f"needs {path}" + (f" (Debian package {package})" if package else "")
    return pytest.mark.skipif(not Path(path).exists(), reason=reason)


def chromium() -> str | None:
    """Path of an installed Chromium, or None."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


def postgres_programs() -> Path | None:
    """The folder of PostgreSQL's server programs (``initdb``, ``pg_ctl``), or None."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return folders[-1].parent if folders else None


def postgres_url() -> str | None:
    """A PostgreSQL database that tests may fill and empty, if ``PRESSWORTHY_TEST_POSTGRES_URL`` names one."""
    return os.environ.get("PRESSWORTHY_TEST_POSTGRES_URL")


needs_poppler = needs_program("pdfinfo", "pdffonts", "pdfimages", "pdftotext", "pdftoppm", package="poppler-utils")
needs_qpdf = needs_program("qpdf", package="qpdf")
needs_ghostscript = needs_program("gs", package="ghostscript")
needs_latex = needs_program("pdflatex", package="texlive-latex-recommended")
needs_libreoffice = needs_program("soffice", package="libreoffice-writer")
needs_chromium = pytest.mark.skipif(chromium() is None, reason="needs chromium")
needs_postgres = pytest.mark.skipif(
    postgres_url() is None and postgres_programs() is None,
    reason="needs PostgreSQL (its server programs, or PRESSWORTHY_TEST_POSTGRES_URL)",
)
