"""What is wrong with a profile, said in one line each: the key, the line, and what to write instead."""

from __future__ import annotations

import typing
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from worker.profiles.lines import Lines, Path, line_of
from worker.profiles.models import Profile
from worker.profiles.nearest import nearest

MOST_PROBLEMS = 50
"""So many are told: whoever has more has another kind of file."""


@dataclass(frozen=True)
class Problem:
    """One thing to correct. ``line`` counts from 1; None where the text has no such place."""

    message: str
    line: int | None = None
    key: str | None = None


class ProfileError(Exception):
    """A profile that cannot be used. As text it is one line that says what to do."""

    def __init__(self, source: str, problems: tuple[Problem, ...]) -> None:
        self.source = source
        self.problems = problems
        first, others = problems[0], len(problems) - 1
        place = source if first.line is None else f"{source}, line {first.line}"
        many = "at least " if len(problems) == MOST_PROBLEMS else ""
        more = "" if not others else f" (and {many}{others} more {'problem' if others == 1 else 'problems'})"
        super().__init__(one_line(f"{place}: {first.message}{more}"))


class UnknownProfile(ProfileError):
    """No profile of that name; the message lists those that exist."""

    def __init__(self, asked: str, known: tuple[str, ...]) -> None:
        self.known = known
        closest = nearest(asked, known)
        hint = f'did you mean "{closest}"? ' if closest else ""
        super().__init__(f'no profile "{one_line(asked)[:80]}"', (Problem(f"{hint}there are {', '.join(known)}"),))


def problems_in(error: ValidationError, lines: Lines) -> tuple[Problem, ...]:
    """The problems that pydantic found, unknown keys first, then by line; a misspelt key is not missed as well.

    No more than ``MOST_PROBLEMS``: what each should have been is sought in all that is known.
    """
    details = sorted(error.errors(include_url=False), key=lambda detail: _order(detail, lines))[: 2 * MOST_PROBLEMS]
    misspelt = {guess for detail in details if detail["type"] == "extra_forbidden" and (guess := _guess(detail["loc"]))}
    missed = [detail for detail in details if not (detail["type"] == "missing" and detail["loc"] in misspelt)]
    return tuple(_problem(detail, lines) for detail in missed[:MOST_PROBLEMS])


def _order(detail: ErrorDetails, lines: Lines) -> tuple[bool, int]:
    return detail["type"] != "extra_forbidden", line_of(_path(detail), lines) or 0


def one_line(text: str) -> str:
    """``text`` without line ends and other unprintable characters."""
    return "".join(character if character.isprintable() else " " for character in text)


def dotted(path: Path) -> str:
    """A key path as people read it: ``interior.trims[2].width``; list entries count from 1."""
    text = ""
    for part in path:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return one_line(text)


def _problem(detail: ErrorDetails, lines: Lines) -> Problem:
    path = _path(detail)
    say = _SAID.get(detail["type"], _wrong_kind)
    return Problem(say(path, detail), line_of(path, lines), dotted(path) or None)


def _path(detail: ErrorDetails) -> Path:
    return tuple(part for part in detail["loc"] if part != "[key]")


def _unknown_key(path: Path, detail: ErrorDetails) -> str:
    message = f'unknown key "{one_line(str(path[-1]))[:80]}"{_table(path)}'
    guess = _guess(path)
    elsewhere = _tables_with(str(path[-1]))
    if elsewhere and not (guess and _slip(str(path[-1]), guess)):
        return f"{message}; it belongs to [{elsewhere[0]}]"
    return f'{message}; did you mean "{guess[-1]}"?' if guess else f"{message}; known are {_known(path)}"


def _missing(path: Path, detail: ErrorDetails) -> str:
    return f'missing key "{path[-1]}"{_table(path)}; it is required'


def _own(path: Path, detail: ErrorDetails) -> str:
    message = str(detail["ctx"]["error"])
    # A check over a whole table names its own keys; one over a single value needs the key said before it.
    return f"{_subject(path)}: {message}" if isinstance(detail["input"], dict) else f"{_subject(path)} {_told(message)}"


def _choice(path: Path, detail: ErrorDetails) -> str:
    expected = detail["ctx"]["expected"].replace(" or ", ", ").replace("'", "")
    closest = nearest(str(detail["input"]), expected.split(", "))
    hint = f'; did you mean "{closest}"?' if closest else ""
    return f"{_subject(path)} must be one of {expected}; it is {_shown(detail['input'])}{hint}"


def _wrong_kind(path: Path, detail: ErrorDetails) -> str:
    kinds = {
        "string": 'text in quotes, as in "2026-11"',
        "int": "a whole number",
        "float": "a number",
        "bool": "true or false",
        "tuple": "a list",
        "dict": "a table",
        "model": "a table",
    }
    kind = kinds.get(detail["type"].split("_")[0])
    if kind is not None and detail["type"].endswith(("_type", "_from_float", "_parsing")):
        return f"{_subject(path)} must be {kind}; it is {_shown(detail['input'])}"
    message = detail["msg"].removeprefix("Input ")
    return f"{_subject(path)} {message[:1].lower()}{message[1:]}; it is {_shown(detail['input'])}"


_SAID: dict[str, Callable[[Path, ErrorDetails], str]] = {
    "extra_forbidden": _unknown_key,
    "missing": _missing,
    "value_error": _own,
    "literal_error": _choice,
}


def _told(message: str) -> str:
    return message if message.startswith(("must", "is ")) else f"is wrong: {message}"


def _subject(path: Path) -> str:
    return dotted(path) or "the profile"


def _table(path: Path) -> str:
    return f" in [{dotted(path[:-1])}]" if len(path) > 1 else ""


def _shown(value: Any) -> str:
    if isinstance(value, dict | list | tuple):
        return "a table" if isinstance(value, dict) else "a list"
    text = one_line(str(value))
    text = text if len(text) <= 40 else text[:39] + "…"
    return f'"{text}"' if isinstance(value, str) else text.lower() if isinstance(value, bool) else text


def _slip(key: str, guess: Path) -> bool:
    """Whether ``key`` is so near to the guess that a finger slipped, and no table was mistaken for another."""
    return nearest(key, [str(guess[-1])], alike=0.85) is not None


# --- which keys a table knows ---


def _guess(path: Path) -> Path | None:
    closest = nearest(str(path[-1]), _keys(_model_at(path[:-1])))
    return None if closest is None else (*path[:-1], closest)


def _known(path: Path) -> str:
    return ", ".join(_keys(_model_at(path[:-1])))


def _keys(model: type[BaseModel] | None) -> tuple[str, ...]:
    return () if model is None else tuple(model.model_fields)


def _model_at(path: Path) -> type[BaseModel] | None:
    model: type[BaseModel] | None = Profile
    for part in path:
        if isinstance(part, str) and model is not None:
            field = model.model_fields.get(part)
            model = None if field is None else _model_in(field.annotation)
    return model


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The model that an annotation such as ``tuple[Trim, ...] | None`` speaks of."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((model for part in typing.get_args(annotation) if (model := _model_in(part))), None)


def _tables_with(key: str) -> list[str]:
    return [dotted(path) for path, model in _tables(Profile, ()) if path and key in model.model_fields]


def _tables(model: type[BaseModel], path: Path) -> Iterator[tuple[Path, type[BaseModel]]]:
    yield path, model
    for name, field in model.model_fields.items():
        inner = _model_in(field.annotation)
        if inner is not None:
            yield from _tables(inner, (*path, name))
