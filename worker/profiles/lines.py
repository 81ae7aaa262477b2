"""Where each key of a TOML or JSON text stands: key path to line number, both from a text already known to be valid.

The standard parsers give values without places. This scanner looks only at structure (strings, brackets, keys),
so it can be small; it is called when there is something to complain about.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress

Path = tuple[str | int, ...]
Lines = dict[Path, int]

_BLANK = " \t\r"
_CLOSING = {"[": "]", "{": "}"}


def toml_lines(text: str) -> Lines:
    """Line (from 1) of every key, table and list entry of a valid TOML text."""
    return _found(text, _Scanner.toml)


def json_lines(text: str) -> Lines:
    """Line (from 1) of every key and list entry of a valid JSON text."""
    return _found(text, lambda scanner: scanner.value(()))


def line_of(path: Path, lines: Lines) -> int | None:
    """The line of ``path``, or of the nearest table around it that has one."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return None


def _found(text: str, scan: Callable[[_Scanner], None]) -> Lines:
    scanner = _Scanner(text)
    with suppress(IndexError, RecursionError):  # a text that is not valid after all: what was found so far still holds
        scan(scanner)
    return scanner.lines


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: Lines = {}
        self._line, self._counted = 1, 0
        self._entries: dict[Path, int] = {}

    # --- TOML's statements ---

    def toml(self) -> None:
        table: Path = ()
        self.skip()
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.pair(table)
            self.skip()

    def header(self) -> Path:
        many = self.text.startswith("[[", self.at)
        line = self.line()
        self.at += 2 if many else 1
        path = self.entered(self.key("]"))
        if many:
            count = self._entries.get(path, -1) + 1
            self._entries[path] = count
            self.lines.setdefault(path, line)
            path = (*path, count)
        self.at = self.text.index("]", self.at) + (2 if many else 1)
        self.lines.setdefault(path, line)
        return path

    def entered(self, key: Path) -> Path:
        """The path with the number of the latest entry put in after each list of tables on the way."""
        path: Path = ()
        for part in key:
            if path in self._entries:
                path = (*path, self._entries[path])
            path = (*path, part)
        return path

    # --- what TOML and JSON have in common ---

    def pair(self, table: Path) -> None:
        line = self.line()
        key = self.key("=:")
        for end in range(1, len(key) + 1):
            self.lines.setdefault(table + key[:end], line)
        self.at += 1
        self.skip()
        self.value(table + key)

    def key(self, ends: str) -> Path:
        parts: list[str] = []
        while True:
            self.skip()
            if self.text[self.at] in "\"'":
                parts.append(self.string())
            else:
                start = self.at
                while self.text[self.at] not in ends + "." + _BLANK:
                    self.at += 1
                parts.append(self.text[start : self.at])
            self.skip()
            if self.text[self.at] != ".":
                return tuple(parts)
            self.at += 1

    def value(self, path: Path) -> None:
        self.skip()
        character = self.text[self.at]
        if character in "\"'":
            self.string()
        elif character in _CLOSING:
            self.group(path, character)
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}\n#":
                self.at += 1

    def group(self, path: Path, opening: str) -> None:
        self.at += 1
        self.skip()
        entry = 0
        while self.text[self.at] != _CLOSING[opening]:
            if opening == "{":
                self.pair(path)
            else:
                self.lines[(*path, entry)] = self.line()
                self.value((*path, entry))
                entry += 1
            self.skip()
            if self.text[self.at] == ",":
                self.at += 1
                self.skip()
        self.at += 1

    def string(self) -> str:
        quote = self.text[self.at]
        mark = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        start = self.at = self.at + len(mark)
        while not self.text.startswith(mark, self.at):
            if self.at >= len(self.text):
                raise IndexError
            self.at += 2 if quote == '"' and self.text[self.at] == "\\" else 1
        found = self.text[start : self.at]
        self.at += len(mark)
        while len(mark) == 3 and self.text.startswith(quote, self.at):  # up to two quotes may stand before the mark
            self.at += 1
        return found

    def skip(self) -> None:
        """Past blanks, line ends and comments."""
        while self.at < len(self.text):
            if self.text[self.at] == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            elif self.text[self.at] in _BLANK + "\n":
                self.at += 1
            else:
                return

    def line(self) -> int:
        self._line += self.text.count("\n", self._counted, self.at)
        self._counted = self.at
        return self._line
