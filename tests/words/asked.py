"""Which keys of the catalogue the program asks for: read from its source."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCES = [path for room in ("worker", "service") for path in sorted((ROOT / room).rglob("*.py"))]
TEMPLATES = sorted((ROOT / "worker/report/templates").glob("*.html"))
COUNTING = {"counted", "so_many", "among", "_so_many"}
PREFIXES = {"fact": "colophon.", "_so_many": "comparison.summary."}
"""What some callers put before the key that they are given."""
IN_TEMPLATES = re.compile(r"(told|marked|counted)\(((?:\"[^\"]*\"|[\w.]+|\s|~)+)")
ANY = r"[a-z0-9-]+"
OTHER_FILES = re.compile(r"\\\.(png|pdf|html)$|\\\\")
"""The end of the name of a file that is no catalogue’s."""
FILES = {path.stem for path in (ROOT / "worker/words/en").glob("*.toml")}


@dataclass(frozen=True)
class Key:
    """A key, or a pattern of keys where a part of it is worked out; ``counts`` where its forms are meant."""

    pattern: str
    counts: bool
    where: str

    def names(self, key: str) -> bool:
        """Whether this is, or may be, a key of the catalogue."""
        forms = rf"\.{ANY}" if self.counts else ""
        return re.fullmatch(self.pattern + forms, key) is not None


@cache
def asked_keys() -> list[Key]:
    """All keys that appear in the source as text, as far as they begin with the name of a file of the catalogue."""
    found = [key for path in SOURCES for key in _in_python(path)]
    return [key for key in (*found, *_in_templates()) if _begins_with_a_file(key.pattern)]


def _begins_with_a_file(pattern: str) -> bool:
    return pattern.split(r"\.", maxsplit=1)[0].replace("\\", "") in FILES and not OTHER_FILES.search(pattern)


def _in_python(path: Path) -> Iterator[Key]:
    tree = ast.parse(path.read_text("utf-8"))
    where = str(path.relative_to(ROOT))
    called = {id(arg): name for call in ast.walk(tree) if (name := _called(call)) for arg in _first(call)}
    parts = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant | ast.JoinedStr | ast.IfExp) and id(node) not in parts:
            name = called.get(id(node), "")
            for pattern in _patterns(node):
                yield Key(re.escape(PREFIXES.get(name, "")) + pattern, name in COUNTING, where)


def _called(node: ast.AST) -> str:
    """The name of the function that is called, without that of its module."""
    match node:
        case ast.Call(func=ast.Name(id=name) | ast.Attribute(attr=name)):
            return name
        case _:
            return ""


def _first(call: ast.AST) -> list[ast.expr]:
    return call.args[:1] if isinstance(call, ast.Call) else []


def _patterns(node: ast.AST) -> Iterator[str]:
    """The patterns of a text in the source; each ``{…}`` stands for a part of a key."""
    match node:
        case ast.Constant(value=str(text)):
            yield re.escape(text)
        case ast.IfExp(body=body, orelse=other):
            yield from _patterns(body)
            yield from _patterns(other)
        case ast.JoinedStr(values=parts):
            yield "".join(
                re.escape(str(part.value)) if isinstance(part, ast.Constant) else _part(part) for part in parts
            )
        case _:
            return


def _part(node: ast.AST) -> str:
    """What is put in: one of the texts that are named there, or any name."""
    named = [each.value for each in ast.walk(node) if isinstance(each, ast.Constant) and isinstance(each.value, str)]
    return f"(?:{'|'.join(map(re.escape, named))})" if isinstance(getattr(node, "value", None), ast.IfExp) else ANY


def _in_templates() -> Iterator[Key]:
    for path in TEMPLATES:
        for name, written in IN_TEMPLATES.findall(path.read_text("utf-8")):
            parts = [part.strip() for part in written.split("~")]
            texts = (re.escape(part.strip('"')) if part.startswith('"') else ANY for part in parts)
            yield Key("".join(texts), name in COUNTING, path.name)
