"""What is wrong with a profile is said in one line that names the key, the line and what to write."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from worker.profiles import (
    Profile,
    ProfileError,
    UnknownProfile,
    builtin_profiles,
    describe,
    load_profile,
    parse_profile_json,
    parse_profile_toml,
    profile_toml,
)
from worker.profiles.problems import MOST_PROBLEMS

MONO = profile_toml("ternhaven-mono")


def line_of(text: str) -> int:
    return next(number for number, line in enumerate(MONO.splitlines(), 1) if text in line)


def complaint(old: str, new: str) -> str:
    assert old in MONO
    with pytest.raises(ProfileError) as error:
        parse_profile_toml(MONO.replace(old, new, 1), source="own.toml")
    message = str(error.value)
    assert "\n" not in message
    assert len(message) < 400
    return message


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("outside =", "outsde =", ['unknown key "outsde" in [interior.margins]', 'did you mean "outside"?']),
        ("[interior.links]", "[interior.link]", ['unknown key "link" in [interior]', 'did you mean "links"?']),
        ("longest_run = 2", "head = 2", ['unknown key "head" in [interior.blanks]', "belongs to [interior.margins]"]),
        ("longest_run = 2", "zzz = 2", ['unknown key "zzz"', "known are longest_run, first, end"]),
        ("id =", "idd =", ['unknown key "idd"', 'did you mean "id"?']),
        ('"0.45 in"', "0.45", ["interior.margins.inside[1].least", '"0.5 in"']),
        ('"0.45 in"', '"0.45"', ["interior.margins.inside[1].least", '"0.45" is not a length']),
        ('"0.45 in"', '"-1 in"', ["interior.margins.inside[1].least must not be negative"]),
        ('width = "6 in"', 'width = "0 in"', ["interior.trims[3].width must be longer than nothing"]),
        ("least_ppi = 200", 'least_ppi = "fine"', ["interior.images.least_ppi must be a number", '"fine"']),
        ("least_ppi = 200", "least_ppi = true", ["interior.images.least_ppi must be a number"]),
        ("least_ppi = 200", "least_ppi = nan", ["interior.images.least_ppi", "nan"]),
        ("least_ppi = 200", "least_ppi = 400", ["least_ppi (400) is more than wanted_ppi (300)"]),
        ("least = 40,", "least = 40.5,", ["interior.page_count.least must be a whole number", "40.5"]),
        ("least = 40,", "least = 4000,", ["least (4000) is more than most (840)"]),
        ('use = "never"', 'use = "nevr"', ["never, allowed, always", 'did you mean "never"?']),
        ("first = false", "first = 0", ["interior.blanks.first must be true or false"]),
        ("pages = 420", "pages = 120", ["steps of inside must go up in pages"]),
        ('{ least = "0.9 in" }', '{ pages = 900, least = "0.9 in" }', ["last step of inside must have no pages"]),
        ("pages = 160, ", "", ["only the last step of inside may leave out pages"]),
        ('"1.7"]', '"1.9"]', ["interior.file.pdf_versions[2]", 'did you mean "1.7"?']),
        ('["1.3", "1.7"]', '["1.7", "1.3"]', ["pdf_versions must give the least first"]),
        ('"400 MB"', "400", ["interior.file.most_bytes", '"400 MB"']),
        ("bulk = 1.8", 'bulk = 1.8, caliper = "0.1 mm"', ["a stock has either bulk or caliper"]),
        ('kind = "paper"', 'kind = "paper", board = "3 mm"', ['board belongs to a wrap of kind "case"']),
        ("most = 900", "most = 30", ["trim 4 asks for at least 40 pages and at most 30"]),
        ('revision = "2026-11"', "revision = 2026-11-01", ["revision must be text in quotes"]),
        ('unit = "in"', 'unit = "cm"', ["unit must be one of in, mm, pt"]),
        ('id = "ternhaven-mono"', 'id = "../etc"', ["id "]),
    ],
)  # fmt: skip
def test_each_mistake_is_named(old: str, new: str, told: list[str]) -> None:
    message = complaint(old, new)
    for words in told:
        assert words in message


@pytest.mark.parametrize(
    ("old", "new"), [("outside =", "outsde ="), ("least_ppi = 200", "least_ppi = []"), ('use = "never"', 'use = "no"')]
)
def test_the_line_is_named(old: str, new: str) -> None:
    assert f"own.toml, line {line_of(old)}: " in complaint(old, new)


@pytest.mark.parametrize("key", ["id", "name", "revision", "unit"])
def test_required_keys(key: str) -> None:
    without = "\n".join(line for line in MONO.splitlines() if not line.startswith(f"{key} ="))
    with pytest.raises(ProfileError) as error:
        parse_profile_toml(without)
    assert f'missing key "{key}"; it is required' in str(error.value)


def test_a_misspelt_key_is_one_problem_and_not_two() -> None:
    with pytest.raises(ProfileError) as error:
        parse_profile_toml(MONO.replace("revision =", "revison ="))
    assert len(error.value.problems) == 1


def test_several_problems_are_all_kept_and_counted() -> None:
    text = MONO.replace("first = false", "first = 0").replace("outside =", "outsde =").replace("end = 2", "end = -1")
    with pytest.raises(ProfileError) as error:
        parse_profile_toml(text, source="own.toml")
    assert str(error.value).endswith("(and 2 more problems)")
    assert [problem.key for problem in error.value.problems] == [
        "interior.margins.outsde", "interior.blanks.first", "interior.blanks.end",
    ]  # fmt: skip


def test_weights() -> None:
    """Any rule may be weighed, known to this version or not; ids are checked."""
    weighed = parse_profile_toml(MONO + '\n[weights]\nwidow = "off"\nlink-annotation = "refusal"\n')
    assert weighed.weights == {"widow": "off", "link-annotation": "refusal"}
    with pytest.raises(ProfileError, match='trim-sise is no known rule; did you mean "trim-size"'):
        parse_profile_toml(MONO + '\n[weights]\ntrim-sise = "off"\n', source="own.toml")
    with pytest.raises(ProfileError, match="refusal, spoilage, polish, off"):
        parse_profile_toml(MONO + '\n[weights]\nwidow = "heavy"\n')


def test_what_is_left_out_asks_nothing() -> None:
    profile = parse_profile_toml(
        'id="a"\nname="A"\nrevision="1"\nunit="pt"\n[interior]\n'
        'trims=[{width="6 in",height="9 in"}]\n[interior.margins]'
    )
    interior = profile.interior
    assert interior.margins.inside_at(500) is None
    assert (interior.bleed, interior.margins.outside, interior.images.least_ppi) == (None, None, None)
    assert (interior.blanks.first, interior.links.allowed, interior.file.encryption) == (None, None, None)
    assert (profile.paper, profile.cover, profile.weights) == (None, None, {})


@pytest.mark.parametrize(
    ("pages", "inches"), [(1, 0.45), (160, 0.45), (161, 0.65), (700, 0.8), (701, 0.9), (9999, 0.9)]
)
def test_steps_hold_up_to_and_including_their_pages(pages: int, inches: float) -> None:
    least = builtin_profiles()["ternhaven-mono"].interior.margins.inside_at(pages)
    assert least == pytest.approx(inches * 72)


def test_a_trims_own_page_count_stands_in_key_by_key() -> None:
    interior = builtin_profiles()["ternhaven-mono"].interior
    count = interior.page_count_of(interior.trims[3])
    assert (count.least, count.most, count.multiple) == (40, 900, 2)


@pytest.mark.parametrize(("stock", "micrometres"), [("Island cream", 144.0), ("Harbour white", 112.5)])
def test_a_leafs_thickness(stock: str, micrometres: float) -> None:
    """Grammage × bulk: 80 g/m² at 1.8 cm³/g is 144 µm, 90 at 1.25 is 112.5 (ISO 534)."""
    paper = builtin_profiles()["ternhaven-mono"].paper
    assert paper is not None
    found = next(each for each in paper.stocks if each.name == stock)
    assert found.thickness / 72 * 25_400 == pytest.approx(micrometres)


# --- files, JSON, hostile texts ---


def test_files(tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text(MONO)
    profile = load_profile(str(own))
    assert profile == builtin_profiles()["ternhaven-mono"]
    other = tmp_path / "own.json"
    other.write_text(profile.model_dump_json())
    assert load_profile(other) == profile


@pytest.mark.parametrize("name", ["nowhere.toml", ".", "a\0b.toml", "x" * 5000 + ".toml"])
def test_files_that_are_none(tmp_path: Path, name: str) -> None:
    with pytest.raises(ProfileError) as error:
        load_profile(str(tmp_path) + "/" + name)
    assert "\n" not in str(error.value)


def test_a_file_that_is_not_text(tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ProfileError, match="UTF-8"):
        load_profile(own)
    own.write_bytes(b"#" * 300_000)
    with pytest.raises(ProfileError, match="larger than"):
        load_profile(own)


def test_an_unknown_printer() -> None:
    with pytest.raises(UnknownProfile, match='did you mean "ternhaven-mono"') as error:
        load_profile("ternhaven-momo")
    assert error.value.known == tuple(builtin_profiles())


@pytest.mark.parametrize("profile", builtin_profiles().values(), ids=list(builtin_profiles()))
def test_json_is_the_same_format(profile: Profile) -> None:
    """Lengths stay as they were written, so that what is read back is what was typed."""
    text = profile.model_dump_json(exclude_none=True)
    assert parse_profile_json(text) == profile
    trim = json.loads(text)["interior"]["trims"][0]
    assert trim["width"] in profile_toml(profile.id)


def test_json_problems_have_lines() -> None:
    table = builtin_profiles()["ternhaven-mono"].model_dump(mode="json", exclude_none=True)
    table["interior"]["margins"]["outsde"] = table["interior"]["margins"].pop("outside")
    text = json.dumps(table, indent=2)
    line = next(number for number, each in enumerate(text.splitlines(), 1) if "outsde" in each)
    with pytest.raises(ProfileError, match=rf'own.json, line {line}: unknown key "outsde"'):
        parse_profile_json(text, source="own.json")


HOSTILE = [
    "", "null", "[]", '"text"', "{", "[[[[", "nan", '{"id": NaN}', '{"a": 1, "a": 2}', "[" * 100_000,
    '{"a":' * 50_000, "a = " + "[" * 50_000, "a." * 20_000 + "b = 1", "a = " + "9" * 5_000,
    '{"a": ' + "9" * 5_000 + "}",
    "id = 1979-13-45", "\0", "id = '\x1b[31m'", "﻿id = 1", "interior = 1", "interior = []", "interior.trims = 3",
    'interior = { trims = "many" }', "weights = []", "weights = { trim-size = {} }",
    "[interior.type]\nleast_size = inf",
]  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
@pytest.mark.parametrize("parse", [parse_profile_toml, parse_profile_json])
def test_hostile_texts_are_one_plain_line(text: str, parse: object) -> None:
    with pytest.raises(ProfileError) as error:
        parse(text)  # type: ignore[operator]
    message = str(error.value)
    assert message.isprintable()
    assert len(message) < 500


junk = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=20)
    | st.sampled_from(["0.5 in", "9 pt"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=150, deadline=None)
@given(st.data(), junk)
def test_any_value_anywhere_is_taken_or_refused_in_one_line(data: st.DataObject, value: object) -> None:
    table = builtin_profiles()["ternhaven-mono"].model_dump(mode="json", exclude_none=True)
    node: object = table
    while True:
        keys = list(node) if isinstance(node, dict) else list(range(len(node)))  # type: ignore[arg-type]
        key = data.draw(st.sampled_from(keys))
        inner = node[key]  # type: ignore[index]
        if not isinstance(inner, dict | list) or not inner or data.draw(st.booleans()):
            node[key] = value  # type: ignore[index]
            break
        node = inner
    profile, refusal = taken_or_refused(json.dumps(table))
    if profile is None:
        assert refusal
        assert refusal.isprintable()
    else:
        assert Profile.model_validate_json(profile.model_dump_json()) == profile
        assert describe(profile)


def taken_or_refused(text: str) -> tuple[Profile | None, str]:
    try:
        return parse_profile_json(text), ""
    except ProfileError as error:
        return None, str(error)


# --- in words ---


@pytest.mark.parametrize("profile", builtin_profiles().values(), ids=list(builtin_profiles()))
def test_a_profile_in_words(profile: Profile) -> None:
    text = describe(profile)
    assert profile.name in text
    assert profile.revision in text
    assert "Order a physical proof" in text
    assert max(len(line) for line in text.splitlines()) <= 80
    invented = profile.note is not None and "invented" in profile.note
    assert invented or profile.id == "common-paperback"


def test_words_give_both_units() -> None:
    text = describe(builtin_profiles()["longmole-thick"])
    assert "170 × 244 mm" in text
    assert "0.95 in (24.1 mm)" in text
    assert "at least 300, at most 900, in multiples of 2" in text


def test_thick_books_want_more_inside() -> None:
    margins = builtin_profiles()["longmole-thick"].interior.margins
    assert margins.inside_at(801) == margins.inside_at(900) == pytest.approx(68.4)
    assert (margins.inside_at(800) or 0) < 68.4


def test_the_offset_printer() -> None:
    interior = builtin_profiles()["ropewalk-offset"].interior
    assert interior.page_count.multiple == 16
    assert {"PDF/X-1a:2001", "PDF/X-1a:2003", "PDF/X-4"} == set(interior.file.pdfx)


def test_the_schema_can_be_published() -> None:
    schema = Profile.model_json_schema()
    assert schema["$defs"]["Trim"]["properties"]["width"]["type"] == "string"
    assert set(schema["required"]) == {"id", "name", "revision", "unit", "interior"}


def _start(rest: str) -> str:
    head = 'id = "a"\nname = "A"\nrevision = "1"\nunit = "in"\n[interior]\nmargins = {}\n'
    return f"{head}{rest}"


@pytest.mark.parametrize(
    "text",
    [
        "".join(f"k{number} = 1\n" for number in range(3000)),
        "".join(f"[k{number}]\n" for number in range(3000)),
        _start("trims = [" + "{ x = 1 }," * 3000 + "]"),
    ],
    ids=["keys", "tables", "entries"],
)
def test_no_more_problems_are_told_than_anybody_reads(text: str) -> None:
    with pytest.raises(ProfileError) as caught:
        parse_profile_toml(text)
    assert len(caught.value.problems) == MOST_PROBLEMS
    assert "at least 49 more problems" in str(caught.value)


@pytest.mark.parametrize(
    ("rest", "key"),
    [
        ("trims = []\n[weights]\n" + "".join(f'rule-{number} = "off"\n' for number in range(3000)), "weights"),
        ("trims = []\n[interior.file]\npdfx = [" + '"PDF/X-9",' * 3000 + "]", "interior.file.pdfx"),
    ],
)
def test_a_list_that_is_too_long_is_one_problem(rest: str, key: str) -> None:
    with pytest.raises(ProfileError) as caught:
        parse_profile_toml(_start(rest))
    (found,) = [problem for problem in caught.value.problems if (problem.key or "").startswith(key)]
    assert "must hold no more than" in found.message


@pytest.mark.parametrize("parts", ["a.", "a . ", '"a".', "'a' ."])
def test_a_key_of_too_many_parts_is_not_parsed(parts: str) -> None:
    """What a TOML parser does with one grows with the square of its parts; TOML 1.0 sets no limit to them."""
    for text in (f"x = 1\n{parts * 5000}a = 1", f"x = 1\n[{parts * 5000}a]"):
        with pytest.raises(ProfileError) as caught:
            parse_profile_toml(text)
        assert [(problem.line, problem.message) for problem in caught.value.problems] == [
            (2, "has a key of too many parts")
        ]


def test_dots_in_words_are_no_key() -> None:
    for words in ("1.2.3 and so on … ... " * 40, "e.g. i.e. " * 30, "www.a.b.c.d.e.f.g " * 9):
        text = _start('trims = [{width="1 in",height="1 in"}]')
        profile = parse_profile_toml(f"note = {json.dumps(words[:1000])}\n{text}")
        assert profile.note == words[:1000].strip()
