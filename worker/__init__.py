"""The work: measure a book's PDF, read it as a book, judge it against a printer, report. Knows no HTTP."""

from __future__ import annotations

from functools import cache


@cache
def version() -> str:
    """The version that is installed. (Looked up when it is asked for: that takes as long as a page of a book.)"""
    from importlib.metadata import PackageNotFoundError, version  # noqa: PLC0415

    try:
        return version("pressworthy")
    except PackageNotFoundError:  # a checkout that was never installed
        return "0+unknown"
