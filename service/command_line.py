"""What the commands share: how one is refused, and how it finds what is kept."""

# ruff: noqa: PLC0415 - what a call needs is imported when it is called: the command starts fast
from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NoReturn

import click

if TYPE_CHECKING:
    from worker.settings import Settings
    from worker.store import Store

__all__ = ["DATA", "UNUSABLE", "refuse", "require_house", "say", "settings_at", "store_at"]

UNUSABLE = 2
"""The exit status of a call that could not be used."""

DATA = click.option("--data", type=click.Path(path_type=Path), help="The folder that holds everything that is kept.")


def refuse(message: str) -> NoReturn:
    """End with one line that says what to do."""
    say(message)
    sys.exit(UNUSABLE)


def say(message: str) -> Literal[False]:
    """One line on standard error; the value of what has gone wrong."""
    click.echo(f"pressworthy: {message}", err=True)
    return False


def settings_at(data: Path | None) -> Settings:
    """The settings of this machine, with ``data`` before the environment's folder; or a refusal."""
    from worker.settings import Settings, SettingsError

    try:
        return Settings.from_environment(data)
    except SettingsError as error:
        refuse(str(error))


def store_at(data: Path | None, *, may_begin: bool = False) -> Store:
    """What is kept there, its tables brought up to date; or a refusal. See :func:`require_house`."""
    from worker.store import StoreDown, open_store

    settings = settings_at(data)
    require_house(settings, named=data is not None, may_begin=may_begin)
    try:
        return open_store(settings)
    except StoreDown as error:
        refuse(str(error))


def require_house(settings: Settings, *, named: bool, may_begin: bool) -> None:
    """Refuse a data folder in which nothing is kept: its name is mistyped, and a new house there would be empty.

    A command that ``may_begin`` one does so in an empty folder, and in the usual one where none was ``named``.
    """
    from worker.data_folder import folder_of, holds_something_else, kept_somewhere

    if kept_somewhere(settings):
        return
    folder = folder_of(settings)
    if not may_begin:
        refuse(f"nothing is kept in {folder}; name the data folder with --data or PRESSWORTHY_DATA")
    if not folder.is_dir() and (named or os.environ.get("PRESSWORTHY_DATA")):
        refuse(f"there is no folder {folder}; name the data folder as it is, or make an empty one for a new service")
    if holds_something_else(folder):
        refuse(f"{folder} holds something else; name the data folder as it is, or an empty one for a new service")
