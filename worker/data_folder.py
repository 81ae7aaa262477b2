"""Whether a data folder is the one that is meant: a mistyped name is found out before an empty house is made there."""

from __future__ import annotations

from pathlib import Path

from worker.settings import SQLITE, Settings

__all__ = ["OF_THE_DISK", "folder_of", "holds_something_else", "kept_somewhere"]

OURS = ("pressworthy.sqlite3", "session.key", "serve.lock", "files", "metrics", "valkey")
"""How the names begin of what the service, or a worker that starts beside it, puts into its folder."""

OF_THE_DISK = "lost+found"
"""What a new file system has at its root."""


def kept_somewhere(settings: Settings) -> bool:
    """Whether a house stands where the settings say. A server is asked by nobody here: it says itself what it lacks."""
    if settings.database_url.startswith(SQLITE):
        return _is_in_memory(settings) or _sqlite_file(settings).is_file()
    return settings.store_url is not None or settings.files.is_dir()


def folder_of(settings: Settings) -> Path:
    """The folder that :func:`kept_somewhere` looks into."""
    beside_rows = settings.database_url.startswith(SQLITE) and not _is_in_memory(settings)
    return _sqlite_file(settings).parent if beside_rows else settings.data


def holds_something_else(folder: Path) -> bool:
    """Whether anything is in the folder that no service of ours has put there."""
    if not folder.is_dir():
        return False
    return any(not path.name.startswith(OURS) and path.name != OF_THE_DISK for path in folder.iterdir())


def _sqlite_file(settings: Settings) -> Path:
    return Path(settings.database_url.removeprefix(SQLITE))


def _is_in_memory(settings: Settings) -> bool:
    return settings.database_url == f"{SQLITE}:memory:"
