"""The catalogue holds what the program asks for, and nothing else."""

from __future__ import annotations

import ast
import re
import string
from pathlib import Path

import pytest

from tests.words.asked import ROOT, asked_keys
from worker.judge.registry import RULES as TESTED
from worker.rules import RULES
from worker.words import RuleWords, counted, in_force, speaking, told
from worker.words.catalogue import LANGUAGE_FILE, Catalogue, shipped
from worker.words.plurals import OTHER

ENGLISH = shipped("en")
KEYS = list(ENGLISH.keys())
FORMS = {*ENGLISH.plurals, OTHER}


def _placeholders(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


def _of_rules(key: str) -> bool:
    return key.startswith("rules-")


def test_every_key_that_is_asked_for_is_there() -> None:
    asked = [key for key in asked_keys() if "\\." in key.pattern]
    assert len(asked) > 200
    known = _tables_and_keys()
    missing = [(key.pattern, key.where) for key in asked if not any(map(key.names, known))]
    assert missing == []


def _tables_and_keys() -> set[str]:
    tables = {".".join(parts[:end]) for key in KEYS for parts in [key.split(".")] for end in range(2, len(parts))}
    return tables | set(KEYS)


def test_every_text_is_asked_for() -> None:
    asked = asked_keys()
    own = {f"{LANGUAGE_FILE}.tag", *(f"{LANGUAGE_FILE}.plurals.{form}" for form in ENGLISH.plurals)}
    texts = [key for key in KEYS if not _of_rules(key) and key not in own and not key.startswith("glossary.words.")]
    assert [key for key in texts if not any(each.names(key) for each in asked)] == []


def test_every_rule_has_all_its_texts() -> None:
    """Rules of the contract that are tested; each form has a title, a detail, an effect and a remedy."""
    tables: dict[str, set[str]] = {}
    for key in filter(_of_rules, KEYS):
        table, _, part = key.rpartition(".")
        tables.setdefault(table, set()).add(part)
    assert all(parts == set(RuleWords._fields) for parts in tables.values())
    of_rules = {f"rules-{RULES[rule].group.replace(' ', '-')}.{rule}" for rule in TESTED}
    assert {".".join(table.split(".")[:2]) for table in tables} == of_rules


def test_every_form_of_a_rule_is_one_that_judging_names() -> None:
    """A form is a word in the source of the rules: one that is nowhere there is dead."""
    said: set[str] = set()
    for path in sorted((ROOT / "worker/judge").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                said.add(node.value)
    forms = {key.split(".")[2] for key in filter(_of_rules, KEYS) if len(key.split(".")) == 4}
    assert {form for form in forms - said if form.removesuffix("-inside") not in said} == set()


@pytest.mark.parametrize("key", sorted({key.rpartition(".")[0] for key in KEYS if key.endswith(f".{OTHER}")}))
def test_forms_of_a_counted_text_have_the_same_placeholders(key: str) -> None:
    """The number itself may be said in a word: ``one page``."""
    forms = {form: ENGLISH.text(f"{key}.{form}") for form in ENGLISH.names(key) if form in FORMS}
    if set(forms) != FORMS:
        assert key in ("phrases.link-annotation", "marks.running-head", "outlook.length")  # “other” is a kind there
        return
    assert len({frozenset(_placeholders(text) - {"count"}) for text in forms.values()}) == 1


def test_no_text_is_empty_and_none_has_a_placeholder_without_a_name() -> None:
    assert [key for key in KEYS if not ENGLISH.text(key)] == []
    assert [key for key in KEYS if "" in _placeholders(ENGLISH.text(key))] == []


def test_a_missing_key_is_named() -> None:
    for key in ("outlook.nothing", "nowhere.at-all"):
        with pytest.raises(KeyError, match=re.escape(key)):
            told(key)


def test_a_missing_fact_is_named_with_its_key() -> None:
    with pytest.raises(KeyError, match=re.escape("outlook.fits asks for about")):
        told("outlook.fits", size="6 × 9 in")


def test_another_language_is_in_force_as_long_as_it_is_asked_for(tmp_path: Path) -> None:
    (tmp_path / "language.toml").write_text(
        "tag = 'pl'\n[plurals]\none = 'i = 1 and v = 0'\n"
        "few = 'v = 0 and i % 10 = 2..4 and i % 100 != 12..14'\nmany = 'v = 0 and i != 1'\n",
        "utf-8",
    )
    (tmp_path / "units.toml").write_text(
        "[pages]\none = '{count} strona'\nfew = '{count} strony'\nmany = '''\n{count}\nstron\n'''\n", "utf-8"
    )
    with speaking(Catalogue(tmp_path)):
        assert [counted("units.pages", n) for n in (1, 3, 5, 12, 22)] == [
            "1 strona", "3 strony", "5 stron", "12 stron", "22 strony",
        ]  # fmt: skip
        assert in_force().tag == "pl"
    assert counted("units.pages", 3) == "3 pages"
