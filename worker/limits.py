"""What one file may cost. Every limit has a default, each can be set from the environment, none means "no limit"."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass


class SettingsError(Exception):
    """A setting that cannot be used; the message says which one and what it may be."""


def whole_number(environment: Mapping[str, str], name: str, default: int) -> int:
    """The setting ``name`` as a number from 1 up, or ``default`` where it is not set. Raises :class:`SettingsError`."""
    text = environment.get(name, "").strip()
    if not text:
        return default
    if not text.isascii() or not text.isdigit() or int(text) < 1:
        raise SettingsError(f"{name} is {text!r}; it takes a whole number from 1 up (left out: {default})")
    return int(text)


@dataclass(frozen=True)
class Quota:
    """What one member may have here: files queued or running ``at_once``, files ``a_day`` (UTC), ``bytes`` of files."""

    at_once: int = 200
    a_day: int = 2_000
    bytes: int = 100_000_000_000

    @classmethod
    def from_environment(cls, environment: Mapping[str, str]) -> Quota:
        """What ``PRESSWORTHY_MEMBER_AT_ONCE``, ``_A_DAY`` and ``_BYTES`` set. Raises :class:`SettingsError`."""
        return cls(
            at_once=whole_number(environment, "PRESSWORTHY_MEMBER_AT_ONCE", cls.at_once),
            a_day=whole_number(environment, "PRESSWORTHY_MEMBER_A_DAY", cls.a_day),
            bytes=whole_number(environment, "PRESSWORTHY_MEMBER_BYTES", cls.bytes),
        )


@dataclass(frozen=True)
class Limits:
    """The limits of one inspection: ``seconds`` of work, ``memory`` and file size in ``bytes``, and ``pages``.

    ``open_files`` protects the machine rather than the file's maker and is not shown to people.
    """

    seconds: int = 60
    memory: int = 1_500_000_000
    pages: int = 5_000
    bytes: int = 500_000_000
    open_files: int = 64

    @classmethod
    def from_environment(cls, environment: Mapping[str, str] | None = None) -> Limits:
        """The limits that ``PRESSWORTHY_MAX_SECONDS``, ``_MEMORY``, ``_PAGES`` and ``_BYTES`` set.

        Raises :class:`SettingsError`.
        """
        given = os.environ if environment is None else environment
        return cls(
            seconds=whole_number(given, "PRESSWORTHY_MAX_SECONDS", cls.seconds),
            memory=whole_number(given, "PRESSWORTHY_MAX_MEMORY", cls.memory),
            pages=whole_number(given, "PRESSWORTHY_MAX_PAGES", cls.pages),
            bytes=whole_number(given, "PRESSWORTHY_MAX_BYTES", cls.bytes),
        )

    def in_words(self, limit: str) -> str:
        """The size of one limit as people say it: ``"60 seconds"``, ``"1.5 GB"``."""
        words = {
            "seconds": f"{self.seconds} seconds",
            "memory": show_bytes(self.memory),
            "pages": f"{self.pages} pages",
            "bytes": show_bytes(self.bytes),
        }
        return words[limit]


def show_bytes(size: int) -> str:
    """A number of bytes in the largest decimal unit that it fills, to three figures: ``"1.5 GB"``."""
    for unit, worth in (("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if size >= worth:
            return f"{size / worth:.3g} {unit}"
    return f"{size} bytes"
