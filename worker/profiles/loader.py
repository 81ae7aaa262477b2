"""Reading a profile: from TOML, from JSON, from a file, or one of the built-in ones."""

from __future__ import annotations

import json
import re
import tomllib
from collections import Counter
from collections.abc import Callable, Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Any, NoReturn

from pydantic import ValidationError

from worker.profiles.lines import Lines, json_lines, line_of, toml_lines
from worker.profiles.models import Profile
from worker.profiles.problems import Problem, ProfileError, UnknownProfile, problems_in
from worker.units import show_size

MOST_BYTES = 256 * 1024
"""A profile is a page or two of text; more than this is not a profile."""

_MANY_PARTS = re.compile(
    r"""(?m)(?:^|[\[{,])[ \t]*+(?:(?:[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){64}"""
)
"""A dotted key of more parts than any profile has: the time that it takes a parser grows with their square."""

_TOML_PLACE = re.compile(r" \(at line (\d+), column \d+\)$")


def parse_profile_toml(text: str, *, source: str = "profile") -> Profile:
    """The profile that a TOML text holds; ``source`` names it in errors. Raises :class:`ProfileError`."""
    return _parse(text, source, _toml_table, toml_lines)


def parse_profile_json(text: str, *, source: str = "profile") -> Profile:
    """The profile that a JSON text holds, key for key as in TOML. Raises :class:`ProfileError`."""
    return _parse(text, source, _json_table, json_lines)


def load_profile(id_or_path: str | Path) -> Profile:
    """A built-in profile by its id, or one from a .toml or .json file.

    Raises :class:`UnknownProfile`, which lists those that exist, or :class:`ProfileError`.
    """
    asked = str(id_or_path)
    if isinstance(id_or_path, str) and asked in builtin_profiles():
        return builtin_profiles()[asked]
    if isinstance(id_or_path, Path) or asked.endswith((".toml", ".json")) or "/" in asked or "\\" in asked:
        return _load_file(Path(asked))
    raise UnknownProfile(asked, tuple(builtin_profiles()))


@cache
def builtin_profiles() -> Mapping[str, Profile]:
    """The built-in profiles by id, the common practice first, then by id."""
    texts = {file.name.removesuffix(".toml"): file.name for file in _builtin().iterdir() if file.name.endswith(".toml")}
    ids = sorted(texts, key=lambda profile_id: (not profile_id.startswith("common-"), profile_id))
    profiles = {id_: parse_profile_toml(profile_toml(id_), source=texts[id_]) for id_ in ids}
    return MappingProxyType(profiles)


def profile_toml(profile_id: str) -> str:
    """The source text of a built-in profile. Raises :class:`UnknownProfile`."""
    file = _builtin() / f"{profile_id}.toml"
    if not re.fullmatch(r"[a-z0-9-]+", profile_id) or not file.is_file():
        raise UnknownProfile(profile_id, tuple(builtin_profiles()))
    return str(file.read_text(encoding="utf-8"))


def line_of_key(key: str, text: str, *, is_json: bool) -> int | None:
    """Where a key of the outermost table stands in a text that reads well; lines count from 1."""
    return line_of((key,), json_lines(text) if is_json else toml_lines(text))


def _builtin() -> Any:
    return resources.files("worker.profiles") / "builtin"


def _load_file(path: Path) -> Profile:
    parse = parse_profile_json if path.suffix.lower() == ".json" else parse_profile_toml
    return parse(_read(path), source=path.name)


def _read(path: Path) -> str:
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        known = ", ".join(builtin_profiles())
        raise _error(str(path), f"no such file; built in are {known}") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "not a usable file name"
        raise _error(str(path), f"cannot be read: {reason}") from None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _error(path.name, "is not text in UTF-8; save it as UTF-8") from None


def _parse(
    text: str, source: str, read: Callable[[str, str], dict[str, Any]], lines_of: Callable[[str], Lines]
) -> Profile:
    if len(text.encode("utf-8", "replace")) > MOST_BYTES:
        raise _error(source, f"is larger than {show_size(MOST_BYTES)}; a profile is a page or two of text")
    table = read(text, source)
    try:
        return Profile.model_validate(table)
    except ValidationError as error:
        raise ProfileError(source, problems_in(error, lines_of(text))) from None
    except RecursionError:
        raise _error(source, "is nested too deeply") from None


def _toml_table(text: str, source: str) -> dict[str, Any]:
    if (many := _MANY_PARTS.search(text)) is not None:
        raise _error(source, "has a key of too many parts", text.count("\n", 0, many.start()) + 1)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        place = _TOML_PLACE.search(str(error))
        reason = _TOML_PLACE.sub("", str(error))
        raise _error(source, f"is not valid TOML: {_lowered(reason)}", int(place[1]) if place else None) from None
    except RecursionError:
        raise _error(source, "is nested too deeply") from None
    except ValueError as error:
        raise _error(source, f"is not valid TOML: {_reason(error)}") from None


def _json_table(text: str, source: str) -> dict[str, Any]:
    try:
        value = json.loads(text, parse_constant=_no_constant, object_pairs_hook=_no_doubles)
    except json.JSONDecodeError as error:
        raise _error(source, f"is not valid JSON: {_lowered(error.msg)}", error.lineno) from None
    except RecursionError:
        raise _error(source, "is nested too deeply") from None
    except ValueError as error:
        raise _error(source, f"is not valid JSON: {_reason(error)}") from None
    if not isinstance(value, dict):
        raise _error(source, "must be a JSON object with the keys of a profile")
    return value


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _no_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    table = dict(pairs)
    if len(table) < len(pairs):
        (double, _), *_ = Counter(key for key, _ in pairs).most_common(1)
        raise ValueError(f'key "{double}" stands twice')
    return table


def _reason(error: ValueError) -> str:
    """Why the standard parsers refuse a value that is well written: a date that no calendar has, endless digits."""
    return "a number of thousands of digits" if "int_max_str_digits" in str(error) else _lowered(str(error))


def _lowered(reason: str) -> str:
    return reason[:1].lower() + reason[1:]


def _error(source: str, message: str, line: int | None = None) -> ProfileError:
    return ProfileError(source, (Problem(message, line),))
