"""What the commands share: how one is refused, and how it finds what is kept."""

# ruff: noqa: PLC0415 - what a call needs is imported when it is called: the command starts fast
from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NoReturn

import click

if TYPE_CHECKING:
    from worker.settings import Settings
    from worker.store import Store

__all__ = ["DATA", "UNUSABLE", "refuse", "say", "settings_at", "store_at"]

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


def store_at(data: Path | None) -> Store:
    """What is kept there, its tables brought up to date."""
    from worker.store import open_store

    return open_store(settings_at(data))
