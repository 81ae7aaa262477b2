"""The catalogue of one language: a folder of TOML files, each read when a word of it is first asked for.

A key is the name of a file and the path in it, with dots between: ``outlook.fits``. A line break within a text stands
for a space, so that long ones can be wrapped.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache, cached_property
from pathlib import Path
from typing import Any

LANGUAGE_FILE = "language"
"""What a language has but words: its tag, its plural rules."""


class Catalogue:
    """The words of one language; ``folder`` holds its files."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._files: dict[str, dict[str, str]] = {}
        self._met: dict[str, str] = {}

    def text(self, key: str) -> str:
        """The text as it is written, its placeholders unfilled. An unknown key is a ``KeyError`` that names it."""
        known = self._met.get(key)
        if known is None:
            file, _, path = key.partition(".")
            try:
                known = self._met[key] = self._texts(file)[path]
            except KeyError:
                raise KeyError(key) from None
        return known

    def names(self, table: str) -> list[str]:
        """What a table holds, in its order: the names of its texts and of the tables within it."""
        file, _, path = table.partition(".")
        held = (key.removeprefix(f"{path}.") for key in self._texts(file) if key.startswith(f"{path}."))
        return list(dict.fromkeys(each.partition(".")[0] for each in held))

    @cached_property
    def tag(self) -> str:
        """The language as HTML names it (BCP 47)."""
        return self.text(f"{LANGUAGE_FILE}.tag")

    @cached_property
    def plurals(self) -> Mapping[str, str]:
        """The rule of each plural category but ``other``."""
        table = f"{LANGUAGE_FILE}.plurals"
        return {name: self.text(f"{table}.{name}") for name in self.names(table)}

    def keys(self) -> Iterator[str]:
        """Every key of every file, in their order."""
        for path in sorted(self.folder.glob("*.toml")):
            yield from (f"{path.stem}.{key}" for key in self._texts(path.stem))

    def _texts(self, file: str) -> dict[str, str]:
        """A file's texts by their path in it."""
        if file not in self._files:
            try:
                written = (self.folder / f"{file}.toml").read_text("utf-8")
            except FileNotFoundError:
                raise KeyError(file) from None
            self._files[file] = dict(_flattened(tomllib.loads(written)))
        return self._files[file]


def _flattened(table: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, str]]:
    for name, value in table.items():
        if isinstance(value, str):
            yield prefix + name, " ".join(value.split()) if "\n" in value else value
        else:
            yield from _flattened(value, f"{prefix}{name}.")


@cache
def shipped(language: str) -> Catalogue:
    """The catalogue of a language that comes with the program, by the name of its folder."""
    return Catalogue(Path(__file__).parent / language)
