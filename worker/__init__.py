"""The work: measure a book's PDF, read it as a book, judge it against a printer, report. Knows no HTTP."""

from importlib.metadata import PackageNotFoundError, version

try:
    __version__ = version("pressworthy")
except PackageNotFoundError:  # a checkout that was never installed
    __version__ = "0+unknown"
